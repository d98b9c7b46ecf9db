#include "edge/find/segment.h"

#include "edge/testing.h"

#define WIDTH 600
#define HEIGHT 450

typedef struct
{
  guint x, y, width, height;
} Box;

/* Ground whose light falls by the part `fall` from left to right, with `noise`. */
static WsImage *
make_ground (double light, double fall, double noise)
{
  g_autoptr (GRand) random = g_rand_new_with_seed (1);
  WsImage *image = ws_image_new (WIDTH, HEIGHT, NULL);
  for (guint y = 0; y < HEIGHT; y++)
    for (guint x = 0; x < WIDTH; x++)
    {
      const double level =
        light * (1.0 - fall * x / WIDTH) + (noise > 0.0 ? noise * random_normal (random) : 0.0);
      image->linear[(gsize)y * WIDTH + x] =
        (guint16)(CLAMP (level, 0.0, 1.0) * WS_IMAGE_FULL_SCALE);
    }
  return image;
}

static void
put_box (WsImage *image, Box box, double light)
{
  for (guint y = box.y; y < box.y + box.height; y++)
    for (guint x = box.x; x < box.x + box.width; x++)
      image->linear[(gsize)y * WIDTH + x] = (guint16)(light * WS_IMAGE_FULL_SCALE);
}

static const Box tool = { 200, 120, 160, 330 };

static void
assert_inside (WsPoint p, Box box)
{
  assert_true (p.x > box.x + 10 && p.x < box.x + box.width - 10);
  assert_true (p.y > box.y + 10 && p.y < box.y + box.height);
}

static void
assert_trouble (const WsImage *image, WsRetake expected)
{
  g_auto (WsSegment) segment = wsi_segment_find (image);
  if (segment.trouble != expected)
    print_error ("%s (%s) instead of %s\n", ws_retake_code (segment.trouble), segment.detail,
                 ws_retake_code (expected));
  assert_int_equal (segment.trouble, expected);
  assert_true (segment.detail[0] != '\0');
}

static void
a_dark_tool_is_found (void **state)
{
  (void)state;
  g_autoptr (WsImage) image = make_ground (0.6, 0.0, 0.01);
  put_box (image, tool, 0.05);
  g_auto (WsSegment) segment = wsi_segment_find (image);
  assert_int_equal (segment.trouble, WS_RETAKE_NONE);
  assert_true (segment.tool_is_dark);
  assert_near (segment.ground_level, 0.6, 0.005);
  assert_near (segment.tool_level, 0.05, 0.002);
  assert_near (segment.area_px, tool.width * tool.height, 700);
  assert_true (segment.beside <= 0);
  assert_inside (segment.inside, tool);
  assert_near (wsi_level_at (&segment.threshold, image, 300, 200), 0.325, 0.005);
}

static void
a_bright_tool_is_found (void **state)
{
  (void)state;
  g_autoptr (WsImage) image = make_ground (0.04, 0.0, 0.003);
  put_box (image, tool, 0.5);
  g_auto (WsSegment) segment = wsi_segment_find (image);
  assert_int_equal (segment.trouble, WS_RETAKE_NONE);
  assert_false (segment.tool_is_dark);
  assert_near (segment.tool_level, 0.5, 0.002);
  assert_inside (segment.inside, tool);
}

/* Bars of hardly another light: with an outline, whichever way they lie. */
static void
faint_things_have_outlines_either_way (void **state)
{
  (void)state;
  const Box upright = { 200, 0, 160, HEIGHT }, lying = { 0, 140, WIDTH, 120 };
  for (guint i = 0; i < 2; i++)
  {
    g_autoptr (WsImage) image = make_ground (0.5, 0, 0);
    put_box (image, i == 0 ? upright : lying, 0.45);
    assert_trouble (image, WS_RETAKE_LOW_CONTRAST);
  }
}

/* What lies before a light is seen in it, and a dark tool's holes are its own. */
static void
dark_things_in_a_light_are_told (void **state)
{
  (void)state;
  const Box parts[] = { { 230, 150, 40, 260 }, { 300, 150, 30, 260 } };
  for (guint n = 0; n <= 2; n++)
  {
    g_autoptr (WsImage) image = make_ground (0.05, 0, 0.002);
    put_box (image, tool, 0.8);
    double dark = 0;
    for (guint i = 0; i < n; i++)
    {
      put_box (image, parts[i], 0.04);
      dark += (double)parts[i].width * parts[i].height;
    }
    g_auto (WsSegment) segment = wsi_segment_find (image);
    assert_int_equal (segment.trouble, WS_RETAKE_NONE);
    assert_false (segment.tool_is_dark);
    assert_near (segment.holes, dark / ((double)tool.width * tool.height), 0.03);
  }
  g_autoptr (WsImage) ring = make_ground (0.8, 0, 0.002);
  put_box (ring, tool, 0.05);
  put_box (ring, parts[0], 0.8);
  g_auto (WsSegment) segment = wsi_segment_find (ring);
  assert_true (segment.tool_is_dark && segment.holes == 0);
}

