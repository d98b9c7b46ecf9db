#include "colour/burn.h"

#include "base/testing.h"

#define LENGTH 200
#define DEPTH 150
#define EVALUATED 50

typedef WsLight (*Paint) (guint s, guint d, double size);

static GRand *
random_source (void)
{
  return g_rand_new_with_seed (11);
}

/* Streaky grey steel, `paint` over it. */
static WsBand *
steel (Paint paint, double size, WsLight lamp)
{
  GRand *random = random_source ();
  WsBand *band = wsi_band_new (LENGTH, DEPTH);
  for (guint s = 0; s < LENGTH; s++)
  {
    const double streak = 0.4 * g_rand_double_range (random, 0.8, 1.2);
    for (guint d = 0; d < DEPTH; d++)
    {
      const WsLight over = paint (s, d, size);
      float *cell = wsi_band_cell (band, s, d);
      cell[0] = (float)(streak * lamp.r * over.r * g_rand_double_range (random, 0.98, 1.02));
      cell[1] = (float)(streak * lamp.g * over.g * g_rand_double_range (random, 0.98, 1.02));
      cell[2] = (float)(streak * lamp.b * over.b * g_rand_double_range (random, 0.98, 1.02));
    }
  }
  g_rand_free (random);
  return band;
}

static const WsLight white = { 1, 1, 1 };

static WsLight
nothing (guint s, guint d, double size)
{
  (void)s;
  (void)d;
  (void)size;
  return white;
}

/* Inverse of the curve in colour.c, written anew. */
static WsLight
light_of_lab (WsLab lab)
{
  const double fy = (lab.L + 16) / 116, fx = fy + lab.a / 500, fz = fy - lab.b / 200;
  const double X = 0.9505 * fx * fx * fx, Y = fy * fy * fy, Z = 1.089 * fz * fz * fz;
  return (WsLight){ MAX (3.2406 * X - 1.5372 * Y - 0.4986 * Z, 0.001),
                    MAX (-0.9689 * X + 1.8758 * Y + 0.0415 * Z, 0.001),
                    MAX (0.0557 * X - 0.2040 * Y + 1.0570 * Z, 0.001) };
}

/* A film of 45 nm at the edge, gone at depth `size`, over the middle half of the edge. */
static WsLight
heat (guint s, guint d, double size)
{
  if (s < LENGTH / 4 || s >= 3 * LENGTH / 4 || d >= size)
    return white;
  return light_of_lab (wsi_film_colour (45 * (1 - d / size)));
}

static WsLight
blue_paint (guint s, guint d, double size)
{
  const gboolean painted = s > 60 && s < 140 && d < size;
  return painted ? (WsLight){ 0.15, 0.45, 0.9 } : white;
}

static WsLight
yellow_paint (guint s, guint d, double size)
{
  const gboolean painted = s > 60 && s < 140 && d < size;
  return painted ? (WsLight){ 0.9, 0.75, 0.2 } : white;
}

static WsLight
blue_coating (guint s, guint d, double size)
{
  (void)s;
  (void)d;
  (void)size;
  return (WsLight){ 0.2, 0.3, 0.8 };
}

static WsLight
two_lamps (guint s, guint d, double size)
{
  (void)d;
  (void)size;
  return s < LENGTH / 2 ? (WsLight){ 1.1, 1, 0.8 } : (WsLight){ 0.9, 1, 1.2 };
}

static WsBurn
judged (Paint paint, double size, WsLight lamp, const WsLight *ground, const WsLight *card)
{
  g_autoptr (WsBand) band = steel (paint, size, lamp);
  const WsBand *const bands[1] = { band };
  const WsBalance balance = wsi_balance_find (bands, 1, ground, card);
  WsBurn burn;
  wsi_burn_find (band, &balance, EVALUATED, &burn);
  return burn;
}

static void
clean_steel_has_no_burn (void **state)
{
  (void)state;
  WsBurn burn = judged (nothing, 0, white, NULL, NULL);
  assert_int_equal (burn.trouble, WS_BURN_JUDGED);
  assert_false (burn.present);
  assert_true (burn.depth <= 0 && burn.area <= 0 && burn.distance < 1);
  wsi_burn_clear (&burn);
}

/* Straw of 8 nm and less is too faint for anybody: colour is seen up to some 0.8 of the size, and
 * the rest follows from how it fades. */
