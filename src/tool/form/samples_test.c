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

/* An edge of 300 px whose scan lines misfit alike but along `from` to `to`. */
static GArray *
misfitting (guint from, guint to)
{
  g_autoptr (WsOutline) outline = g_new0 (WsOutline, 1);
  outline->points = g_array_new (FALSE, FALSE, sizeof (WsEdgePoint));
  outline->blur_px = 1;
  outline->spacing_px = 1;
  outline->noise = 0.004;
  for (guint x = 0; x < 300; x++)
  {
    add (outline, wsi_point (x, 50), wsi_point (0, -1));
    g_array_index (outline->points, WsEdgePoint, x).noise = x >= from && x < to ? 0.05f : 0.005f;
  }
  return wsi_form_samples (outline);
}

static guint
count_veiled (const GArray *samples, guint from, guint to)
{
  guint n = 0;
  for (guint i = from; i < to; i++)
    n += g_array_index (samples, WsFormSample, i).is_veiled ? 1 : 0;
  return n;
}

static void
a_film_is_a_veil_and_a_speck_is_none (void **state)
{
  (void)state;
  g_autoptr (GArray) film = misfitting (100, 200), speck = misfitting (100, 112);
  assert_int_equal (count_veiled (film, 110, 190), 80);
  assert_int_equal (count_veiled (film, 0, 90) + count_veiled (film, 210, 300), 0);
  assert_int_equal (count_veiled (speck, 0, 300), 0);
  g_autoptr (GArray) ends = misfitting (0, 30);
  assert_int_equal (count_veiled (ends, 0, 20), 20);
  assert_int_equal (count_veiled (ends, 40, 300), 0);
}

static guint
count_spoilt (const GArray *samples)
{
  guint n = 0;
  for (guint i = 0; i < samples->len; i++)
    n += g_array_index (samples, WsFormSample, i).is_spoilt ? 1 : 0;
  return n;
}

static void
a_pixel_spoils_its_scan_line_alone (void **state)
{
  (void)state;
  g_autoptr (GArray) pixel = misfitting (100, 101), speck = misfitting (100, 112),
                     last = misfitting (299, 300), none = misfitting (0, 0);
  assert_int_equal (count_spoilt (pixel), 1);
  assert_true (g_array_index (pixel, WsFormSample, 100).is_spoilt);
  assert_int_equal (count_spoilt (speck), 0);
  assert_int_equal (count_spoilt (last), 1);
  assert_int_equal (count_spoilt (none), 0);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (walls_of_a_narrow_slot_are_crowded),
    cmocka_unit_test (a_film_is_a_veil_and_a_speck_is_none),
    cmocka_unit_test (a_pixel_spoils_its_scan_line_alone),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
