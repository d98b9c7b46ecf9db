#include "tool/flank/wear_land.h"

#include "base/testing.h"
#include "tool/flank/land_border.h"

#define LENGTH 240
#define DEPTH 200

typedef double (*Width) (guint s);

/* Ground steel of 0.25 with streaks, a land `ratio` times as bright, edge and end a px wide. */
static WsBand *
flank (Width width, double ratio, double noise)
{
  GRand *random = g_rand_new_with_seed (5);
  WsBand *band = wsi_band_new (LENGTH, DEPTH);
  for (guint s = 0; s < LENGTH; s++)
  {
    const double streak = 0.25 * g_rand_double_range (random, 0.9, 1.1);
    for (guint d = 0; d < DEPTH; d++)
    {
      const double land = CLAMP (width (s) - d, 0, 1);
      const double light =
        streak * (land * ratio + 1 - land) * g_rand_double_range (random, 1 - noise, 1 + noise);
      float *cell = wsi_band_cell (band, s, d);
      cell[0] = cell[1] = cell[2] = (float)light;
    }
  }
  g_rand_free (random);
  return band;
}

static double
none (guint s)
{
  (void)s;
  return 0;
}

static double
even (guint s)
{
  (void)s;
  return 17.4;
}

static double
narrow (guint s)
{
  (void)s;
  return 4.4;
}

static double
growing (guint s)
{
  return 8 + 12.0 * s / LENGTH;
}

static WsWearLand
found (Width width, double ratio, double noise)
{
  g_autoptr (WsBand) band = flank (width, ratio, noise);
  WsWearLand land;
  wsi_wear_land_find (&(WsLandSight){ .band = band, .whole = TRUE }, &land);
  return land;
}

static void
fresh_edges_have_none (void **state)
{
  (void)state;
  WsWearLand land = found (none, 1, 0.1);
  assert_true (land.judged && !land.present);
  assert_true (land.mean <= 0 && land.max <= 0 && land.u_mean > 0);
  wsi_wear_land_clear (&land);
}

static void
an_even_land_has_its_width (void **state)
{
  (void)state;
  const double ratios[] = { 3.0, 1.5, 0.5 };
  for (guint i = 0; i < G_N_ELEMENTS (ratios); i++)
  {
    WsWearLand land = found (even, ratios[i], 0.1);
    assert_true (land.judged && land.present);
    assert_near (land.mean, 17.4, 2 * land.u_mean);
    assert_near (land.max, 17.4, 2 * land.u_max);
    wsi_wear_land_clear (&land);
  }
}

/* Half a narrow land is but a few px: what is taken for its light must not reach into the flank. */
static void
a_narrow_land_has_its_width (void **state)
{
  (void)state;
  const double ratios[] = { 3.0, 0.5 };
  for (guint i = 0; i < G_N_ELEMENTS (ratios); i++)
  {
    WsWearLand land = found (narrow, ratios[i], 0.02);
    assert_true (land.judged && land.present);
    /* Its end is a px wide. */
    assert_near (land.mean, 4.4, 0.25);
    assert_near (land.max, 4.4, 0.4);
    wsi_wear_land_clear (&land);
  }
}

/* A lamp that flickers while rows are read, of a blade that lies a little aslant to them: at the
 * edge a column may be as dark as its flank farther down. */
static void
bands_of_light_take_no_land_away (void **state)
{
  (void)state;
  g_autoptr (WsBand) band = flank (even, 1.5, 0.02);
  for (guint s = 0; s < LENGTH; s++)
    for (guint d = 0; d < DEPTH; d++)
      for (guint c = 0; c < 3; c++)
        wsi_band_cell (band, s, d)[c] *= (float)(1 + 0.32 * sin (0.26 * (s + 0.06 * d)));
  WsWearLand land;
  wsi_wear_land_find (&(WsLandSight){ .band = band, .whole = TRUE }, &land);
  assert_true (land.judged && land.present);
  assert_near (land.mean, 17.4, 2 * land.u_mean);
  wsi_wear_land_clear (&land);
}

