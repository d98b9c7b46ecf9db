#include "tool/drill/fixture.h"

#include "base/testing.h"

#include "base/geometry.h"

#include <math.h>

#define WIDTH 600
#define HEIGHT 500

/* A drill 100 px wide with a point of 118 degrees, upward, its chisel edge 30 px long at y = 60, or
 * one of 90 degrees that comes to a tip there, in a block that reaches from side to side below
 * `block_top`. */
typedef struct
{
  double block_top; /* HEIGHT: no block */
  guint turns;      /* quarter turns of the whole picture */
  gboolean one_side, is_sharp;
} Scene;

static double
point_at (const Scene *scene, double x)
{
  const double out = fabs (x - 300);
  return scene->is_sharp ? 60 + out : 60 + 0.6 * MAX (out - 15, 0);
}

static WsPoint
turned (WsPoint p, guint turns)
{
  for (guint k = 0; k < turns; k++)
    p = wsi_point (-p.y, p.x);
  return p;
}

static void
add (WsOutline *outline, const Scene *scene, WsPoint at, WsPoint normal, gboolean on_frame)
{
  const WsPoint p = turned (at, scene->turns), n = turned (normal, scene->turns);
  const WsEdgePoint point = {
    .x = p.x, .y = p.y, .nx = (float)n.x, .ny = (float)n.y, .on_frame = on_frame
  };
  g_array_append_val (outline->points, point);
}

/* From the lower left corner round with the tool on the right-hand side. */
static WsOutline *
outline_of (const Scene *scene)
{
  WsOutline *outline = g_new0 (WsOutline, 1);
  outline->points = g_array_new (FALSE, FALSE, sizeof (WsEdgePoint));
  const WsPoint left = { -1, 0 }, right = { 1, 0 }, up = { 0, -1 }, down = { 0, 1 };
  for (double y = HEIGHT; y > scene->block_top; y--)
    add (outline, scene, wsi_point (0, y), left, TRUE);
  for (double x = 0; x < 250 && scene->block_top < HEIGHT; x++)
    add (outline, scene, wsi_point (x, scene->block_top), up, FALSE);
  for (double y = scene->block_top; y > point_at (scene, 250); y--)
    add (outline, scene, wsi_point (250, y), left, FALSE);
  for (double x = 250; x < 350; x++)
    add (outline, scene, wsi_point (x, point_at (scene, x)), up, FALSE);
  for (double y = point_at (scene, 350); y < scene->block_top; y++)
    add (outline, scene, wsi_point (350, y), right, FALSE);
  for (double x = 350; x < WIDTH && scene->block_top < HEIGHT; x++)
    add (outline, scene, wsi_point (x, scene->block_top), up, FALSE);
  for (double y = scene->block_top; y < HEIGHT && !scene->one_side; y++)
    add (outline, scene, wsi_point (WIDTH - 1, y), right, TRUE);
  for (double x = WIDTH - 1; x > 0 && scene->block_top < HEIGHT; x--)
    add (outline, scene, wsi_point (x, HEIGHT - 1), down, TRUE);
  return outline;
}

/* Whichever way the tool points. */
static void
the_block_counts_as_the_border (void **state)
{
  (void)state;
  for (guint turns = 0; turns < 4; turns++)
  {
    const Scene scene = { .block_top = 350, .turns = turns };
    g_autoptr (WsOutline) outline = outline_of (&scene);
    assert_true (wsi_fixture_cut (outline));
    guint tool = 0, border = 0;
    double deepest = 0;
    for (guint i = 0; i < outline->points->len; i++)
    {
      const WsEdgePoint *p = &g_array_index (outline->points, WsEdgePoint, i);
      const WsPoint at = turned (wsi_point (p->x, p->y), 4 - turns);
      assert_true (at.x >= 250 && at.x <= 350);
      tool += p->on_frame ? 0 : 1;
      border += p->on_frame ? 1 : 0;
      if (!p->on_frame)
        deepest = MAX (deepest, at.y);
    }
    /* Steps of 4 px, and 6 px for what its edge spoils. */
    assert_true (deepest > 334 && deepest < 346);
    assert_true (tool > 580 && border > 100);
  }
}

/* From its tip on a cone doubles its width again and again: that is no fixture. */
static void
a_sharp_tip_is_not_cut_off (void **state)
{
  (void)state;
  const Scene scene = { .block_top = 350, .is_sharp = TRUE };
  g_autoptr (WsOutline) outline = outline_of (&scene);
  assert_true (wsi_fixture_cut (outline));
  double deepest = 0;
  for (guint i = 0; i < outline->points->len; i++)
  {
    const WsEdgePoint *p = &g_array_index (outline->points, WsEdgePoint, i);
    assert_true (p->x >= 250 && p->x <= 350);
    if (!p->on_frame)
      deepest = MAX (deepest, p->y);
  }
  assert_true (deepest > 334 && deepest < 346);
}

static void
without_a_block_nothing_is_cut (void **state)
{
  (void)state;
  const Scene scenes[] = { { .block_top = HEIGHT }, { .block_top = 350, .one_side = TRUE } };
  for (guint k = 0; k < G_N_ELEMENTS (scenes); k++)
  {
    g_autoptr (WsOutline) outline = outline_of (&scenes[k]);
    const guint n = outline->points->len;
    assert_false (wsi_fixture_cut (outline));
    assert_int_equal (outline->points->len, n);
  }
}

/* So near to the tip that it may be the point's own corners. */
static void
a_block_at_the_point_is_none (void **state)
{
  (void)state;
  const Scene scene = { .block_top = 120 };
  g_autoptr (WsOutline) outline = outline_of (&scene);
  assert_false (wsi_fixture_cut (outline));
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (the_block_counts_as_the_border),
    cmocka_unit_test (a_sharp_tip_is_not_cut_off),
    cmocka_unit_test (without_a_block_nothing_is_cut),
    cmocka_unit_test (a_block_at_the_point_is_none),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
