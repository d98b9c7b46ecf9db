#include "base/testing.h"

#include "base/geometry.h"
#include "tool/blade/blade.h"
#include "tool/blade/side_layout.h"

/* Corners of an outline in px, y down, the tool on the right-hand side of the walk. */
typedef struct
{
  WsPoint corners[10];
  guint n;
} Shape;

static WsBlade *
walk_of (const Shape *shape)
{
  WsOutline *outline = g_new0 (WsOutline, 1);
  outline->points = g_array_new (FALSE, FALSE, sizeof (WsEdgePoint));
  outline->spacing_px = 1;
  outline->blur_px = outline->blur_min_px = outline->blur_max_px = 1;
  WsBlade *blade = g_new0 (WsBlade, 1);
  blade->outline = outline;
  blade->path = g_array_new (FALSE, FALSE, sizeof (WsEdgePoint));
  for (guint e = 0; e < WS_BLADE_MAX_EDGES; e++)
    blade->edges[e].points = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  for (guint i = 0; i + 1 < shape->n; i++)
  {
    const WsPoint run = wsi_point_sub (shape->corners[i + 1], shape->corners[i]);
    const double length = wsi_point_length (run);
    for (guint k = 0; k < (guint)length; k++)
    {
      const WsPoint at = wsi_point_along (shape->corners[i], k / length, run);
      const WsEdgePoint p = { .x = at.x, .y = at.y, .noise = 0.01f, .step = 0.7f };
      g_array_append_val (blade->path, p);
    }
  }
  return blade;
}

static void
forget_walk (WsBlade *blade)
{
  WsOutline *outline = (WsOutline *)(gpointer)blade->outline;
  wsi_blade_free (blade);
  wsi_outline_free (outline);
}

static gboolean
find (const Shape *shape, WsSideLayout *layout)
{
  WsBlade *blade = walk_of (shape);
  const gboolean found = wsi_side_layout_find (blade, layout);
  forget_walk (blade);
  return found;
}

/* In a mirror the walk runs the other way. */
static Shape
mirrored (const Shape *shape)
{
  Shape turned = { .n = shape->n };
  for (guint i = 0; i < shape->n; i++)
  {
    const WsPoint p = shape->corners[shape->n - 1 - i];
    turned.corners[i] = wsi_point (1000 - p.x, p.y);
  }
  return turned;
}

static void
assert_roles (const WsSideLayout *layout, gint rear, gint top, gint front, gint base)
{
  assert_int_equal (layout->rear, rear);
  assert_int_equal (layout->top, top);
  assert_int_equal (layout->front, front);
  assert_int_equal (layout->base, base);
}

/* From the left along the top, a step down to what is ground, the tip, down the front. */
static const Shape open_shape = {
  { { 0, 200 }, { 400, 200 }, { 420, 240 }, { 700, 215 }, { 640, 800 } }, 5
};

static void
test_a_step_without_a_base (void **state)
{
  (void)state;
  WsSideLayout layout;
  assert_true (find (&open_shape, &layout));
  assert_roles (&layout, 0, 1, 2, WS_SIDE_NONE);
  assert_int_equal (layout.tip, 1);
  assert_false (layout.is_one_top);
  assert_true (layout.joints[0].is_step);
  assert_false (layout.joints[1].is_step);
  /* Clear of the step on either side. */
  assert_true (layout.joints[0].before < 400 && layout.joints[0].before > 300);
  assert_true (layout.joints[0].after > 445 && layout.joints[0].after < 520);
}

/* A front ground with two reliefs: the tip is the sharper corner, whichever way the walk goes, also
 * under a top that steps down. */
static void
test_two_reliefs (void **state)
{
  (void)state;
  static const Shape shape = { { { 0, 200 }, { 700, 215 }, { 670, 400 }, { 560, 800 }, { 0, 800 } },
                               5 };
  static const Shape stepped = { { { 0, 200 },
                                   { 400, 200 },
                                   { 420, 240 },
                                   { 700, 250 },
                                   { 670, 430 },
                                   { 560, 800 },
                                   { 0, 800 } },
                                 7 };
  const Shape left = mirrored (&shape), stepped_left = mirrored (&stepped);
  WsSideLayout layout;
  assert_true (find (&shape, &layout));
  assert_roles (&layout, WS_SIDE_NONE, 0, 1, 3);
  assert_int_equal (layout.heel, 2);
  assert_int_equal (layout.tip, 0);
  assert_int_equal (layout.foot, 2);
  assert_true (layout.joints[1].is_step);
  assert_true (find (&left, &layout));
  assert_roles (&layout, WS_SIDE_NONE, 3, 2, 0);
  assert_int_equal (layout.heel, 1);
  assert_int_equal (layout.tip, 2);
  assert_int_equal (layout.foot, 0);
  assert_true (find (&stepped, &layout));
  assert_roles (&layout, 0, 1, 2, 4);
  assert_int_equal (layout.heel, 3);
  assert_true (find (&stepped_left, &layout));
  assert_roles (&layout, 4, 3, 2, 0);
  assert_int_equal (layout.heel, 1);
  assert_int_equal (layout.foot, 0);
}

