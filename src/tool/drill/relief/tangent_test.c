#include "base/geometry.h"
#include "base/testing.h"
#include "tool/drill/relief/tangent.h"

#define RADIUS 600.0
#define STEP 0.18

/* The model's edge: slope, bend and twist in radii, over a land `lift` px higher; a ripple of
 * `noise` px. */
static void
edge_points (double slope, double bend, double lift, double to, double noise, WsReliefEdge *edge)
{
  *edge = (WsReliefEdge){
    .radius = RADIUS, .u_corner = 3, .reach = WS_RELIEF_SHORT_REACH, .clarity = 30
  };
  edge->points = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  edge->clipped = g_array_new (FALSE, TRUE, sizeof (guint8));
  for (double s = 2; s < to * RADIUS; s += 1)
  {
    const double psi = asin (s / RADIUS);
    const gboolean land = s > STEP * RADIUS;
    if (land && s < (STEP + 0.03) * RADIUS)
      continue;
    double o = (slope + (bend - 0.005 * psi) * psi) * psi * RADIUS;
    if (land)
      o += -lift + 0.75 * lift / 0.6 * slope * psi;
    const WsPoint p = { s, o + noise * sin (1.7 * s) };
    g_array_append_val (edge->points, p);
  }
  g_array_set_size (edge->clipped, edge->points->len);
}

/* The tangent of an edge that is used up. */
static WsReliefTangent
tangent_of (WsReliefEdge *edge)
{
  WsReliefTangent tangent;
  assert_true (wsi_relief_tangent (edge, &tangent));
  wsi_relief_edge_clear (edge);
  return tangent;
}

static void
the_tangent_is_that_of_the_curve (void **state)
{
  (void)state;
  WsReliefEdge edge;
  for (double deg = 5; deg < 17; deg += 3)
    for (double bend = -0.1; bend < 0.2; bend += 0.1)
    {
      edge_points (tan (wsi_radians (deg)), bend, 8, 0.6, 0.1, &edge);
      const WsReliefTangent tangent = tangent_of (&edge);
      assert_near (wsi_degrees (tangent.angle), deg, 0.08);
      assert_near (tangent.lift, 8, 1);
      assert_near (tangent.step_at / RADIUS, STEP, 0.035);
      assert_true (fabs (tangent.angle - wsi_radians (deg)) <= 2 * tangent.u);
      assert_near (tangent.u_corner, fabs (2 * tangent.bend) * 3 / RADIUS, 1e-9);
    }
}

/* Colours of heat at the corner have a border of their own, steeper than the edge. */
static void
what_lies_beyond_a_stain_tells_the_edge (void **state)
{
  (void)state;
  WsReliefEdge edge;
  const double slope = tan (wsi_radians (8));
  edge_points (slope, 0.05, 8, 0.6, 0.1, &edge);
  for (guint i = 0; i < edge.points->len; i++)
  {
    WsPoint *p = &g_array_index (edge.points, WsPoint, i);
    p->y += p->x < 50 ? 0.15 * (p->x - 50) : 0;
  }
  WsReliefTangent beyond;
  assert_true (wsi_relief_tangent_beyond (&edge, 50, &beyond));
  assert_near (wsi_degrees (beyond.angle), 8, 2 * wsi_degrees (beyond.u));
  assert_false (wsi_relief_tangent_beyond (&edge, 0.6 * RADIUS, &beyond));
  wsi_relief_edge_clear (&edge);
}

static void
a_body_without_a_step_has_none (void **state)
{
  (void)state;
  WsReliefEdge edge;
  edge_points (0.2, 0.05, 0, 0.6, 0.1, &edge);
  const WsReliefTangent tangent = tangent_of (&edge);
  assert_true (isnan (tangent.step_at));
  assert_near (tan (tangent.angle), 0.2, 0.0015);
}

/* The margin alone hardly tells slope from bow. */
static void
a_margin_alone_is_less_sure (void **state)
{
  (void)state;
  WsReliefEdge edge;
  edge_points (0.2, 0.1, 8, 0.6, 0.1, &edge);
  const WsReliefTangent all = tangent_of (&edge);
  edge_points (0.2, 0.1, 8, 0.17, 0.1, &edge);
  const WsReliefTangent margin = tangent_of (&edge);
  assert_true (margin.u > 2 * all.u);
  assert_true (fabs (tan (margin.angle) - 0.2) <= 2 * margin.u);
}

static void
wild_points_are_left_out (void **state)
{
  (void)state;
  WsReliefEdge edge;
  edge_points (0.2, 0.05, 8, 0.6, 0.1, &edge);
  for (guint i = 0; i < edge.points->len; i += 9)
    g_array_index (edge.points, WsPoint, i).y += 4;
  assert_near (tan (tangent_of (&edge).angle), 0.2, 0.002);
}

/* Over-exposed beyond the first 50 px, where the edge seems to lie 0.6 px off. */
static void
a_shift_by_clipping_is_told_from_slope (void **state)
{
  (void)state;
  WsReliefEdge edge;
  edge_points (0.2, 0.05, 8, 0.6, 0.1, &edge);
  for (guint i = 0; i < edge.points->len; i++)
  {
    WsPoint *p = &g_array_index (edge.points, WsPoint, i);
    if (p->x < 50)
      continue;
    p->y -= 0.6;
    g_array_index (edge.clipped, guint8, i) = 1;
  }
  const WsReliefTangent tangent = tangent_of (&edge);
  assert_near (tan (tangent.angle), 0.2, 0.003);
  assert_true (fabs (tan (tangent.angle) - 0.2) <= 2 * tangent.u);
}

static void
an_unclear_edge_leaves_the_corner_less_sure (void **state)
{
  (void)state;
  WsReliefEdge edge;
  edge_points (0.2, 0.1, 8, 0.6, 0.1, &edge);
  const WsReliefTangent clear = tangent_of (&edge);
  edge_points (0.2, 0.1, 8, 0.6, 0.1, &edge);
  edge.clarity = 8;
  assert_true (tangent_of (&edge).u_corner > 2 * clear.u_corner);
}

static void
few_points_are_refused (void **state)
{
  (void)state;
  WsReliefEdge edge;
  WsReliefTangent tangent;
  edge_points (0.2, 0.05, 8, 0.6, 0, &edge);
  g_array_set_size (edge.points, 20);
  assert_false (wsi_relief_tangent (&edge, &tangent));
  g_array_set_size (edge.points, 0);
  assert_false (wsi_relief_tangent (&edge, &tangent));
  wsi_relief_edge_clear (&edge);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (the_tangent_is_that_of_the_curve),
    cmocka_unit_test (what_lies_beyond_a_stain_tells_the_edge),
    cmocka_unit_test (a_body_without_a_step_has_none),
    cmocka_unit_test (a_margin_alone_is_less_sure),
    cmocka_unit_test (wild_points_are_left_out),
    cmocka_unit_test (a_shift_by_clipping_is_told_from_slope),
    cmocka_unit_test (an_unclear_edge_leaves_the_corner_less_sure),
    cmocka_unit_test (few_points_are_refused),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
