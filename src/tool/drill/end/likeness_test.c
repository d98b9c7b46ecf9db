#include "tool/drill/end/likeness.h"

#include "tool/drill/end/painted_for_tests.h"
#include "tool/drill/end/point.h"

static const WsOptics bare = WS_OPTICS_UNKNOWN;

/* The point where it was painted. */
static WsEndPoint
known_point (const Painted *painted)
{
  const WsPoint e = painted_along (painted), n = painted_across (painted);
  WsEndPoint point = { .centre = painted->centre, .radius = painted->radius };
  for (guint k = 0; k < 2; k++)
  {
    const double side = k == 0 ? 1 : -1;
    WsEndLip *lip = &point.lips[k];
    lip->outward = wsi_end_scaled (e, side);
    lip->inward = wsi_end_scaled (n, -side);
    lip->line.centre = painted_place (painted, 0, side * 0.5 * painted->web);
    lip->clearance = painted->clearance;
  }
  return point;
}

typedef double (*LightAt) (const Painted *painted, WsPoint frame);

/* A round thing in the painted point's place, its light a function of the place. */
static void
fill (const Painted *painted, LightAt light, WsEndGrid *grid)
{
  g_autoptr (WsImage) image = ws_image_new (painted->size, painted->size, NULL);
  const WsPoint e = painted_along (painted), n = painted_across (painted);
  for (guint y = 0; y < painted->size; y++)
    for (guint x = 0; x < painted->size; x++)
    {
      const WsPoint off = wsi_point_sub (wsi_point (x, y), painted->centre);
      const WsPoint frame = wsi_point (wsi_point_dot (off, e), wsi_point_dot (off, n));
      image->linear[(gsize)y * painted->size + x] =
        (guint16)(light (painted, frame) * WS_IMAGE_FULL_SCALE);
    }
  WsSampler sampler;
  wsi_sampler_init (&sampler, image);
  const WsEndPicture picture = { &sampler, &bare, { 1, 1, 1 } };
  wsi_end_grid_fill (&picture, painted->centre, painted->radius, grid);
}

static double
drill (const Painted *painted, WsPoint at)
{
  return painted_light (painted, at.x, at.y);
}

/* A screw's slot, as wide as the web. */
static double
slot (const Painted *painted, WsPoint at)
{
  if (hypot (at.x, at.y) > painted->radius)
    return painted->ground;
  return fabs (at.y) < 0.5 * painted->web ? painted->flank[0] : painted->flute;
}

/* Two lips as a drill's, and nothing alike on the other side. */
static double
lopsided (const Painted *painted, WsPoint at)
{
  if (hypot (at.x, at.y) > painted->radius)
    return painted->ground;
  return at.y < 0.5 * painted->web || at.x < 0 ? painted->flank[0] : painted->flute;
}

static void
assert_told (const Painted *painted, LightAt light, const WsEndPoint *point, const char *why)
{
  g_autofree WsEndGrid *grid = g_new (WsEndGrid, 1);
  WsRefusal refusal = { 0 };
  fill (painted, light, grid);
  const gboolean is_drill = wsi_end_is_drill (grid, point, &refusal);
  if (why == NULL)
  {
    assert_true (is_drill);
    return;
  }
  assert_false (is_drill);
  assert_int_equal (refusal.reason, WS_RETAKE_WRONG_VIEW);
  assert_contains (refusal.detail, why);
}

static void
drills_of_either_hand_are_drills (void **state)
{
  (void)state;
  for (guint k = 0; k < 4; k++)
  {
    Painted painted = PAINTED_POINT;
    painted.left_hand = k % 2;
    painted.roll_deg = 20 + 90 * k;
    const WsEndPoint point = known_point (&painted);
    assert_told (&painted, drill, &point, NULL);
    g_autofree WsEndGrid *grid = g_new (WsEndGrid, 1);
    fill (&painted, drill, grid);
    const WsEndLikeness like = wsi_end_likeness (grid, &point);
    assert_true (like.turned > 0.8);
    assert_true (fabs (like.goes_on) < 0.3);
    assert_true (like.mirrored < 0.3);
  }
}

static void
what_has_lips_alone_is_none (void **state)
{
  (void)state;
  const Painted painted = PAINTED_POINT;
  const WsEndPoint point = known_point (&painted);
  assert_told (&painted, slot, &point, "go on across the middle");

  Painted faint = painted;
  faint.flute = 0.97 * faint.flank[0];
  assert_told (&faint, lopsided, &point, "no lip stands out");

  Painted thin = painted;
  thin.web = 20;
  const WsEndPoint webless = known_point (&thin);
  assert_told (&thin, drill, &webless, "no web");

  /* Without a margin's step, or with a corner where a round body should be. */
  WsEndPoint bare_rim = point;
  bare_rim.lips[0].clearance = 0.0005;
  bare_rim.lips[1].clearance = NAN;
  bare_rim.lips[0].margin = bare_rim.lips[1].margin = NAN;
  bare_rim.has_chisel = TRUE;
  assert_told (&painted, drill, &bare_rim, "no margins");
  bare_rim.lips[1].clearance = 0.1;
  assert_told (&painted, drill, &bare_rim, "no margins");
  bare_rim.lips[0].margin = 30;
  assert_told (&painted, drill, &bare_rim, NULL);
  bare_rim.has_chisel = FALSE;
  assert_told (&painted, drill, &bare_rim, "no margins");
  bare_rim.lips[1].margin = 33;
  assert_told (&painted, drill, &bare_rim, NULL);
  bare_rim.lips[1].margin = 40;
  assert_told (&painted, drill, &bare_rim, "no margins");
}

static void
a_drawing_has_no_grain (void **state)
{
  (void)state;
  Painted painted = PAINTED_POINT;
  const WsEndPoint point = known_point (&painted);
  for (guint k = 0; k < 2; k++)
  {
    painted.noise = k == 0 ? 0 : 0.01;
    g_autoptr (WsImage) image = paint (&painted);
    WsSampler sampler;
    wsi_sampler_init (&sampler, image);
    const WsEndPicture picture = { &sampler, &bare, { 1, 1, 1 } };
    assert_int_equal (wsi_end_has_grain (&picture, &point), k == 1);
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (drills_of_either_hand_are_drills),
    cmocka_unit_test (what_has_lips_alone_is_none),
    cmocka_unit_test (a_drawing_has_no_grain),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