static void
test_a_blade_that_points_left (void **state)
{
  (void)state;
  WsSideLayout layout;
  const Shape shape = mirrored (&open_shape);
  assert_true (find (&shape, &layout));
  assert_roles (&layout, 2, 1, 0, WS_SIDE_NONE);
  assert_int_equal (layout.tip, 0);
}

/* A rise of 150 px and more is still none of the edges. */
static void
test_a_high_step (void **state)
{
  (void)state;
  const Shape shape = { { { 0, 200 }, { 400, 200 }, { 500, 330 }, { 800, 270 }, { 740, 900 } }, 5 };
  WsSideLayout layout;
  assert_true (find (&shape, &layout));
  assert_roles (&layout, 0, 1, 2, WS_SIDE_NONE);
}

static void
test_a_step_and_a_base (void **state)
{
  (void)state;
  const Shape shape = {
    { { 0, 200 }, { 400, 200 }, { 420, 240 }, { 700, 215 }, { 640, 600 }, { 0, 600 } }, 6
  };
  WsSideLayout layout;
  assert_true (find (&shape, &layout));
  assert_roles (&layout, 0, 1, 2, 3);
  assert_int_equal (layout.tip, 1);
  assert_int_equal (layout.foot, 2);
  const Shape other = mirrored (&shape);
  assert_true (find (&other, &layout));
  assert_roles (&layout, 3, 2, 1, 0);
  assert_int_equal (layout.tip, 1);
  assert_int_equal (layout.foot, 0);
}

/* A ground stretch of 40 px against a top of 600: the top's line alone would say no rake. */
static void
test_a_short_ground_stretch (void **state)
{
  (void)state;
  const Shape shape = {
    { { 0, 200 }, { 600, 200 }, { 603, 206 }, { 643, 203 }, { 590, 600 }, { 0, 600 } }, 6
  };
  WsSideLayout layout;
  assert_true (find (&shape, &layout));
  assert_roles (&layout, 0, 1, 2, 3);
}

/* The wider one is the top, whichever comes first. */
static void
test_a_plain_top (void **state)
{
  (void)state;
  const Shape shape = { { { 0, 210 }, { 800, 200 }, { 740, 900 } }, 3 };
  WsSideLayout layout;
  assert_true (find (&shape, &layout));
  assert_true (layout.is_one_top);
  assert_roles (&layout, 0, 1, 2, WS_SIDE_NONE);
  const Shape other = mirrored (&shape);
  assert_true (find (&other, &layout));
  assert_true (layout.is_one_top);
  assert_roles (&layout, 2, 1, 0, WS_SIDE_NONE);
}

/* A chip in the front and a worn tip don't hide the layout. */
static void
test_damage_is_no_edge (void **state)
{
  (void)state;
  const Shape shape = { { { 0, 200 },
                          { 400, 200 },
                          { 420, 240 },
                          { 680, 217 },
                          { 695, 240 },
                          { 670, 500 },
                          { 630, 515 },
                          { 667, 530 },
                          { 641, 800 } },
                        9 };
  WsSideLayout layout;
  assert_true (find (&shape, &layout));
  assert_roles (&layout, 0, 1, 2, WS_SIDE_NONE);
}

static void
test_the_usual_and_others_are_left_alone (void **state)
{
  (void)state;
  const Shape others[] = {
    { { { 0, 200 }, { 700, 200 }, { 640, 600 }, { 0, 600 } }, 4 },               /* usual */
    { { { 0, 200 }, { 700, 200 } }, 2 },                                         /* no corner */
    { { { 0, 200 }, { 300, 200 }, { 450, 400 }, { 300, 600 }, { 0, 600 } }, 5 }, /* a drill */
    { { { 0, 200 }, { 300, 200 }, { 300, 500 }, { 900, 500 }, { 900, 900 } }, 5 },
  };
  WsSideLayout layout;
  for (gsize i = 0; i < G_N_ELEMENTS (others); i++)
    assert_false (find (&others[i], &layout));
}

/* A film of oil ends where a base of 600 px goes on 2 px lower, and a little aslant. */
static void
test_a_film_on_the_base_is_no_step (void **state)
{
  (void)state;
  const Shape shape = {
    { { 0, 200 }, { 700, 200 }, { 640, 600 }, { 300, 600 }, { 298, 602 }, { 0, 606 } }, 6
  };
  const Shape other = mirrored (&shape);
  WsSideLayout layout;
  assert_false (find (&shape, &layout));
  assert_false (find (&other, &layout));
  /* A ground step is one, whatever the front's relief. */
  const Shape ground = {
    { { 0, 200 }, { 400, 200 }, { 402, 180 }, { 700, 200 }, { 760, 600 }, { 0, 600 } }, 6
  };
  assert_true (find (&ground, &layout));
  assert_roles (&layout, 0, 1, 2, 3);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_a_step_without_a_base),
    cmocka_unit_test (test_two_reliefs),
    cmocka_unit_test (test_a_blade_that_points_left),
    cmocka_unit_test (test_a_high_step),
    cmocka_unit_test (test_a_step_and_a_base),
    cmocka_unit_test (test_a_short_ground_stretch),
    cmocka_unit_test (test_a_plain_top),
    cmocka_unit_test (test_damage_is_no_edge),
    cmocka_unit_test (test_a_film_on_the_base_is_no_step),
    cmocka_unit_test (test_the_usual_and_others_are_left_alone),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
