/*
 * The bar is drawn on a grey sheet that nothing else is drawn on.
 */
#include "report/picture/scale_bar.h"

#include "report/canvas.h"
#include "report/sample_for_tests.h"

/* A picture in the midst of the sheet. */
#define LEFT 20
#define TOP 30
#define WIDTH 600
#define HEIGHT 480
#define SHEET_WIDTH 640
#define SHEET_HEIGHT 540

static double unit;

static const WsColour ground = { 0.5, 0.5, 0.5 };

static gboolean
is_near (cairo_surface_t *surface, int x, int y, WsColour colour)
{
  const guchar *p =
    cairo_image_surface_get_data (surface) + y * cairo_image_surface_get_stride (surface) + 4 * x;
  const double bgr[] = { colour.b, colour.g, colour.r };
  for (int i = 0; i < 3; i++)
    if (fabs (p[i] - 255 * bgr[i]) > 2)
      return FALSE;
  return TRUE;
}

static cairo_surface_t *
draw (const Sample *sample, double factor, double width, WsScaleBar *bar)
{
  cairo_surface_t *surface =
    cairo_image_surface_create (CAIRO_FORMAT_RGB24, SHEET_WIDTH, SHEET_HEIGHT);
  const WsSheet sheet = { .cr = cairo_create (surface),
                          .factor = factor,
                          .x = LEFT,
                          .y = TOP,
                          .width = width,
                          .height = HEIGHT,
                          .unit = unit };
  wsi_canvas_box (sheet.cr, ground, 0, 0, SHEET_WIDTH, SHEET_HEIGHT);
  *bar = wsi_scale_bar_place (&sheet, &sample->report);
  wsi_scale_bar_draw (&sheet, bar);
  cairo_destroy (sheet.cr);
  cairo_surface_flush (surface);
  return surface;
}

static Sample *
without_marks (double mm_per_px)
{
  Sample *sample = sample_new (mm_per_px > 0);
  sample->optics.mm_per_px = mm_per_px;
  g_ptr_array_set_size (sample->result->marks, 0);
  return sample;
}

/* The length in mm is 1, 2 or 5 times a power of ten and at most a fifth of the picture's width; it
 * lies in the lower right corner. */
static void
test_lengths (void **state)
{
  (void)state;
  static const double cases[][2] = { /* mm per px of the picture, mm of the bar */
                                     { 0.0125, 0.1 },
                                     { 0.02, 0.2 },
                                     { 0.001, 0.01 },
                                     { 0.05, 0.5 },
                                     { 0.1, 1 }
  };
  for (gsize i = 0; i < G_N_ELEMENTS (cases); i++)
  {
    g_autoptr (Sample) sample = without_marks (cases[i][0]);
    WsScaleBar bar;
    /* Not ten, which a scale of tens would not tell. */
    cairo_surface_t *surface = draw (sample, 8, WIDTH, &bar);
    const int y = (int)(TOP + HEIGHT - 28 * unit);
    int left = 0, right = 0, from = 0, to = 0;
    for (int x = LEFT; x < LEFT + WIDTH; x++)
    {
      if (is_near (surface, x, y, ground))
        continue;
      from = from > 0 ? from : x;
      to = x + 1;
      if (!is_near (surface, x, y, WS_INK))
        continue;
      left = left > 0 ? left : x;
      right = x + 1;
    }
    assert_near (right - left, cases[i][1] / cases[i][0] * 8, 1.01);
    assert_near (bar.length, cases[i][1] / cases[i][0] * 8, 1e-9);
    /* On white, with room at both ends, inside the picture. */
    assert_true (left - from >= 14 * unit - 1.01);
    assert_near (left - from, to - right, 1.01);
    assert_near (to, LEFT + WIDTH - 14 * unit, 1.01);
    cairo_surface_destroy (surface);
  }
}