static void
heat_is_found_with_its_depth (void **state)
{
  (void)state;
  for (double size = 20; size <= 60; size += 20)
  {
    WsBurn burn = judged (heat, size, white, NULL, NULL);
    assert_int_equal (burn.trouble, WS_BURN_JUDGED);
    assert_true (burn.present);
    assert_near (burn.depth_seen, 0.8 * size, 0.1 * size);
    assert_near (burn.depth, size, 0.06 * size);
    assert_true (fabs (burn.depth - size) <= 2 * burn.u_fade);
    assert_true (burn.u_fade < 0.06 * size);
    assert_true (burn.uneven < 1.5);
    assert_near (burn.length, LENGTH / 2.0, 3);
    assert_int_equal (burn.hottest, WS_FILM_BLUE);
    assert_true (burn.distance > 2);
    wsi_burn_clear (&burn);
  }
}

/* As before, but deeper toward the right. */
static WsLight
slanting_heat (guint s, guint d, double size)
{
  const double here = size * (0.7 + 0.6 * (s - LENGTH / 4.0) / (LENGTH / 2.0));
  return heat (s, d, here);
}

static void
an_uneven_border_is_told (void **state)
{
  (void)state;
  WsBurn burn = judged (slanting_heat, 40, white, NULL, NULL);
  assert_true (burn.trouble == WS_BURN_JUDGED && burn.present);
  /* Nine in ten columns are shallower than 1.24 sizes, half than 1. */
  assert_near (burn.depth, 1.24 * 40, 0.1 * 40);
  assert_near (burn.uneven, 0.24 * 40 * 0.8, 2);
  wsi_burn_clear (&burn);
}

static void
a_tinted_lamp_changes_nothing (void **state)
{
  (void)state;
  const WsLight lamp = { 1.2, 1, 0.75 };
  WsBurn burn = judged (heat, 40, lamp, &lamp, NULL);
  assert_true (burn.trouble == WS_BURN_JUDGED && burn.present);
  assert_near (burn.depth, 40, 3);
  wsi_burn_clear (&burn);
  burn = judged (nothing, 0, lamp, &lamp, NULL);
  assert_true (burn.trouble == WS_BURN_JUDGED && !burn.present);
  wsi_burn_clear (&burn);
}

static void
paint_is_not_called_burn (void **state)
{
  (void)state;
  WsBurn burn = judged (blue_paint, 30, white, NULL, NULL);
  assert_int_equal (burn.trouble, WS_BURN_FOREIGN_COLOUR);
  wsi_burn_clear (&burn);
  burn = judged (yellow_paint, 30, white, NULL, NULL);
  assert_int_equal (burn.trouble, WS_BURN_FOREIGN_COLOUR);
  wsi_burn_clear (&burn);
}

/* Colour that goes on to where the tool is out of view: a film thins on its way, paint doesn't. */
static void
colour_without_an_end_in_view_is_told_by_its_films (void **state)
{
  (void)state;
  static const Paint paints[2] = { heat, yellow_paint };
  for (guint k = 0; k < 2; k++)
  {
    g_autoptr (WsBand) band = steel (paints[k], 60, white);
    for (guint s = LENGTH / 4; s < 3 * LENGTH / 4; s++)
      for (guint d = 30; d < DEPTH; d++)
        wsi_band_cell (band, s, d)[0] = NAN;
    const WsBand *const bands[1] = { band };
    const WsBalance balance = wsi_balance_find (bands, 1, NULL, NULL);
    WsBurn burn;
    wsi_burn_find (band, &balance, EVALUATED, &burn);
    assert_int_equal (burn.trouble, k == 0 ? WS_BURN_JUDGED : WS_BURN_FOREIGN_COLOUR);
    wsi_burn_clear (&burn);
  }
}

/* No hotter than brown at the edge. */
static WsLight
faint_heat (guint s, guint d, double size)
{
  const gboolean heated = s >= LENGTH / 4 && s < 3 * LENGTH / 4 && d < size;
  return heated ? light_of_lab (wsi_film_colour (24 * (1 - d / size))) : white;
}

static void
straw_before_a_brown_ground_may_be_its_reflection (void **state)
{
  (void)state;
  const WsLight wood = { 0.5, 0.33, 0.18 }, grey = { 0.3, 0.3, 0.3 };
  WsBurn burn = judged (faint_heat, 40, white, &grey, NULL);
  assert_true (burn.trouble == WS_BURN_JUDGED && burn.present);
  wsi_burn_clear (&burn);
  burn = judged (faint_heat, 40, white, &wood, NULL);
  assert_int_equal (burn.trouble, WS_BURN_FOREIGN_COLOUR);
  wsi_burn_clear (&burn);
  /* Blue is nowhere in the ground. */
  burn = judged (heat, 40, white, &wood, NULL);
  assert_true (burn.trouble == WS_BURN_JUDGED && burn.present);
  wsi_burn_clear (&burn);
}