/* Broader bands that lie more aslant are as light beside the land as half of its step. */
static void
bands_of_light_widen_no_land (void **state)
{
  (void)state;
  g_autoptr (WsBand) band = flank (even, 1.5, 0.02);
  for (guint s = 0; s < LENGTH; s++)
    for (guint d = 0; d < DEPTH; d++)
      for (guint c = 0; c < 3; c++)
        wsi_band_cell (band, s, d)[c] *= (float)(1 + 0.3 * sin (0.15 * (s + 0.17 * d)));
  WsWearLand land;
  wsi_wear_land_find (&(WsLandSight){ .band = band, .whole = TRUE }, &land);
  assert_true (land.judged && land.present);
  assert_near (land.mean, 17.4, 2 * land.u_mean);
  assert_near (land.max, 17.4, 2 * land.u_max);
  wsi_wear_land_clear (&land);
}

/* Columns that glint along the edge are as wide as the others: their land's light is taken from
 * more than the edge. */
static void
glints_along_the_edge_narrow_no_land (void **state)
{
  (void)state;
  g_autoptr (WsBand) band = flank (even, 2.0, 0.05);
  for (guint s = 0; s < LENGTH; s += 8)
    for (guint d = 0; d < 4; d++)
      for (guint c = 0; c < 3; c++)
        wsi_band_cell (band, s, d)[c] *= 1.6f;
  WsWearLand land;
  wsi_wear_land_find (&(WsLandSight){ .band = band, .whole = TRUE }, &land);
  assert_true (land.judged && land.present);
  assert_near (land.mean, 17.4, 0.4);
  wsi_wear_land_clear (&land);
}

static void
a_growing_land_has_mean_and_greatest (void **state)
{
  (void)state;
  WsWearLand land = found (growing, 2.0, 0.05);
  assert_near (land.mean, 14, 2 * land.u_mean);
  assert_near (land.max, 20, 2 * land.u_max);
  wsi_wear_land_clear (&land);
}

static void
hidden_columns_dont_count (void **state)
{
  (void)state;
  guint8 hidden[LENGTH];
  for (guint s = 0; s < LENGTH; s++)
    hidden[s] = s >= LENGTH / 2;
  g_autoptr (WsBand) band = flank (growing, 2.0, 0.05);
  WsWearLand land;
  wsi_wear_land_find (&(WsLandSight){ .band = band, .hidden = hidden, .whole = TRUE }, &land);
  assert_near (land.seen_share, 0.5, 0.02);
  assert_near (land.mean, 11, 2 * land.u_mean);
  wsi_wear_land_clear (&land);
  for (guint s = 0; s < LENGTH; s++)
    hidden[s] = 1;
  wsi_wear_land_find (&(WsLandSight){ .band = band, .hidden = hidden, .whole = TRUE }, &land);
  assert_false (land.judged);
  wsi_wear_land_clear (&land);
}

/* Grinding streaks run along the edge, which vary by 15 %.  A brighter stretch at the edge is a
 * land for sure when it is polished; with streaks of its own it may be one of them. */
static void
among_streaks_a_land_is_flat (void **state)
{
  (void)state;
  for (guint polished = 0; polished < 2; polished++)
  {
    g_autoptr (GRand) random = g_rand_new_with_seed (9);
    g_autoptr (WsBand) band = flank (even, 1.9, 0.01);
    for (guint d = 0; d < DEPTH; d++)
    {
      const double streak = g_rand_double_range (random, 0.75, 1.25);
      for (guint s = 0; s < LENGTH && (!polished || d >= 17); s++)
        for (guint c = 0; c < 3; c++)
          wsi_band_cell (band, s, d)[c] *= (float)streak;
    }
    WsWearLand land;
    wsi_wear_land_find (&(WsLandSight){ .band = band, .whole = TRUE }, &land);
    assert_int_equal (land.present, polished);
    if (polished)
      assert_near (land.mean, 17.4, 0.6);
    wsi_wear_land_clear (&land);
  }
}

