#include "colour/burn_search.h"

#include "base/testing.h"
#include "colour/burn_film.h"

#define LENGTH 80
#define DEPTH 60

static const WsBalance grey = { .trouble = WS_BURN_JUDGED, .steel = { 0.4, 0.4, 0.4 } };

/* Grey steel, blue in a rectangle of cells. */
static WsBand *
band_with (guint from_s, guint to_s, guint from_d, guint to_d)
{
  WsBand *band = wsi_band_new (LENGTH, DEPTH);
  for (guint d = 0; d < DEPTH; d++)
    for (guint s = 0; s < LENGTH; s++)
    {
      float *cell = wsi_band_cell (band, s, d);
      const gboolean blue = s >= from_s && s < to_s && d >= from_d && d < to_d;
      cell[0] = blue ? 0.12f : 0.4f;
      cell[1] = blue ? 0.2f : 0.4f;
      cell[2] = 0.4f;
    }
  return band;
}

static void
colour_at_the_edge_is_found (void **state)
{
  (void)state;
  g_autoptr (WsBand) band = band_with (20, 50, 0, 25);
  g_auto (WsBurnSearch) search = { 0 };
  wsi_burn_search_init (band, &grey, 1, &search);
  assert_int_equal (wsi_burn_column_depth (&search, 10), 0);
  assert_near (wsi_burn_column_depth (&search, 35), 25, 1);
  assert_true (wsi_burn_has_rim (&search, 35, 25));
  assert_near (search.chroma[50 * LENGTH + 5], 0, 0.1);
  guint cells = 0;
  for (guint i = 0; i < LENGTH * DEPTH; i++)
    cells += search.region[i];
  /* Means of 3 x 3 draw colour out by a cell at most. */
  assert_true (cells >= 30 * 25 && cells <= 32 * 26);
}

/* Heat comes from the edge; ink in the middle of the flank doesn't. */
static void
colour_away_from_the_edge_is_none (void **state)
{
  (void)state;
  g_autoptr (WsBand) band = band_with (20, 50, 15, 35);
  g_auto (WsBurnSearch) search = { 0 };
  wsi_burn_search_init (band, &grey, 1, &search);
  for (guint s = 0; s < LENGTH; s++)
    assert_int_equal (wsi_burn_column_depth (&search, s), 0);
}

static void
colour_that_leaves_the_view_has_no_rim (void **state)
{
  (void)state;
  g_autoptr (WsBand) band = band_with (0, LENGTH, 0, 30);
  for (guint d = 30; d < DEPTH; d++)
    for (guint s = 0; s < LENGTH; s++)
      wsi_band_cell (band, s, d)[0] = NAN;
  g_auto (WsBurnSearch) search = { 0 };
  wsi_burn_search_init (band, &grey, 1, &search);
  const guint depth = wsi_burn_column_depth (&search, 40);
  assert_near (depth, 30, 1);
  assert_false (wsi_burn_has_rim (&search, 40, depth));
}

/* The same blue from the edge to where it ends is paint. */
static void
paint_ends_as_it_began (void **state)
{
  (void)state;
  g_autoptr (WsBand) band = band_with (20, 60, 0, 25);
  g_auto (WsBurnSearch) search = { 0 };
  wsi_burn_search_init (band, &grey, 1, &search);
  assert_false (wsi_burn_fades_as_film (&search));
}

/* A film that thins out evenly, by the colours of the film's own model. */
static void
a_film_thins_out (void **state)
{
  (void)state;
  g_autoptr (WsBand) band = band_with (0, 0, 0, 0);
  for (guint d = 0; d < 40; d++)
  {
    const WsLab lab = wsi_film_colour (45 * (1 - d / 40.0));
    const double fy = (lab.L + 16) / 116, fx = fy + lab.a / 500, fz = fy - lab.b / 200;
    const double X = 0.9505 * pow (fx, 3), Y = pow (fy, 3), Z = 1.089 * pow (fz, 3);
    for (guint s = 0; s < LENGTH; s++)
    {
      float *cell = wsi_band_cell (band, s, d);
      cell[0] = (float)(0.4 * MAX (3.2406 * X - 1.5372 * Y - 0.4986 * Z, 0.001));
      cell[1] = (float)(0.4 * MAX (-0.9689 * X + 1.8758 * Y + 0.0415 * Z, 0.001));
      cell[2] = (float)(0.4 * MAX (0.0557 * X - 0.2040 * Y + 1.0570 * Z, 0.001));
    }
  }
  g_auto (WsBurnSearch) search = { 0 };
  wsi_burn_search_init (band, &grey, 1, &search);
  assert_true (wsi_burn_column_depth (&search, 40) > 20);
  assert_true (wsi_burn_fades_as_film (&search));
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (colour_at_the_edge_is_found),
    cmocka_unit_test (colour_away_from_the_edge_is_none),
    cmocka_unit_test (colour_that_leaves_the_view_has_no_rim),
    cmocka_unit_test (paint_ends_as_it_began),
    cmocka_unit_test (a_film_thins_out),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