/* The dark end of the ground is darker than the threshold at the bright end. */
static void
the_threshold_follows_uneven_light (void **state)
{
  (void)state;
  g_autoptr (WsImage) image = make_ground (0.8, 0.6, 0.005);
  put_box (image, tool, 0.03);
  g_auto (WsSegment) segment = wsi_segment_find (image);
  assert_int_equal (segment.trouble, WS_RETAKE_NONE);
  assert_near (segment.area_px, tool.width * tool.height, 700);
  const double at[] = { 20.0, 300.0, 580.0 };
  for (gsize i = 0; i < G_N_ELEMENTS (at); i++)
    assert_near (wsi_level_at (&segment.threshold, image, at[i], 225),
                 0.5 * (0.8 * (1.0 - 0.6 * at[i] / WIDTH) + 0.03), 0.01);
}

/* Whole beside what the border cuts off, also for calibration. */
static void
a_neighbour_cut_off_is_left_out (void **state)
{
  (void)state;
  const Box whole = { 150, 80, 200, 240 }, cut = { WIDTH - 60, 60, 60, 250 };
  for (guint k = 0; k < 2; k++)
  {
    g_autoptr (WsImage) image = make_ground (0.6, 0.0, 0.01);
    put_box (image, k == 0 ? whole : tool, 0.05);
    put_box (image, cut, 0.05);
    if (k == 0)
      put_box (image, (Box){ 340, 300, 60, 60 }, 0.05); /* no rectangle any more */
    g_auto (WsSegment) segment = wsi_segment_find (image);
    assert_int_equal (segment.trouble, WS_RETAKE_NONE);
    assert_inside (segment.inside, k == 0 ? whole : tool);
    assert_near (segment.beside, 60 * 250 / (k == 0 ? 51000.0 : 160 * 330.0), 0.02);
    g_auto (WsSegment) backlit = wsi_segment_find_backlit (image);
    assert_int_equal (backlit.trouble, WS_RETAKE_NONE);
    assert_inside (backlit.inside, k == 0 ? whole : tool);
  }
}

static void
dust_is_no_second_tool (void **state)
{
  (void)state;
  g_autoptr (WsImage) image = make_ground (0.6, 0.1, 0.01);
  put_box (image, tool, 0.05);
  for (guint i = 0; i < 30; i++)
    put_box (image, (Box){ 5 + 6 * i, 20 + 13 * (i % 7), 4, 4 }, 0.05);
  assert_int_equal (wsi_segment_find (image).trouble, WS_RETAKE_NONE);
}

static void
an_empty_picture_has_no_tool (void **state)
{
  (void)state;
  g_autoptr (WsImage) even = make_ground (0.6, 0.0, 0.0);
  assert_trouble (even, WS_RETAKE_NO_TOOL);
  g_autoptr (WsImage) noisy = make_ground (0.6, 0.0, 0.01);
  assert_trouble (noisy, WS_RETAKE_NO_TOOL);
  g_autoptr (WsImage) speck = make_ground (0.6, 0.0, 0.01);
  put_box (speck, (Box){ 100, 100, 5, 5 }, 0.05);
  assert_trouble (speck, WS_RETAKE_NO_TOOL);
}

static void
two_tools_are_one_too_many (void **state)
{
  (void)state;
  g_autoptr (WsImage) image = make_ground (0.6, 0.0, 0.01);
  put_box (image, tool, 0.05);
  put_box (image, (Box){ 420, 200, 90, 250 }, 0.05);
  assert_trouble (image, WS_RETAKE_SEVERAL_TOOLS);
}

/* A bright tool on grey, a dark card beside it: the card alone is darker than the ground. */
static void
a_card_is_not_the_tool (void **state)
{
  (void)state;
  g_autoptr (WsImage) image = make_ground (0.35, 0.0, 0.01);
  put_box (image, (Box){ 60, 160, 260, 290 }, 0.6);
  put_box (image, (Box){ 420, 60, 100, 220 }, 0.03);
  for (guint i = 0; i < 8; i++)
    put_box (image, (Box){ 425 + 48 * (i % 2), 65 + 54 * (i / 2), 42, 46 }, 0.1 + 0.1 * i);
  g_auto (WsSegment) segment = wsi_segment_find (image);
  if (segment.trouble == WS_RETAKE_NONE)
    assert_inside (segment.inside, (Box){ 60, 160, 260, 290 });
  else
    assert_int_equal (segment.trouble, WS_RETAKE_DIRTY_EDGE);
}

static void
a_pin_is_no_second_tool (void **state)
{
  (void)state;
  g_autoptr (WsImage) image = make_ground (0.8, 0.1, 0.01);
  put_box (image, tool, 0.05);
  put_box (image, (Box){ 450, 80, 100, 260 }, 0.04);
  g_auto (WsSegment) segment = wsi_segment_find (image);
  assert_int_equal (segment.trouble, WS_RETAKE_NONE);
  assert_inside (segment.inside, tool);
}

