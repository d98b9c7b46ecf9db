#include "tool/drill/end/point.h"

#include "tool/drill/end/painted_for_tests.h"

static const WsOptics bare = WS_OPTICS_UNKNOWN;

static WsEndPoint *
locate (const Painted *painted, WsRefusal *refusal)
{
  g_autoptr (WsImage) image = paint (painted);
  WsSampler sampler;
  wsi_sampler_init (&sampler, image);
  return wsi_end_point_locate (&sampler, &bare, refusal);
}

static WsEndPoint *
locate_or_fail (const Painted *painted)
{
  WsRefusal refusal;
  WsEndPoint *point = locate (painted, &refusal);
  if (point == NULL)
    print_error ("roll %g: %s\n", painted->roll_deg, refusal.detail);
  assert_non_null (point);
  return point;
}

static void
assert_place (WsPoint found, WsPoint expected, double tolerance)
{
  assert_near (found.x, expected.x, tolerance);
  assert_near (found.y, expected.y, tolerance);
}

/* Which of the painted lips it is: 1 for lip a, -1 for b. */
static double
side_of (const Painted *painted, const WsEndLip *lip)
{
  return wsi_point_dot (lip->outward, painted_along (painted)) > 0 ? 1 : -1;
}

static void
assert_lip (const Painted *painted, const WsEndLip *lip)
{
  const double side = side_of (painted, lip), rho = 0.5 * painted->web;
  const WsPoint e = painted_along (painted), n = painted_across (painted);
  assert_near (wsi_point_cross (lip->outward, e), 0, wsi_radians (0.1));
  assert_near (side * wsi_point_dot (wsi_point_sub (lip->line.centre, painted->centre), n), rho,
               0.3);
  assert_near (wsi_point_dot (lip->inward, n), -side, 1e-4);
  const double out = sqrt (painted->radius * painted->radius - rho * rho);
  assert_place (lip->corner, painted_place (painted, side * out, side * rho), 0.8);
  assert_false (lip->coloured);
  assert_true (lip->stray >= 0 && lip->stray < 1);
  /* Lightness of 0.6 or 0.45 is 41 or 32 more than that of 0.12; the edge's own width takes some.
   */
  assert_true (lip->contrast > 20 && lip->contrast < 41);
}

static void
assert_chisel (const Painted *painted, const WsEndPoint *point, double tolerance_deg)
{
  const double a = wsi_radians (painted->acute_deg), half = 0.5 * painted->web / sin (a);
  assert_true (point->has_chisel);
  assert_true (point->u_chisel_rad > 0 && point->u_chisel_rad < 0.009);
  for (guint k = 0; k < 2; k++)
  {
    const double side = side_of (painted, &point->lips[k]);
    const WsPoint expected = painted_place (painted, side * half * cos (a), side * half * sin (a));
    assert_place (point->lips[k].inner, expected, 2 * half * wsi_radians (tolerance_deg));
  }
}

static void
all_is_where_it_was_painted (void **state)
{
  (void)state;
  for (guint k = 0; k < 6; k++)
  {
    Painted painted = PAINTED_POINT;
    painted.roll_deg = 61.0 * k - 170;
    painted.left_hand = k % 2;
    painted.acute_deg = 46 + 4 * k;
    painted.margin_deg = 8 + k;
    g_autofree WsEndPoint *point = locate_or_fail (&painted);
    assert_place (point->centre, painted.centre, 0.5);
    assert_near (point->radius, painted.radius, 0.6);
    assert_near (point->u_centre, 0.003 * painted.radius + 0.7, 0.01);
    assert_int_equal (point->right_hand, !painted.left_hand);
    for (guint i = 0; i < 2; i++)
    {
      assert_lip (&painted, &point->lips[i]);
      assert_near (point->lips[i].margin, wsi_radians (painted.margin_deg) * painted.radius, 1.0);
    }
    assert_true (side_of (&painted, &point->lips[0]) != side_of (&painted, &point->lips[1]));
    assert_chisel (&painted, point, 1.0);
  }
}

/* The angle is that of the chord between the ends, which an S leaves as it is. */
static void
a_bowed_chisel_edge_keeps_its_chord (void **state)
{
  (void)state;
  for (double bow = -3; bow <= 3; bow += 2)
  {
    Painted painted = PAINTED_POINT;
    painted.bow = bow;
    g_autofree WsEndPoint *point = locate_or_fail (&painted);
    assert_chisel (&painted, point, 1.0);
  }
}