/* Nothing is drawn outside of its box, which is white within its margins on all sides: the words
 * never stick out, be the bar ever so short. */
static void
test_box (void **state)
{
  (void)state;
  static const double scales[] = { 0.0125, 0.00101, 0.0000249, 0 };
  static const double widths[] = { WIDTH, 300, 200 };
  for (gsize i = 0; i < G_N_ELEMENTS (scales); i++)
    for (gsize k = 0; k < G_N_ELEMENTS (widths); k++)
    {
      g_autoptr (Sample) sample = without_marks (scales[i]);
      WsScaleBar bar;
      cairo_surface_t *surface = draw (sample, 1, widths[k], &bar);
      const WsArea *box = &bar.box;
      guint n_ink = 0;
      assert_true (box->x >= LEFT && box->x + box->width <= LEFT + widths[k]);
      assert_true (box->y >= TOP && box->y + box->height <= TOP + HEIGHT);
      for (int y = 0; y < SHEET_HEIGHT; y++)
        for (int x = 0; x < SHEET_WIDTH; x++)
        {
          if (x + 1 <= box->x || x >= box->x + box->width || y + 1 <= box->y ||
              y >= box->y + box->height)
            assert_true (is_near (surface, x, y, ground));
          else if (is_near (surface, x, y, WS_INK))
          {
            n_ink++;
            assert_true (x > box->x + 4 * unit && x + 1 < box->x + box->width - 4 * unit);
          }
        }
      assert_true (n_ink > 100);
      cairo_surface_destroy (surface);
    }
}

/* Without a scale it says so. */
static void
test_no_scale (void **state)
{
  (void)state;
  g_autoptr (Sample) none = without_marks (0), some = without_marks (0.0125);
  WsScaleBar bar;
  cairo_surface_destroy (draw (none, 8, WIDTH, &bar));
  assert_string_equal (bar.label, "no scale");
  assert_near (bar.length, 0, 0);
  none->report.optics = NULL;
  cairo_surface_destroy (draw (none, 8, WIDTH, &bar));
  assert_string_equal (bar.label, "no scale");
  cairo_surface_destroy (draw (some, 8, WIDTH, &bar));
  assert_string_equal (bar.label, "0.1 mm");
}

/* Where an edge is, it isn't, as long as there is a corner without one. */
static void
test_corners (void **state)
{
  (void)state;
  static const WsPoint edges[][2] = { { { 50, 46 }, { 59, 46 } },
                                      { { 1, 46 }, { 9, 46 } },
                                      { { 50, 3 }, { 59, 3 } },
                                      { { 1, 3 }, { 9, 3 } } };
  static const gboolean right[] = { TRUE, FALSE, TRUE, FALSE, TRUE };
  static const gboolean low[] = { TRUE, TRUE, FALSE, FALSE, TRUE };
  for (guint n = 0; n <= G_N_ELEMENTS (edges); n++)
  {
    g_autoptr (Sample) sample = without_marks (0.0125);
    WsScaleBar bar;
    for (guint i = 0; i < n; i++)
      wsi_result_add_mark (sample->result, WS_MARK_EDGE_USED, "a", edges[i], 2);
    cairo_surface_destroy (draw (sample, 10, WIDTH, &bar));
    assert_int_equal (bar.box.x > LEFT + 0.5 * WIDTH, right[n]);
    assert_int_equal (bar.box.y > TOP + 0.5 * HEIGHT, low[n]);
  }
}

static int
thin_lines (void **state)
{
  (void)state;
  unit = 1;
  return 0;
}

static int
thick_lines (void **state)
{
  (void)state;
  unit = 1.5;
  return 0;
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_lengths),
    cmocka_unit_test (test_box),
    cmocka_unit_test (test_no_scale),
    cmocka_unit_test (test_corners),
  };
  return cmocka_run_group_tests (tests, thin_lines, NULL) +
         cmocka_run_group_tests (tests, thick_lines, NULL);
}
