#include "edge/find/which_tool.h"

#include "base/geometry.h"
#include "base/testing.h"

#include <string.h>

#define WIDTH 320
#define HEIGHT 240
#define GROUND 0.35

/* Light of an even ground. */
static float *
make_ground (void)
{
  float *light = g_new (float, WIDTH *HEIGHT);
  for (guint i = 0; i < WIDTH * HEIGHT; i++)
    light[i] = (float)GROUND;
  return light;
}

/* A rectangle about (x, y), turned; of two levels in stripes across it. */
static void
put_bar (float *light, WsPoint at, double length, double breadth, double turn,
         const double level[2])
{
  for (guint v = 0; v < HEIGHT; v++)
    for (guint u = 0; u < WIDTH; u++)
    {
      const double dx = u - at.x, dy = v - at.y;
      const double a = dx * cos (turn) + dy * sin (turn), b = dy * cos (turn) - dx * sin (turn);
      if (fabs (a) <= length / 2 && fabs (b) <= breadth / 2)
        light[v * WIDTH + u] = (float)level[(int)floor (b / 7) & 1];
    }
}

/* The same with a point of 118 degrees upward. */
static void
put_drill (float *light, WsPoint at, double length, double breadth, double level)
{
  for (guint v = 0; v < HEIGHT; v++)
    for (guint u = 0; u < WIDTH; u++)
    {
      const double b = fabs (u - at.x), a = at.y + length / 2 - v;
      if (b <= breadth / 2 && a >= 0 && a <= length - b * 0.6)
        light[v * WIDTH + u] = (float)level;
    }
}

static const double dark[2] = { 0.02, 0.02 }, bright[2] = { 0.7, 0.7 }, mixed[2] = { 0.05, 0.9 };

/* The tool's number of cells; 0 when it is refused for `expected`. */
static guint
tool_area (const float *light, WsRetake expected)
{
  g_autoptr (WsThings) things = wsi_things_find (light, WIDTH, HEIGHT, NAN);
  WsRetake reason;
  char detail[96];
  const guint tool = wsi_things_tool (things, &reason, detail);
  if (reason != expected)
    print_error ("%s (%s)\n", ws_retake_code (reason), detail);
  assert_int_equal (reason, expected);
  assert_int_equal (tool == 0, expected != WS_RETAKE_NONE);
  assert_int_equal (detail[0] != '\0', expected != WS_RETAKE_NONE);
  return tool == 0 ? 0 : g_array_index (things->things, WsPatch, tool - 1).area;
}

/* Whatever the level, a card or pin of whatever levels beside it is none. */
static void
the_tool_comes_in_from_the_border (void **state)
{
  (void)state;
  const double *levels[] = { dark, bright, mixed };
  for (guint i = 0; i < 3; i++)
    for (guint k = 0; k < 3; k++)
      for (double turn = 0; turn < 3; turn += 0.37)
      {
        g_autofree float *light = make_ground ();
        put_bar (light, wsi_point (90, 200), 100, 120, 0, levels[i]);
        put_bar (light, wsi_point (240, 100), 110, 40, turn, levels[k]);
        assert_near (tool_area (light, WS_RETAKE_NONE), 101 * 100, 350);
      }
}

static void
a_second_tool_is_none_too_many (void **state)
{
  (void)state;
  g_autofree float *held = make_ground ();
  put_bar (held, wsi_point (90, 200), 100, 120, 0, dark);
  put_bar (held, wsi_point (240, 200), 60, 120, 0, bright);
  tool_area (held, WS_RETAKE_SEVERAL_TOOLS);

  g_autofree float *loose = make_ground ();
  put_drill (loose, wsi_point (90, 160), 160, 80, 0.02);
  put_drill (loose, wsi_point (240, 110), 150, 50, 0.02);
  tool_area (loose, WS_RETAKE_SEVERAL_TOOLS);
}

