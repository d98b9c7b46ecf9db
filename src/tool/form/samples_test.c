#include "tool/form/samples.h"

#include "base/testing.h"

#include "base/geometry.h"

static void
add (WsOutline *outline, WsPoint at, WsPoint normal)
{
  const WsEdgePoint p = { .x = at.x, .y = at.y, .nx = (float)normal.x, .ny = (float)normal.y };
  g_array_append_val (outline->points, p);
}

/* A slot 8 px wide, open above y = 100: its left wall goes on upward, the right one doesn't.  With
 * a blur of 1 px a scan line's window is 10 px long. */
static void
walls_of_a_narrow_slot_are_crowded (void **state)
{
  (void)state;
  g_autoptr (WsOutline) outline = g_new0 (WsOutline, 1);
  outline->points = g_array_new (FALSE, FALSE, sizeof (WsEdgePoint));
  outline->blur_px = 1;
  outline->spacing_px = 1;
  for (guint y = 0; y < 200; y++)
    add (outline, wsi_point (92, y), wsi_point (1, 0));
  for (guint y = 199; y >= 100; y--)
    add (outline, wsi_point (100, y), wsi_point (-1, 0));
  g_autoptr (GArray) samples = wsi_form_samples (outline);
  assert_int_equal (samples->len, 300);
  for (guint i = 0; i < samples->len; i++)
  {
    const WsFormSample *sample = &g_array_index (samples, WsFormSample, i);
    assert_near (sample->heading.x, 0, 1e-9);
    assert_near (sample->heading.y, i < 200 ? 1 : -1, 1e-9);
    if (fabs (sample->at.y - 100) > 5)
      assert_int_equal (sample->is_crowded, sample->at.y > 100);
    if (i > 0 && i != 199 && i != 200 && i + 1 < samples->len)
      assert_near (sample->length, 1, 1e-9);
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (walls_of_a_narrow_slot_are_crowded),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
