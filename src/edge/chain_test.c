#include "edge/chain.h"

#include "base/geometry.h"
#include "base/testing.h"
#include "edge/testing.h"

#define NOISE 0.05

static const WsChainRules rules = { .scatter = 0.1, .correlated = 1, .least_rise = 1, .guard = 4 };

/* A pen that leaves one noisy point a pixel. */
typedef struct
{
  GArray *points;
  GRand *random;
  WsPoint at;
  double heading; /* rad */
} Pen;

static Pen
pen_new (guint32 seed)
{
  return (Pen){
    g_array_new (FALSE, FALSE, sizeof (WsPoint)), g_rand_new_with_seed (seed), { 100.3, 200.7 }, 0.3
  };
}

static void
pen_clear (Pen *pen)
{
  g_array_unref (pen->points);
  g_rand_free (pen->random);
}

static void
go (Pen *pen, double length, double turn)
{
  const guint steps = (guint)length;
  for (guint i = 0; i < steps; i++)
  {
    const double middle = pen->heading + 0.5 * turn / steps;
    pen->at = wsi_point_along (pen->at, 1, wsi_point (cos (middle), sin (middle)));
    pen->heading += turn / steps;
    const WsPoint p = wsi_point_along (pen->at, NOISE * random_normal (pen->random),
                                       wsi_point (-sin (middle), cos (middle)));
    g_array_append_val (pen->points, p);
  }
}

static const WsPoint *
points_of (const Pen *pen)
{
  return (const WsPoint *)(void *)pen->points->data;
}

static const WsChainPiece *
piece (const GArray *pieces, guint i)
{
  assert_true (i < pieces->len);
  return &g_array_index (pieces, WsChainPiece, i);
}

/* Line, arc tangent to both neighbours, line, sharp corner, line, hollow arc, line. */
static void
draw_profile (Pen *pen)
{
  go (pen, 240, 0);
  go (pen, 150, 1.5);
  go (pen, 230, 0);
  pen->heading -= 1.0;
  go (pen, 160, 0);
  go (pen, 120, -2.0);
  go (pen, 170, 0);
}

static void
lines_and_arcs_are_told_apart (void **state)
{
  (void)state;
  static const WsChainKind kinds[] = { WS_CHAIN_LINE, WS_CHAIN_ARC, WS_CHAIN_LINE,
                                       WS_CHAIN_LINE, WS_CHAIN_ARC, WS_CHAIN_LINE };
  for (guint32 seed = 1; seed <= 10; seed++)
  {
    Pen pen = pen_new (seed);
    draw_profile (&pen);
    g_autoptr (GArray) pieces = wsi_chain_split (points_of (&pen), pen.points->len, &rules);
    assert_int_equal (pieces->len, G_N_ELEMENTS (kinds));
    for (guint i = 0; i < pieces->len; i++)
      assert_int_equal (piece (pieces, i)->kind, kinds[i]);
    assert_true (piece (pieces, 1)->turn > 1.2 && piece (pieces, 1)->turn < 1.51);
    assert_true (piece (pieces, 4)->turn < -1.7 && piece (pieces, 4)->turn > -2.01);
    pen_clear (&pen);
  }
}

/* A long edge that a lens or a wheel bows by some px is a line: the radius of 127,000 px that fits
 * it would say nothing.  One that turns by more is an arc, however large. */
static void
a_bowed_line_is_no_arc (void **state)
{
  (void)state;
  static const struct
  {
    double turn;
    WsChainKind kind;
  } cases[] = { { 0.010, WS_CHAIN_LINE }, { 0.020, WS_CHAIN_LINE }, { 0.060, WS_CHAIN_ARC } };
  for (gsize i = 0; i < G_N_ELEMENTS (cases); i++)
  {
    Pen pen = pen_new ((guint32)i + 1);
    go (&pen, 1271, cases[i].turn);
    g_autoptr (GArray) pieces = wsi_chain_split (points_of (&pen), pen.points->len, &rules);
    assert_int_equal (pieces->len, 1);
    assert_int_equal (piece (pieces, 0)->kind, cases[i].kind);
    pen_clear (&pen);
  }
}