/* Where only the middle shows, its noise makes no S of the edge that would swing the ends. */
static void
unseen_ends_lie_straight_on (void **state)
{
  (void)state;
  Painted painted = PAINTED_POINT;
  painted.shown = 0.71;
  painted.noise = 0.02;
  g_autofree WsEndPoint *point = locate_or_fail (&painted);
  assert_chisel (&painted, point, 2.0);
}

/* On a light ground light falls inward at the rim. */
static void
the_ground_may_be_lighter (void **state)
{
  (void)state;
  Painted painted = PAINTED_POINT;
  painted.ground = 0.9;
  g_autofree WsEndPoint *point = locate_or_fail (&painted);
  assert_place (point->centre, painted.centre, 0.5);
  assert_near (point->radius, painted.radius, 0.6);
  assert_lip (&painted, &point->lips[0]);
  assert_lip (&painted, &point->lips[1]);
  assert_chisel (&painted, point, 1.0);
}

static void
assert_refused (const Painted *painted, WsRetake reason, const char *why)
{
  WsRefusal refusal;
  assert_null (locate (painted, &refusal));
  assert_contains (refusal.detail, why);
  assert_int_equal (refusal.reason, reason);
}

static void
what_is_no_point_is_refused (void **state)
{
  (void)state;
  Painted disc = PAINTED_POINT;
  disc.flank[0] = disc.flank[1] = disc.flute = disc.depth = 0.5;
  assert_refused (&disc, WS_RETAKE_WRONG_VIEW, "no two parallel lips");

  Painted small = PAINTED_POINT;
  small.radius = 55;
  small.web = 14;
  assert_refused (&small, WS_RETAKE_TOO_SMALL, "less than 180 px");

  Painted nothing = disc;
  nothing.ground = 0.5;
  assert_refused (&nothing, WS_RETAKE_NO_TOOL, "stands free");

  Painted bald = PAINTED_POINT;
  bald.clearance = 0;
  bald.flank[1] = bald.flank[0];
  assert_refused (&bald, WS_RETAKE_WRONG_VIEW, "neither margins nor a chisel edge");
}

/* In a negative the heels have flutes' dark inside and flanks' light outside, as lips have in a
 * picture; they are bent. */
static void
heels_are_no_lips (void **state)
{
  (void)state;
  for (guint i = 0; i < 4; i++)
  {
    Painted negative = PAINTED_POINT;
    negative.roll_deg = 13 + 55 * i;
    negative.flank[0] = 0.1;
    negative.flank[1] = 0.16;
    negative.flute = 0.6;
    assert_refused (&negative, WS_RETAKE_WRONG_VIEW, "bent, as no lips are");
  }
}

/* Things all about it, none of which touches it. */
static void
a_point_stands_free (void **state)
{
  (void)state;
  enum
  {
    N_BLOBS = 16
  };
  const Painted painted = PAINTED_POINT;
  const double R = painted.radius, blob = 0.05 * R;
  g_autoptr (WsImage) image = paint (&painted);
  for (guint y = 0; y < image->height; y++)
    for (guint x = 0; x < image->width; x++)
      for (guint k = 0; k < N_BLOBS; k++)
      {
        const double angle = 2 * G_PI * k / N_BLOBS;
        const WsPoint at =
          wsi_point_along (painted.centre, 1.14 * R, wsi_point (cos (angle), sin (angle)));
        if (hypot (x - at.x, y - at.y) < blob)
          image->linear[(gsize)y * image->width + x] = 40000;
      }
  WsSampler sampler;
  WsRefusal refusal;
  wsi_sampler_init (&sampler, image);
  assert_null (wsi_end_point_locate (&sampler, &bare, &refusal));
  assert_contains (refusal.detail, "no disc that stands free");
  assert_int_equal (refusal.reason, WS_RETAKE_WRONG_VIEW);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (all_is_where_it_was_painted),
    cmocka_unit_test (a_bowed_chisel_edge_keeps_its_chord),
    cmocka_unit_test (unseen_ends_lie_straight_on),
    cmocka_unit_test (the_ground_may_be_lighter),
    cmocka_unit_test (what_is_no_point_is_refused),
    cmocka_unit_test (heels_are_no_lips),
    cmocka_unit_test (a_point_stands_free),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
