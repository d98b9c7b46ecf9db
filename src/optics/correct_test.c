#include "optics/correct.h"

#include "base/geometry.h"
#include "base/testing.h"

/* The outline of a disc, normals outward (the tool is dark). */
static WsOutline *
disc (WsPoint centre, double radius)
{
  WsOutline *outline = g_new0 (WsOutline, 1);
  outline->points = g_array_new (FALSE, FALSE, sizeof (WsEdgePoint));
  for (guint i = 0; i < 60; i++)
  {
    const double a = G_PI * i / 30;
    const WsEdgePoint point = { .x = centre.x + radius * cos (a),
                                .y = centre.y + radius * sin (a),
                                .nx = (float)cos (a),
                                .ny = (float)sin (a) };
    g_array_append_val (outline->points, point);
  }
  return outline;
}

static void
nothing_without_a_lens (void **state)
{
  (void)state;
  g_autoptr (WsOutline) outline = disc (wsi_point (300, 300), 100);
  const WsOptics plain = { .has_scale = TRUE, .mm_per_px = 0.01, .u_mm_per_px = 0, .lens = NULL };
  wsi_optics_correct (&plain, outline);
  assert_near (g_array_index (outline->points, WsEdgePoint, 0).x, 400, 0);
}

/* Bloom makes a dark disc too small by the edge shift all around. */
static void
edge_shift_moves_outward (void **state)
{
  (void)state;
  const WsLens lens = {
    .model = WS_LENS_TELECENTRIC, .width = 800, .height = 600, .parameters = { 0.36, 0.0174, 0 }
  };
  g_autoptr (WsOutline) outline = disc (wsi_point (300, 300), 100);
  const WsOptics optics = ws_optics_of_lens (&lens);
  wsi_optics_correct (&optics, outline);
  for (guint i = 0; i < outline->points->len; i++)
  {
    const WsEdgePoint *p = &g_array_index (outline->points, WsEdgePoint, i);
    assert_near (hypot (p->x - 300, p->y - 300), 100.36, 1e-5);
    assert_near (p->nx * (p->x - 300) + p->ny * (p->y - 300), 100.36, 1e-4);
  }
}

/* A straight edge seen through barrel distortion comes out straight, its normals square to it. */
static void
a_bent_line_comes_out_straight (void **state)
{
  (void)state;
  const WsLens lens = { .model = WS_LENS_PINHOLE,
                        .width = 1600,
                        .height = 1200,
                        .parameters = { 0, 9725, 9725, 799.5, 599.5, 2.75, 24, 0, 0, 0, 0, 0, 0, -8,
                                        -6, 131.6 } };
  const WsOptics optics = ws_optics_of_lens (&lens);
  const WsPoint along = { cos (0.5), sin (0.5) };
  g_autoptr (WsOutline) outline = disc (wsi_point (0, 0), 1);
  for (guint i = 0; i < outline->points->len; i++)
  {
    WsEdgePoint *p = &g_array_index (outline->points, WsEdgePoint, i);
    const WsPoint ideal = wsi_point_along (wsi_point (250, 200), 15.0 * i, along);
    const WsPoint seen = ws_lens_to_picture (&lens, ideal);
    const WsPoint next =
      ws_lens_to_picture (&lens, wsi_point_along (wsi_point (250, 200), 15.0 * i + 1, along));
    const WsPoint run = wsi_point_sub (next, seen);
    *p = (WsEdgePoint){ .x = seen.x,
                        .y = seen.y,
                        .nx = (float)(run.y / wsi_point_length (run)),
                        .ny = (float)(-run.x / wsi_point_length (run)) };
  }
  wsi_optics_correct (&optics, outline);
  for (guint i = 0; i < outline->points->len; i++)
  {
    const WsEdgePoint *p = &g_array_index (outline->points, WsEdgePoint, i);
    const WsPoint off = wsi_point_sub (wsi_point (p->x, p->y), wsi_point (250, 200));
    assert_near (wsi_point_cross (along, off), 0, 1e-6);
    assert_near (p->nx * along.y - p->ny * along.x, 1, 1e-6);
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (nothing_without_a_lens),
    cmocka_unit_test (edge_shift_moves_outward),
    cmocka_unit_test (a_bent_line_comes_out_straight),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