/* One that is whole beside one that the border cuts off, and two that it both cuts. */
static void
a_slice_of_a_neighbour_is_no_second_tool (void **state)
{
  (void)state;
  g_autofree float *whole = make_ground ();
  put_drill (whole, wsi_point (160, 110), 150, 80, 0.02);
  put_bar (whole, wsi_point (WIDTH, 110), 60, 150, 0, dark);
  assert_near (tool_area (whole, WS_RETAKE_NONE), 81 * (150 - 12), 350);
  put_bar (whole, wsi_point (WIDTH, 110), 120, 150, 0, dark);
  tool_area (whole, WS_RETAKE_SEVERAL_TOOLS);

  g_autofree float *held = make_ground ();
  put_bar (held, wsi_point (90, 200), 100, 180, 0, dark);
  put_bar (held, wsi_point (WIDTH, 100), 40, 120, 0, dark);
  assert_near (tool_area (held, WS_RETAKE_NONE), 101 * 130, 350);
  /* Another that comes in as the tool does isn't cut off. */
  put_bar (held, wsi_point (220, 220), 25, 100, 0, dark);
  tool_area (held, WS_RETAKE_SEVERAL_TOOLS);
}

static void
a_rectangle_alone_is_no_tool (void **state)
{
  (void)state;
  g_autofree float *light = make_ground ();
  put_bar (light, wsi_point (240, 100), 110, 40, 0.3, mixed);
  tool_area (light, WS_RETAKE_NO_TOOL);
  put_drill (light, wsi_point (90, 110), 150, 50, 0.02);
  tool_area (light, WS_RETAKE_SEVERAL_TOOLS);
}

static void
a_tool_may_lie_inside (void **state)
{
  (void)state;
  g_autofree float *light = make_ground ();
  put_drill (light, wsi_point (160, 110), 150, 50, 0.02);
  assert_near (tool_area (light, WS_RETAKE_NONE), 150 * 51, 700);
}

static void
nothing_is_nothing (void **state)
{
  (void)state;
  g_autofree float *even = make_ground ();
  tool_area (even, WS_RETAKE_NO_TOOL);
  /* Light that falls off to one side has no border. */
  for (guint i = 0; i < WIDTH * HEIGHT; i++)
    even[i] *= (float)(1 - 0.6 * (i % WIDTH) / WIDTH);
  tool_area (even, WS_RETAKE_NO_TOOL);
  for (guint width = 1; width < 5; width++)
  {
    g_autoptr (WsThings) tiny = wsi_things_find (even, width, 3, NAN);
    assert_true (tiny->things->len <= 3 * width);
  }
}

static void
uneven_light_is_ground (void **state)
{
  (void)state;
  g_autofree float *light = make_ground ();
  put_bar (light, wsi_point (90, 200), 100, 120, 0, dark);
  for (guint i = 0; i < WIDTH * HEIGHT; i++)
    light[i] *= (float)(2 - 1.2 * (i % WIDTH) / WIDTH);
  assert_near (tool_area (light, WS_RETAKE_NONE), 101 * 100, 350);
}

/* What fills the picture has no border that could be sharp. */
static void
a_thing_without_a_border_is_no_tool (void **state)
{
  (void)state;
  g_autofree float *light = make_ground ();
  g_autoptr (WsThings) things = wsi_things_find (light, WIDTH, HEIGHT, 0.9);
  assert_int_equal (things->things->len, 1);
  assert_int_equal (g_array_index (things->things, WsPatch, 0).area, WIDTH * HEIGHT);
  WsRetake reason;
  char detail[96];
  assert_int_equal (wsi_things_tool (things, &reason, detail), 0);
  assert_int_equal (reason, WS_RETAKE_NO_TOOL);
  assert_near (wsi_things_sharpness (things, 1), 0, 0);
}

/* 61 of 101 columns. */
static void
the_second_things_share_is_told (void **state)
{
  (void)state;
  g_autofree float *light = make_ground ();
  put_bar (light, wsi_point (90, 200), 100, 120, 0, dark);
  put_bar (light, wsi_point (240, 200), 60, 120, 0, dark);
  g_autoptr (WsThings) things = wsi_things_find (light, WIDTH, HEIGHT, NAN);
  WsRetake reason;
  char detail[96];
  assert_int_equal (wsi_things_tool (things, &reason, detail), 0);
  assert_string_equal (detail, "a second object has 60 % of the first one's area");
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (the_tool_comes_in_from_the_border),
    cmocka_unit_test (a_second_tool_is_none_too_many),
    cmocka_unit_test (a_slice_of_a_neighbour_is_no_second_tool),
    cmocka_unit_test (a_rectangle_alone_is_no_tool),
    cmocka_unit_test (a_tool_may_lie_inside),
    cmocka_unit_test (nothing_is_nothing),
    cmocka_unit_test (uneven_light_is_ground),
    cmocka_unit_test (a_thing_without_a_border_is_no_tool),
    cmocka_unit_test (the_second_things_share_is_told),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