static double
notched (guint s)
{
  return s >= 110 && s < 135 ? 62 : 12;
}

/* A notch that is deeper than the land beside it, and narrower than an eighth of the edge, counts
 * with all of its depth. */
static void
a_notch_has_its_depth (void **state)
{
  (void)state;
  WsWearLand land = found (notched, 0.5, 0.05);
  assert_true (land.judged && land.present);
  assert_near (land.mean, (12 * 215 + 62 * 25) / 240.0, 2 * land.u_mean);
  assert_near (land.max, 62, 2 * land.u_max);
  wsi_wear_land_clear (&land);
}

static double
bottomless (guint s)
{
  return s >= 110 && s < 135 ? DEPTH : 12;
}

static void
a_notch_without_an_end_leaves_the_land_unknown (void **state)
{
  (void)state;
  WsWearLand land = found (bottomless, 0.5, 0.05);
  assert_true (!land.judged && land.lost);
  wsi_wear_land_clear (&land);
}

/* A sound flank with light of its own over its depth. */
static gboolean
is_sound (double (*light) (guint d))
{
  g_autoptr (WsBand) band = flank (none, 1, 0.03);
  for (guint d = 0; d < DEPTH; d++)
    for (guint s = 0; s < LENGTH; s++)
      for (guint c = 0; c < 3; c++)
        wsi_band_cell (band, s, d)[c] *= (float)light (d);
  WsWearLand land;
  wsi_wear_land_find (&(WsLandSight){ .band = band, .whole = TRUE }, &land);
  const gboolean sound = land.judged && !land.present;
  assert_true (sound || !land.judged);
  wsi_wear_land_clear (&land);
  return sound;
}

static double
shaded (guint d)
{
  return exp (-0.4 * d / DEPTH);
}

static double
glowing (guint d)
{
  return 1 + 1.5 * exp (-(d / 15.0) * (d / 15.0));
}

static double
banded (guint d)
{
  return 1 + 0.25 * sin (d / 2.5);
}

/* Light that falls off over all of the flank hides nothing; a glow along the edge and bands might.
 */
static void
light_alone_is_no_land (void **state)
{
  (void)state;
  assert_true (is_sound (shaded));
  assert_false (is_sound (glowing));
  assert_false (is_sound (banded));
}

static double
half_of_all (guint s)
{
  (void)s;
  return 0.5 * DEPTH;
}

static double
deep (guint s)
{
  (void)s;
  return 0.8 * DEPTH;
}

static double
local (guint s)
{
  return s >= 50 && s < 90 ? 120 : 0;
}

/* Wherever it runs and however little light changes there; but streaks across the edge are none. */
static void
a_border_is_found_at_any_depth (void **state)
{
  (void)state;
  const Width widths[] = { even, narrow, half_of_all, deep, local };
  for (guint i = 0; i < G_N_ELEMENTS (widths); i++)
    for (guint k = 0; k < 2; k++)
    {
      g_autoptr (WsBand) band = flank (widths[i], k == 0 ? 0.85 : 1.6, 0.05);
      const gboolean seen = wsi_land_border_find (band, NULL, NULL, 1);
      assert_true (seen);
    }
  g_autoptr (WsBand) sound = flank (none, 1, 0.05);
  assert_false (wsi_land_border_find (sound, NULL, NULL, 1));
  /* The end of a land that was measured is none. */
  g_autoptr (WsBand) worn = flank (even, 1.6, 0.05);
  WsWearLand land;
  wsi_wear_land_find (&(WsLandSight){ .band = worn, .whole = TRUE }, &land);
  assert_true (land.present);
  assert_false (wsi_land_border_find (worn, NULL, land.width, 1));
  wsi_wear_land_clear (&land);
}

