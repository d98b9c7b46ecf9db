#include "colour/film.h"

#include "base/testing.h"

static WsFilmPath path;

static int
fill (void **state)
{
  (void)state;
  wsi_film_path_fill (&path);
  return 0;
}

static void
bare_steel_has_no_colour (void **state)
{
  (void)state;
  const WsLab bare = wsi_film_colour (0);
  assert_near (bare.L, 100, 0.01);
  assert_near (wsi_colour_chroma (bare), 0, 0.01);
}

/* The order that every published table gives. */
static void
a_growing_film_runs_through_the_names_in_order (void **state)
{
  (void)state;
  guint seen = 0;
  WsFilm before = WS_FILM_NONE;
  for (guint nm = 10; nm <= 60; nm++)
  {
    const WsFilm film = wsi_film_class (&path, wsi_film_colour (nm), 5);
    assert_true (film != WS_FILM_NONE && film >= before);
    seen |= 1U << film;
    before = film;
  }
  assert_int_equal (seen, 1U << WS_FILM_STRAW | 1U << WS_FILM_BROWN | 1U << WS_FILM_PURPLE |
                            1U << WS_FILM_BLUE | 1U << WS_FILM_GREY);
}

static void
thickness_comes_back_from_hue (void **state)
{
  (void)state;
  for (double nm = 22; nm <= 60; nm += 1.7)
    assert_near (wsi_film_thickness_nm (&path, wsi_colour_hue_deg (wsi_film_colour (nm))), nm, 0.3);
}

static void
greens_and_greys_are_no_film (void **state)
{
  (void)state;
  const WsLab green = { 60, -40, 30 }, neutral = { 60, 1, -1 }, leaf = { 60, -45, -5 };
  assert_int_equal (wsi_film_class (&path, green, 5), WS_FILM_NONE);
  assert_int_equal (wsi_film_class (&path, leaf, 5), WS_FILM_NONE);
  assert_int_equal (wsi_film_class (&path, neutral, 5), WS_FILM_NONE);
}

static void
temperatures_rise_with_the_film (void **state)
{
  (void)state;
  double before_low = 0, before_high = 0, low, high;
  for (WsFilm film = WS_FILM_STRAW; film < WS_N_FILMS; film++)
  {
    wsi_film_temperature_c (film, &low, &high);
    assert_true (low > before_low && high > before_high && high > low);
    before_low = low;
    before_high = high;
  }
  /* Colvin & Juthe 1922, averages: purple 273 and 288 degrees Celsius, blue 300. */
  wsi_film_temperature_c (WS_FILM_PURPLE, &low, &high);
  assert_true (low <= 273 && high >= 288);
  wsi_film_temperature_c (WS_FILM_BLUE, &low, &high);
  assert_true (low <= 300 && high >= 300);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (bare_steel_has_no_colour),
    cmocka_unit_test (a_growing_film_runs_through_the_names_in_order),
    cmocka_unit_test (thickness_comes_back_from_hue),
    cmocka_unit_test (greens_and_greys_are_no_film),
    cmocka_unit_test (temperatures_rise_with_the_film),
  };
  return cmocka_run_group_tests (tests, fill, NULL);
}