static void
coatings_and_lamps_are_told (void **state)
{
  (void)state;
  const WsLight grey = { 0.2, 0.2, 0.2 };
  WsBurn burn = judged (blue_coating, 0, white, &grey, NULL);
  assert_int_equal (burn.trouble, WS_BURN_COATED);
  wsi_burn_clear (&burn);
  /* A ground of the same colour may mean a blue lamp, but a grey card tells. */
  const WsLight blue = { 0.2, 0.3, 0.8 };
  burn = judged (blue_coating, 0, white, &blue, &grey);
  assert_int_equal (burn.trouble, WS_BURN_COATED);
  wsi_burn_clear (&burn);
  burn = judged (blue_coating, 0, white, &blue, NULL);
  assert_int_equal (burn.trouble, WS_BURN_COLOURED_LIGHT);
  wsi_burn_clear (&burn);
  burn = judged (two_lamps, 0, white, NULL, NULL);
  assert_int_equal (burn.trouble, WS_BURN_MIXED_LIGHT);
  wsi_burn_clear (&burn);
}

static void
burnt_out_pictures_are_refused (void **state)
{
  (void)state;
  const WsLight bright = { 3, 3, 3 };
  WsBurn burn = judged (nothing, 0, bright, NULL, NULL);
  assert_int_equal (burn.trouble, WS_BURN_CLIPPED);
  assert_non_null (wsi_burn_trouble_text (burn.trouble));
  wsi_burn_clear (&burn);
}

/* Light over the edge burns out what lies there; farther in the steel is good. */
static WsLight
glare (guint s, guint d, double size)
{
  const gboolean lit = s < LENGTH / 2 && d < size;
  return lit ? (WsLight){ 4, 4, 4 } : white;
}

static void
no_burn_is_told_of_an_edge_that_is_burnt_out (void **state)
{
  (void)state;
  WsBurn burn = judged (glare, 60, white, NULL, NULL);
  assert_int_equal (burn.trouble, WS_BURN_CLIPPED);
  wsi_burn_clear (&burn);
  /* What blur from a bright ground takes hides none. */
  burn = judged (glare, 3, white, NULL, NULL);
  assert_int_equal (burn.trouble, WS_BURN_JUDGED);
  wsi_burn_clear (&burn);
}

/* Under a veil of three times steel's own light. */
static WsBurn
judged_veiled (Paint paint, double veil_known)
{
  g_autoptr (WsBand) band = steel (paint, 40, (WsLight){ 0.4, 0.4, 0.4 });
  for (gsize i = 0; i < (gsize)3 * LENGTH * DEPTH; i++)
    band->rgb[i] += 0.48F;
  const WsBand *const bands[1] = { band };
  WsBalance balance = wsi_balance_find (bands, 1, NULL, NULL);
  balance.veil = veil_known;
  WsBurn burn;
  wsi_burn_find (band, &balance, EVALUATED, &burn);
  return burn;
}

static void
colour_that_a_veil_paled_is_in_doubt (void **state)
{
  (void)state;
  WsBurn burn = judged_veiled (faint_heat, 0.75);
  assert_int_equal (burn.trouble, WS_BURN_FAINT);
  assert_false (burn.present);
  wsi_burn_clear (&burn);
  burn = judged_veiled (nothing, 0.75);
  assert_int_equal (burn.trouble, WS_BURN_JUDGED);
  wsi_burn_clear (&burn);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (clean_steel_has_no_burn),
    cmocka_unit_test (heat_is_found_with_its_depth),
    cmocka_unit_test (an_uneven_border_is_told),
    cmocka_unit_test (a_tinted_lamp_changes_nothing),
    cmocka_unit_test (paint_is_not_called_burn),
    cmocka_unit_test (colour_without_an_end_in_view_is_told_by_its_films),
    cmocka_unit_test (straw_before_a_brown_ground_may_be_its_reflection),
    cmocka_unit_test (coatings_and_lamps_are_told),
    cmocka_unit_test (burnt_out_pictures_are_refused),
    cmocka_unit_test (no_burn_is_told_of_an_edge_that_is_burnt_out),
    cmocka_unit_test (colour_that_a_veil_paled_is_in_doubt),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