/* What would not have been seen grows with blur. */
static void
the_least_land_grows_with_blur (void **state)
{
  (void)state;
  double before = 0;
  for (guint blur = 1; blur <= 4; blur++)
  {
    g_autoptr (WsBand) band = flank (none, 1, 0.02);
    WsWearLand land;
    wsi_wear_land_find (&(WsLandSight){ .band = band, .blur_px = blur, .whole = TRUE }, &land);
    assert_true (land.judged && !land.present);
    assert_true (land.least > before && land.least < 6.0 * blur + 3);
    assert_near (land.u_mean, land.least / sqrt (3), 1e-12);
    before = land.least;
    wsi_wear_land_clear (&land);
  }
}

/* The first and last columns pass the tool's corner: there the ground goes on where the flank ends.
 */
static double
with_corners (guint s)
{
  return s < 6 || s >= LENGTH - 6 ? 50 : 17.4;
}

static void
corners_are_no_land (void **state)
{
  (void)state;
  WsWearLand land = found (with_corners, 2.0, 0.05);
  assert_true (land.present);
  assert_near (land.mean, 17.4, 0.5);
  assert_near (land.max, 17.4, 1);
  wsi_wear_land_clear (&land);
}

/* Heat without its colour: a third of the edge is darker than flank and land. */
static void
dark_columns_are_not_sound (void **state)
{
  (void)state;
  g_autoptr (WsBand) band = flank (even, 2.0, 0.05);
  for (guint s = 80; s < 160; s++)
    for (guint d = 0; d < 40; d++)
      for (guint c = 0; c < 3; c++)
        wsi_band_cell (band, s, d)[c] = 0.06F;
  WsWearLand land;
  wsi_wear_land_find (&(WsLandSight){ .band = band }, &land);
  assert_true (land.present);
  assert_near (land.mean, 17.4, 2 * land.u_mean);
  assert_near (land.seen_share, 2.0 / 3, 0.06);
  wsi_wear_land_clear (&land);
}

/* Where burn would not have been told from land, any column may be either. */
static void
without_colour_the_spread_counts (void **state)
{
  (void)state;
  g_autoptr (WsBand) band = flank (growing, 2.0, 0.05);
  double u[2];
  for (gint paled = 0; paled < 2; paled++)
  {
    WsWearLand land;
    wsi_wear_land_find (&(WsLandSight){ .band = band, .whole = TRUE, .paled = paled }, &land);
    assert_near (land.mean, 14, 2 * land.u_mean);
    u[paled] = land.u_mean;
    wsi_wear_land_clear (&land);
  }
  /* From 8 to 20 px all alike: 12 over the root of 12. */
  assert_near (sqrt (u[1] * u[1] - u[0] * u[0]), 12 / sqrt (12.0), 0.5);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (a_border_is_found_at_any_depth),
    cmocka_unit_test (the_least_land_grows_with_blur),
    cmocka_unit_test (fresh_edges_have_none),
    cmocka_unit_test (an_even_land_has_its_width),
    cmocka_unit_test (a_narrow_land_has_its_width),
    cmocka_unit_test (bands_of_light_take_no_land_away),
    cmocka_unit_test (bands_of_light_widen_no_land),
    cmocka_unit_test (glints_along_the_edge_narrow_no_land),
    cmocka_unit_test (a_growing_land_has_mean_and_greatest),
    cmocka_unit_test (hidden_columns_dont_count),
    cmocka_unit_test (a_notch_has_its_depth),
    cmocka_unit_test (a_notch_without_an_end_leaves_the_land_unknown),
    cmocka_unit_test (light_alone_is_no_land),
    cmocka_unit_test (among_streaks_a_land_is_flat),
    cmocka_unit_test (corners_are_no_land),
    cmocka_unit_test (dark_columns_are_not_sound),
    cmocka_unit_test (without_colour_the_spread_counts),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