/* Angles and radii lie within twice their standard uncertainty about as often as they should. */
static void
uncertainties_cover_the_errors (void **state)
{
  (void)state;
  guint inside = 0, n = 0;
  double squares = 0, stated = 0;
  for (guint32 seed = 100; seed < 140; seed++)
  {
    Pen pen = pen_new (seed);
    draw_profile (&pen);
    g_autoptr (GArray) pieces = wsi_chain_split (points_of (&pen), pen.points->len, &rules);
    g_autoptr (GArray) corners = wsi_chain_corners (pieces, points_of (&pen));
    const double truth[] = { G_PI - 1.5, G_PI - 1.0, G_PI - 2.0 };
    assert_int_equal (corners->len, 3);
    for (guint i = 0; i < 3; i++, n++)
    {
      const WsChainCorner *corner = &g_array_index (corners, WsChainCorner, i);
      const double error = corner->angle - truth[i];
      inside += fabs (error) <= 2 * corner->u_angle;
      squares += error * error;
      stated += corner->u_angle;
    }
    for (guint i = 1; i <= 4; i += 3, n++)
    {
      const WsChainPiece *arc = piece (pieces, i);
      inside += fabs (arc->circle.radius - (i == 1 ? 100.0 : 60.0)) <= 2 * arc->u_radius;
    }
    pen_clear (&pen);
  }
  print_message ("%u of %u inside, corners: RMS %.5f, mean u %.5f rad\n", inside, n,
                 sqrt (squares / 120), stated / 120);
  assert_true (inside >= 0.9 * n);
  assert_true (stated / 120 < 2 * sqrt (squares / 120));
}

static void
a_corner_knows_its_side (void **state)
{
  (void)state;
  Pen pen = pen_new (3);
  go (&pen, 100, 0);
  pen.heading += 2.4; /* to the right with y down: the tool's own point */
  go (&pen, 100, 0);
  pen.heading -= 1.6;
  go (&pen, 100, 0);
  g_autoptr (GArray) pieces = wsi_chain_split (points_of (&pen), pen.points->len, &rules);
  g_autoptr (GArray) corners = wsi_chain_corners (pieces, points_of (&pen));
  assert_int_equal (corners->len, 2);
  assert_true (g_array_index (corners, WsChainCorner, 0).is_convex);
  assert_false (g_array_index (corners, WsChainCorner, 1).is_convex);
  pen_clear (&pen);
}

/* A crumb of dust or a nick is no segment and bends none. */
static void
damage_is_left_out (void **state)
{
  (void)state;
  Pen pen = pen_new (4);
  go (&pen, 400, 0);
  WsPoint *points = (WsPoint *)(void *)pen.points->data;
  for (guint i = 90; i < 115; i++)
    points[i] = wsi_point_along (points[i], 6 * sin ((i - 90) * G_PI / 25),
                                 wsi_point (-sin (pen.heading), cos (pen.heading)));
  g_autoptr (GArray) pieces = wsi_chain_split (points, pen.points->len, &rules);
  assert_int_equal (pieces->len, 1);
  assert_int_equal (piece (pieces, 0)->kind, WS_CHAIN_LINE);
  const WsPoint direction = piece (pieces, 0)->line.direction;
  assert_near (atan2 (direction.y, direction.x), pen.heading, 4e-4);
  assert_true (piece (pieces, 0)->used < 0.97);
  pen_clear (&pen);
}

/* A worn tip between two flanks bends neither. */
static void
a_round_tip_bends_no_flank (void **state)
{
  (void)state;
  Pen pen = pen_new (5);
  go (&pen, 80, 0);
  go (&pen, 14, 2.4);
  go (&pen, 80, 0);
  g_autoptr (GArray) pieces = wsi_chain_split (points_of (&pen), pen.points->len, &rules);
  g_autoptr (GArray) corners = wsi_chain_corners (pieces, points_of (&pen));
  assert_int_equal (corners->len, 1);
  assert_near (g_array_index (corners, WsChainCorner, 0).angle, G_PI - 2.4, 0.005);
  pen_clear (&pen);
}

static void
a_bowed_line_stays_a_line (void **state)
{
  (void)state;
  Pen pen = pen_new (6);
  go (&pen, 100, 0.03); /* rises 0.4 px */
  g_autoptr (GArray) pieces = wsi_chain_split (points_of (&pen), pen.points->len, &rules);
  assert_int_equal (pieces->len, 1);
  assert_int_equal (piece (pieces, 0)->kind, WS_CHAIN_LINE);
  pen_clear (&pen);
}

static void
too_few_points_make_no_chain (void **state)
{
  (void)state;
  const WsPoint points[3] = { { 0, 0 }, { 1, 0 }, { 2, 0 } };
  g_autoptr (GArray) none = wsi_chain_split (points, 3, &rules);
  assert_int_equal (none->len, 0);
  WsPoint same[60];
  for (guint i = 0; i < G_N_ELEMENTS (same); i++)
    same[i] = wsi_point (5, 5);
  g_autoptr (GArray) spot = wsi_chain_split (same, G_N_ELEMENTS (same), &rules);
  assert_int_equal (spot->len, 0);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (lines_and_arcs_are_told_apart),
    cmocka_unit_test (a_bowed_line_is_no_arc),
    cmocka_unit_test (uncertainties_cover_the_errors),
    cmocka_unit_test (a_corner_knows_its_side),
    cmocka_unit_test (damage_is_left_out),
    cmocka_unit_test (a_round_tip_bends_no_flank),
    cmocka_unit_test (a_bowed_line_stays_a_line),
    cmocka_unit_test (too_few_points_make_no_chain),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