static void
bad_light_is_told (void **state)
{
  (void)state;
  g_autoptr (WsImage) over = make_ground (1.0, 0.0, 0.0);
  put_box (over, tool, 0.1);
  assert_trouble (over, WS_RETAKE_OVER_EXPOSED);
  g_autoptr (WsImage) under = make_ground (0.006, 0.0, 0.0005);
  put_box (under, tool, 0.001);
  assert_trouble (under, WS_RETAKE_UNDER_EXPOSED);
  g_autoptr (WsImage) black = make_ground (0.0, 0.0, 0.0);
  assert_trouble (black, WS_RETAKE_UNDER_EXPOSED);
  g_autoptr (WsImage) faint = make_ground (0.4, 0.0, 0.003);
  put_box (faint, tool, 0.36);
  assert_trouble (faint, WS_RETAKE_LOW_CONTRAST);
}

/* For calibration: clipped light is no trouble but told, and a thing may take most of the border
 * and still be the dark one. */
static void
backlit_things_in_any_light (void **state)
{
  (void)state;
  g_autoptr (WsImage) over = make_ground (1.0, 0.0, 0.0);
  put_box (over, tool, 0.1);
  g_auto (WsSegment) clipped = wsi_segment_find_backlit (over);
  assert_int_equal (clipped.trouble, WS_RETAKE_NONE);
  assert_true (wsi_segment_is_clipped (&clipped));

  g_autoptr (WsImage) wide = make_ground (0.6, 0.0, 0.01);
  put_box (wide, (Box){ 0, 0, wide->width, wide->height * 4 / 5 }, 0.05);
  g_auto (WsSegment) most = wsi_segment_find_backlit (wide);
  assert_int_equal (most.trouble, WS_RETAKE_NONE);
  assert_false (wsi_segment_is_clipped (&most));
  assert_true (most.tool_is_dark && most.tool_level < 0.1);
}

/* Nothing to divide by, nothing beyond the border. */
static void
tiny_pictures_do_no_harm (void **state)
{
  (void)state;
  for (guint width = 1; width < 9; width++)
    for (guint height = 1; height < 9; height += 3)
    {
      g_autoptr (WsImage) image = ws_image_new (width, height, NULL);
      for (guint i = 0; i < width * height; i++)
        image->linear[i] = (guint16)(i % 2 * 40000);
      g_auto (WsSegment) segment = wsi_segment_find (image);
      assert_true (segment.trouble != WS_RETAKE_NONE || segment.area_px <= width * height);
    }
}

/* Brightly lit metal with dark stripes: the commonest light of the tool counts, and highlights are
 * no ground at full scale. */
static void
a_tool_on_both_sides_of_the_ground (void **state)
{
  (void)state;
  const struct
  {
    double stripe, light; /* share of its breadth */
    gboolean is_dark;
  } cases[] = { { 0.25, 0.04, FALSE }, { 0.75, 0.04, TRUE }, { 0.55, 0.15, TRUE } };
  for (guint k = 0; k < G_N_ELEMENTS (cases); k++)
  {
    g_autoptr (WsImage) image = make_ground (0.35, 0.0, 0.005);
    put_box (image, tool, 1.0);
    for (guint x = 0; x < tool.width; x += 20)
      put_box (image, (Box){ tool.x + x, tool.y, (guint)(20 * cases[k].stripe), tool.height },
               cases[k].light);
    g_auto (WsSegment) segment = wsi_segment_find_clipped (image);
    assert_int_equal (segment.trouble, WS_RETAKE_NONE);
    assert_non_null (segment.mask);
    assert_near (segment.area_px, tool.width * tool.height, 1500);
    assert_near (segment.ground_level, 0.35, 0.01);
    assert_near (segment.ground_clipped, 0, 1e-3);
    assert_int_equal (segment.tool_is_dark, cases[k].is_dark);
    guint wrong = 0;
    for (guint y = 0; y < HEIGHT; y++)
      for (guint x = 0; x < WIDTH; x++)
        wrong += segment.mask[y * WIDTH + x] != (x >= tool.x && x < tool.x + tool.width &&
                                                 y >= tool.y && y < tool.y + tool.height);
    assert_true (wrong < 700);
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (a_dark_tool_is_found),
    cmocka_unit_test (a_bright_tool_is_found),
    cmocka_unit_test (faint_things_have_outlines_either_way),
    cmocka_unit_test (dark_things_in_a_light_are_told),
    cmocka_unit_test (the_threshold_follows_uneven_light),
    cmocka_unit_test (a_neighbour_cut_off_is_left_out),
    cmocka_unit_test (dust_is_no_second_tool),
    cmocka_unit_test (an_empty_picture_has_no_tool),
    cmocka_unit_test (two_tools_are_one_too_many),
    cmocka_unit_test (a_card_is_not_the_tool),
    cmocka_unit_test (a_pin_is_no_second_tool),
    cmocka_unit_test (bad_light_is_told),
    cmocka_unit_test (backlit_things_in_any_light),
    cmocka_unit_test (tiny_pictures_do_no_harm),
    cmocka_unit_test (a_tool_on_both_sides_of_the_ground),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
