#include "tool/pose.h"

#include "base/geometry.h"
#include "base/testing.h"
#include "image/decoder.h"
#include "result/build.h"

#include <string.h>

#define WIDTH 7
#define HEIGHT 5

/* Of which no two turns are alike. */
static WsImage *
picture (void)
{
  WsImage *image = ws_image_new (WIDTH, HEIGHT, NULL);
  image->rgb = g_malloc (3 * WIDTH * HEIGHT);
  for (guint i = 0; i < WIDTH * HEIGHT; i++)
  {
    image->linear[i] = (guint16)(1000 + 37 * i * i % 5000);
    for (guint k = 0; k < 3; k++)
      image->rgb[3 * i + k] = (guint8)(5 * i + k);
  }
  return image;
}

static WsImage *
laid (const WsImage *image, WsPose *pose)
{
  *pose = wsi_pose_of (image);
  return wsi_pose_lay (pose, image);
}

static void
all_turns_lie_alike (void **state)
{
  (void)state;
  g_autoptr (WsImage) first = NULL;
  guint as_they_came = 0;
  for (guint orientation = 1; orientation <= 8; orientation++)
  {
    g_autoptr (WsImage) image = picture ();
    assert_true (wsi_image_orient (image, orientation, NULL));
    WsPose pose;
    g_autoptr (WsImage) turned = laid (image, &pose);
    as_they_came += turned == NULL;
    if (turned == NULL)
      turned = g_steal_pointer (&image);
    if (first == NULL)
      first = g_steal_pointer (&turned);
    else
    {
      assert_int_equal (turned->width, first->width);
      assert_memory_equal (turned->linear, first->linear, 2 * WIDTH * HEIGHT);
      assert_memory_equal (turned->rgb, first->rgb, 3 * WIDTH * HEIGHT);
    }
  }
  assert_int_equal (as_they_came, 1);
}

/* Every pixel's place in the laid picture leads back to it. */
static void
places_lead_back (void **state)
{
  (void)state;
  for (guint orientation = 1; orientation <= 8; orientation++)
  {
    g_autoptr (WsImage) image = picture ();
    assert_true (wsi_image_orient (image, orientation, NULL));
    WsPose pose;
    g_autoptr (WsImage) turned = laid (image, &pose);
    const WsImage *seen = turned != NULL ? turned : image;
    for (guint y = 0; y < seen->height; y++)
      for (guint x = 0; x < seen->width; x++)
      {
        const WsPoint at = wsi_pose_back (&pose, wsi_point (x, y));
        assert_int_equal (image->linear[(guint)at.y * image->width + (guint)at.x],
                          seen->linear[y * seen->width + x]);
      }
  }
}

static void
results_are_laid_back (void **state)
{
  (void)state;
  static const WsQuantityInfo info = { "chip_depth", WS_UNIT_LENGTH, NULL, "Chip depth", "" };
  const WsPose pose = { .width = 40, .height = 30, .mirror_x = TRUE, .transpose = TRUE };
  const WsPoint at = wsi_point (3, 10), back = wsi_point (29, 3);
  g_autoptr (WsResult) result = wsi_result_new ("blade-face");
  WsQuantity *quantity = wsi_result_add_quantity (result, &info, TRUE);
  wsi_quantity_set_place (quantity, at);
  wsi_result_add_finding (result, "chip", g_strdup ("A chip."), &at);
  wsi_result_add_finding (result, "other", g_strdup ("Nowhere."), NULL);
  wsi_result_add_mark (result, WS_MARK_APEX, NULL, &at, 1);
  wsi_pose_lay_back (&pose, result);
  const WsMark *mark = g_ptr_array_index (result->marks, 0);
  const WsFinding *finding = g_ptr_array_index (result->findings, 0);
  const WsPoint places[] = { quantity->where_px, finding->where_px,
                             g_array_index (mark->points, WsPoint, 0) };
  for (guint i = 0; i < G_N_ELEMENTS (places); i++)
  {
    assert_near (places[i].x, back.x, 0);
    assert_near (places[i].y, back.y, 0);
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (all_turns_lie_alike),
    cmocka_unit_test (places_lead_back),
    cmocka_unit_test (results_are_laid_back),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
