#include "image/flood.h"

#include "base/testing.h"

#define W 8
#define H 5

/* Three patches: an L at the border, one cell that only meets it at a corner, and a ring. */
static const char *const picture = "##......"
                                   "#...###."
                                   "#...#.#."
                                   ".#..###."
                                   "........";

static void
read_mask (guint8 *mask)
{
  for (guint i = 0; i < W * H; i++)
    mask[i] = picture[i] == '#';
}

static void
patches_are_numbered_in_order (void **state)
{
  guint8 mask[W * H];
  guint labels[W * H];
  (void)state;
  read_mask (mask);
  g_autoptr (GArray) patches = wsi_flood_label (mask, W, H, labels);
  static const WsPatch expected[] = { { 4, 4, 0, 1, 0, 2 },
                                      { 8, 0, 4, 6, 1, 3 },
                                      { 1, 0, 1, 1, 3, 3 } };
  assert_int_equal (patches->len, G_N_ELEMENTS (expected));
  for (guint i = 0; i < patches->len; i++)
  {
    assert_int_equal (g_array_index (patches, WsPatch, i).area, expected[i].area);
    assert_int_equal (g_array_index (patches, WsPatch, i).touching, expected[i].touching);
    assert_int_equal (g_array_index (patches, WsPatch, i).left, expected[i].left);
    assert_int_equal (g_array_index (patches, WsPatch, i).right, expected[i].right);
    assert_int_equal (g_array_index (patches, WsPatch, i).top, expected[i].top);
    assert_int_equal (g_array_index (patches, WsPatch, i).bottom, expected[i].bottom);
  }
  assert_int_equal (labels[2 * W], 1);
  assert_int_equal (labels[1 * W + 5], 2);
  assert_int_equal (labels[3 * W + 1], 3);
  assert_int_equal (labels[2 * W + 5], 0);
}

/* Of cells with three values at random, some pictures one cell wide or high. */
static void
labels_are_those_of_floods (void **state)
{
  guint32 random = 3;
  (void)state;
  for (guint round = 0; round < 200; round++)
  {
    const guint w = 1 + round % 19, h = 1 + round / 19 % 11, n = w * h;
    guint8 mask[19 * 11];
    guint labels[19 * 11];
    for (guint i = 0; i < n; i++)
    {
      random = random * 1664525u + 1013904223u;
      mask[i] = (guint8)((random >> 24) % 4 % 3);
    }
    g_autoptr (GArray) patches = wsi_flood_label (mask, w, h, labels);
    g_auto (WsFlood) flood = { 0 };
    wsi_flood_init (&flood, w, h, wsi_flood_same_value, mask);
    guint number = 0;
    for (guint i = 0; i < n; i++)
      if (mask[i] && flood.marks[i] == 0)
      {
        const WsPatch patch = wsi_flood_from (&flood, i, ++number);
        assert_true (number <= patches->len);
        assert_memory_equal (&patch, &g_array_index (patches, WsPatch, number - 1), sizeof patch);
      }
    assert_int_equal (number, patches->len);
    assert_memory_equal (labels, flood.marks, n * sizeof *labels);
  }
}

/* Along each border, and where it reaches as far in. */
static void
a_slice_lies_along_the_border (void **state)
{
  (void)state;
  static const struct
  {
    WsPatch patch;
    gboolean is_slice;
  } cases[] = {
    { { 1, 1, 0, 2, 2, 6 }, TRUE },  { { 1, 1, 17, 19, 2, 6 }, TRUE },
    { { 1, 1, 5, 9, 0, 2 }, TRUE },  { { 1, 1, 5, 9, 7, 9 }, TRUE },
    { { 1, 1, 0, 4, 2, 6 }, FALSE }, { { 1, 1, 5, 9, 5, 9 }, FALSE },
    { { 1, 1, 0, 6, 2, 6 }, FALSE }, { { 1, 0, 1, 3, 2, 8 }, FALSE },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (cases); i++)
    assert_int_equal (wsi_patch_is_slice (&cases[i].patch, 20, 10), cases[i].is_slice);
}

/* What is marked stops a flood, and cells of the last one can be told from the rest. */
static void
a_flood_passes_what_joins_and_is_not_marked (void **state)
{
  guint8 mask[W * H];
  (void)state;
  read_mask (mask);
  g_auto (WsFlood) flood = { 0 };
  wsi_flood_init (&flood, W, H, wsi_flood_same_value, mask);
  assert_int_equal (wsi_flood_from (&flood, 2 * W + 5, 7).area, 1); /* within the ring */
  assert_int_equal (flood.marks[2 * W + 5], 7);
  const WsPatch ground = wsi_flood_from (&flood, 7, 8);
  assert_int_equal (ground.area, W * H - 4 - 8 - 1 - 1);
  assert_int_equal (ground.touching, 2 * (W + H) - 4 - 4);
  assert_int_equal (flood.reached->len, ground.area);
  assert_int_equal (g_array_index (flood.reached, guint, 0), 7);
  flood.marks[1] = 9; /* cuts the L */
  assert_int_equal (wsi_flood_from (&flood, 0, 10).area, 3);
}

static gboolean
within_two (gconstpointer data, guint from, guint to)
{
  const int *level = data;
  return ABS (level[from] - level[to]) <= 2;
}

/* A slope hangs together though its ends differ. */
static void
neighbours_are_compared_with_each_other (void **state)
{
  static const int level[6] = { 0, 2, 4, 9, 8, 30 };
  (void)state;
  g_auto (WsFlood) flood = { 0 };
  wsi_flood_init (&flood, 6, 1, within_two, level);
  assert_int_equal (wsi_flood_from (&flood, 2, 1).area, 3);
  assert_int_equal (wsi_flood_from (&flood, 4, 2).area, 2);
  assert_int_equal (flood.marks[5], 0);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (patches_are_numbered_in_order),
    cmocka_unit_test (labels_are_those_of_floods),
    cmocka_unit_test (a_slice_lies_along_the_border),
    cmocka_unit_test (a_flood_passes_what_joins_and_is_not_marked),
    cmocka_unit_test (neighbours_are_compared_with_each_other),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
