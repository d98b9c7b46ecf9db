/*
 * The panels are drawn on sheets of their own, larger than they are: where things lie is read from
 * the pixels, what is written from a PDF of the same.
 */
#include "report/picture/panel.h"

#include <cairo-pdf.h>
#include <glib/gstdio.h>

#include "optics/calibration.h"
#include "report/canvas.h"
#include "report/sample_for_tests.h"

#define SHEET_WIDTH 2200
#define SHEET_HEIGHT 500

/* Columns of 1000 px, which have their gauges at 815 .. 935. */
#define LEFT 40
#define TOP 30
#define WIDTH 2100
#define FIRST (LEFT + 28)
#define SECOND (FIRST + 1000 + 44)
#define GAUGE 815
#define ROW 48 /* with limits */
#define BARE_ROW 33

/* Sheet px of a line of normal width: everything grows with it. */
static double unit;

/* Places in units; counts in squares of them. */
typedef struct
{
  double left, right, top, bottom; /* what has the colour, ends not included */
  double n;
} Found;

static Found
find (cairo_surface_t *surface, WsColour colour, int x0, int x1, int y0, int y1)
{
  Found found = { HUGE_VAL, 0, HUGE_VAL, 0, 0 };
  const guchar *pixels = cairo_image_surface_get_data (surface);
  const double bgr[] = { colour.b, colour.g, colour.r };
  for (int y = (int)(y0 * unit); y < y1 * unit; y++)
    for (int x = (int)(x0 * unit); x < x1 * unit; x++)
    {
      const guchar *p = pixels + y * cairo_image_surface_get_stride (surface) + 4 * x;
      gboolean is_it = TRUE;
      for (int i = 0; i < 3; i++)
        is_it = is_it && fabs (p[i] - 255 * bgr[i]) < 2;
      if (!is_it)
        continue;
      found.left = fmin (found.left, x / unit);
      found.right = fmax (found.right, (x + 1) / unit);
      found.top = fmin (found.top, y / unit);
      found.bottom = fmax (found.bottom, (y + 1) / unit);
      found.n += 1 / (unit * unit);
    }
  return found;
}

static cairo_surface_t *
draw (const Sample *sample, double (*part) (const WsPanel *panel, const WsReport *report),
      double *height)
{
  cairo_surface_t *surface = cairo_image_surface_create (
    CAIRO_FORMAT_RGB24, (int)(SHEET_WIDTH * unit), (int)(SHEET_HEIGHT * unit));
  cairo_t *cr = cairo_create (surface);
  wsi_canvas_box (cr, WS_WHITE, 0, 0, SHEET_WIDTH * unit, SHEET_HEIGHT * unit);
  const WsPanel panel = { cr, LEFT * unit, TOP * unit, WIDTH * unit, unit };
  *height = part (&panel, &sample->report) / unit;
  cairo_destroy (cr);
  cairo_surface_flush (surface);
  return surface;
}

/* Without advice: the table begins 20 below the panel's top. */
static Sample *
plain_new (void)
{
  Sample *sample = sample_new (TRUE);
  g_ptr_array_set_size (sample->result->advice, 0);
  sample->result->work = WS_WORK_NONE;
  for (guint i = 1; i < sample->result->quantities->len; i++)
  {
    WsQuantity *quantity = g_ptr_array_index (sample->result->quantities, i);
    quantity->known = FALSE;
    quantity->verdict = WS_VERDICT_NONE;
  }
  return sample;
}

static WsQuantity *
quantity_of (const Sample *sample, guint i)
{
  return g_ptr_array_index (sample->result->quantities, i);
}

static void
set (WsQuantity *quantity, double value, double U, double lower, double upper)
{
  quantity->known = TRUE;
  quantity->value = value;
  quantity->U = U;
  quantity->lower = lower;
  quantity->upper = upper;
}

/* In a gauge's parts from its left end, px of 120. */
typedef struct
{
  Found needle, bar, band;
} Gauge;

static Gauge
gauge_of (const Sample *sample, int column, int row, WsVerdict verdict)
{
  double height;
  cairo_surface_t *surface = draw (sample, wsi_panel_draw_values, &height);
  const int x = column + GAUGE, middle = TOP + 20 + row * ROW + ROW / 2;
  const Gauge gauge = {
    find (surface, WS_INK, x - 10, x + 130, middle - 16, middle + 16),
    find (surface, wsi_canvas_verdict_colour (verdict), x - 10, x + 130, middle + 2, middle + 3),
    find (surface, WS_PALE, x - 10, x + 130, middle + 7, middle + 8),
  };
  cairo_surface_destroy (surface);
  return gauge;
}

/* A value at the lower limit stands at the band's left end, one at the upper limit at its right. */
static void
test_needles (void **state)
{
  (void)state;
  static const double cases[][2] = { { 10, 24 },   { 20, 96 },   { 15, 60 },
                                     { 12.5, 42 }, { 1e6, 120 }, { -1e6, 0 } };
  g_autoptr (Sample) sample = plain_new ();
  for (gsize i = 0; i < G_N_ELEMENTS (cases); i++)
  {
    set (quantity_of (sample, 0), cases[i][0], 2.5, 10, 20);
    const Gauge gauge = gauge_of (sample, FIRST, 0, WS_VERDICT_REJECT);
    assert_true (gauge.needle.n > 100);
    assert_near (0.5 * (gauge.needle.left + gauge.needle.right) - FIRST - GAUGE, cases[i][1], 0.6);
    /* It stands out of the band above and below. */
    const double middle = 0.5 * (gauge.needle.top + gauge.needle.bottom);
    assert_near (middle, TOP + 20 + 0.5 * ROW, 0.6);
    assert_true (gauge.needle.bottom - gauge.needle.top > 18);
  }
}

/* The bar goes from U below the value to U above it, in the verdict's colour. */
static void
test_bars_and_bands (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = plain_new ();
  set (quantity_of (sample, 0), 15, 2.5, 10, 20);
  for (int verdict = WS_VERDICT_ACCEPT; verdict <= WS_VERDICT_REJECT; verdict++)
  {
    quantity_of (sample, 0)->verdict = (WsVerdict)verdict;
    const Gauge gauge = gauge_of (sample, FIRST, 0, (WsVerdict)verdict);
    assert_near (gauge.bar.left - FIRST - GAUGE, 42, 1);
    assert_near (gauge.bar.right - FIRST - GAUGE, 78, 1);
    assert_near (gauge.band.left - FIRST - GAUGE, 24, 1);
    assert_near (gauge.band.right - FIRST - GAUGE, 96, 1);
  }
  /* Without a lower limit from 0 on: 5 of 10 is halfway between 1/5 and 4/5. */
  set (quantity_of (sample, 0), 5, 2.5, -INFINITY, 10);
  const Gauge open = gauge_of (sample, FIRST, 0, WS_VERDICT_REJECT);
  assert_near (0.5 * (open.needle.left + open.needle.right) - FIRST - GAUGE, 60, 0.6);
  assert_near (open.band.left - FIRST - GAUGE, 0, 1);
  assert_near (open.band.right - FIRST - GAUGE, 96, 1);
}

/* What has no upper limit, or isn't known, has no gauge; rows of the second half stand right. */
static void
test_where_gauges_are (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = plain_new ();
  static const double without[][4] = { { 15, 2.5, 10, INFINITY },
                                       { 15, INFINITY, 10, 20 },
                                       { 15, 2.5, 20, 20 } };
  for (gsize i = 0; i < G_N_ELEMENTS (without); i++)
  {
    set (quantity_of (sample, 0), without[i][0], without[i][1], without[i][2], without[i][3]);
    const Gauge gauge = gauge_of (sample, FIRST, 0, WS_VERDICT_REJECT);
    assert_near (gauge.needle.n + gauge.bar.n + gauge.band.n, 0, 0);
  }
  const int places[][2] = {
    { FIRST, 0 }, { FIRST, 1 }, { FIRST, 2 }, { SECOND, 0 }, { SECOND, 1 }
  };
  for (guint i = 0; i < G_N_ELEMENTS (places); i++)
  {
    for (guint k = 0; k < G_N_ELEMENTS (places); k++)
    {
      set (quantity_of (sample, k), 15, 2.5, 10, 20);
      quantity_of (sample, k)->known = k == i;
    }
    for (guint k = 0; k < G_N_ELEMENTS (places); k++)
      assert_int_equal (
        gauge_of (sample, places[k][0], places[k][1], WS_VERDICT_REJECT).needle.n > 0, k == i);
  }
}

/* The verdict's shape at a row's end in its colour; none without a verdict. */
static void
test_shapes (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = plain_new ();
  double height;
  for (int verdict = WS_VERDICT_NONE; verdict <= WS_VERDICT_REJECT; verdict++)
  {
    quantity_of (sample, 0)->verdict = (WsVerdict)verdict;
    cairo_surface_t *surface = draw (sample, wsi_panel_draw_values, &height);
    for (int other = WS_VERDICT_ACCEPT; other <= WS_VERDICT_REJECT; other++)
    {
      const Found shape = find (surface, wsi_canvas_verdict_colour ((WsVerdict)other), FIRST + 960,
                                FIRST + 1000, TOP + 20, TOP + 20 + ROW);
      assert_int_equal (shape.n > 60, other == verdict);
      if (other != verdict)
        continue;
      assert_near (0.5 * (shape.left + shape.right), FIRST + 980, 2);
      assert_near (0.5 * (shape.top + shape.bottom), TOP + 20 + 0.5 * ROW, 4);
    }
    cairo_surface_destroy (surface);
  }
}

/* A row more for every other quantity, higher with limits; what lies below advice moves down as
 * much as the panel grows by it. */
static void
test_heights (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = plain_new ();
  double five, four, three, advised;
  cairo_surface_t *surface = draw (sample, wsi_panel_draw_values, &five);
  const Found high = find (surface, WS_INK, FIRST + GAUGE, FIRST + GAUGE + 120, 0, SHEET_HEIGHT);
  cairo_surface_destroy (surface);
  g_ptr_array_add (sample->result->advice, g_strdup ("Grind lip a 1.5° sharper."));
  surface = draw (sample, wsi_panel_draw_values, &advised);
  const Found low = find (surface, WS_INK, FIRST + GAUGE, FIRST + GAUGE + 120, 0, SHEET_HEIGHT);
  const Found bullet = find (surface, WS_INK, FIRST, FIRST + 20, TOP + 20, TOP + 50);
  cairo_surface_destroy (surface);
  assert_true (advised > five + 30);
  assert_near (low.top - high.top, advised - five, 1);
  assert_near (bullet.right - bullet.left, bullet.bottom - bullet.top, 0);
  assert_near (bullet.left, FIRST, 0);

  g_ptr_array_set_size (sample->result->advice, 0);
  g_ptr_array_set_size (sample->result->quantities, 4);
  cairo_surface_destroy (draw (sample, wsi_panel_draw_values, &four));
  g_ptr_array_set_size (sample->result->quantities, 3);
  cairo_surface_destroy (draw (sample, wsi_panel_draw_values, &three));
  /* Left and right: limits have the first and the last two of four. */
  assert_near (five - four, ROW + BARE_ROW + ROW - 2 * ROW, 1e-9);
  assert_near (four - three, 2 * ROW - (ROW + BARE_ROW), 1e-9);
}

/* Paragraphs stand clear of each other. */
static void
test_paragraphs (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = plain_new ();
  double one, two, width, line;
  g_ptr_array_add (sample->result->advice, g_strdup ("Grind."));
  cairo_surface_t *surface = draw (sample, wsi_panel_draw_values, &one);
  cairo_t *cr = cairo_create (surface);
  const WsTextStyle style = { .size = 24 };
  wsi_canvas_measure (cr, &style, "Grind.", &width, &line);
  cairo_destroy (cr);
  cairo_surface_destroy (surface);
  g_ptr_array_add (sample->result->advice, g_strdup ("Grind."));
  cairo_surface_destroy (draw (sample, wsi_panel_draw_values, &two));
  assert_true (two - one > line);
  assert_true (two - one < 2 * line);
}

/* A value with a verdict is bold, so it takes more room; both end at the same place. */
static void
test_judged_values_are_bold (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = plain_new ();
  Found value[2];
  for (int judged = 0; judged < 2; judged++)
  {
    double height;
    quantity_of (sample, 0)->verdict = judged ? WS_VERDICT_ACCEPT : WS_VERDICT_NONE;
    cairo_surface_t *surface = draw (sample, wsi_panel_draw_values, &height);
    value[judged] = find (surface, WS_INK, FIRST + 500, FIRST + 790, TOP + 20, TOP + 20 + ROW);
    cairo_surface_destroy (surface);
  }
  assert_true (value[1].n > value[0].n);
  assert_true (value[1].left < value[0].left);
  assert_near (value[0].right, FIRST + 780, 8);
  assert_near (value[1].right, value[0].right, 3);
}

/* A long name of a tool stands beside the verdict, not on it. */
static void
test_long_names (void **state)
{
  (void)state;
  Found word[2], name;
  for (int is_long = 0; is_long < 2; is_long++)
  {
    g_autoptr (Sample) sample = plain_new ();
    double height;
    sample->result->verdict = WS_VERDICT_RETAKE;
    g_free (sample->card->id);
    sample->card->id = is_long ? g_strnfill (120, 'M') : g_strdup ("");
    cairo_surface_t *surface = draw (sample, wsi_panel_draw_verdict, &height);
    /* Between the verdict's word and the name. */
    word[is_long] = find (surface, WS_WHITE, LEFT + 150, 645, TOP, TOP + 118);
    name = find (surface, WS_WHITE, 645, LEFT + WIDTH, TOP, TOP + 56);
    cairo_surface_destroy (surface);
  }
  assert_near (word[0].right, word[1].right, 0);
  assert_near (word[0].n, word[1].n, 0);
  assert_true (name.left < 720);
  assert_true (name.right <= LEFT + WIDTH - 28 + 1);
}

/* The reason fits into the head, be it as long as it may, and begins below the verdict. */
static void
test_reasons_fit (void **state)
{
  (void)state;
  for (guint n = 1; n <= 65; n += 8)
  {
    g_autoptr (Sample) sample = plain_new ();
    double height;
    for (guint i = 0; i < n; i++)
    {
      WsQuantity *quantity = wsi_result_add_quantity (sample->result, &sample_infos[3], TRUE);
      sample_set (quantity, 1, 0.01, WS_VERDICT_REJECT);
      sample_limit (quantity, 0, 0.1, "tool card");
    }
    cairo_surface_t *surface = draw (sample, wsi_panel_draw_verdict, &height);
    const Found words =
      find (surface, WS_WHITE, LEFT + 170, LEFT + 1200, TOP + 121, (int)(TOP + height));
    cairo_surface_destroy (surface);
    assert_true (words.n > 300);
    assert_true (words.top >= TOP + 122);
    assert_true (words.bottom < TOP + height - 2);
  }
}

/* A long label gets smaller: it stays clear of its value. */
static void
test_labels_beside_values (void **state)
{
  (void)state;
  static const WsQuantityInfo info = { "long", WS_UNIT_LENGTH, NULL,
                                       "MMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMM", "" };
  static const WsQuantityInfo bare = { "bare", WS_UNIT_LENGTH, NULL, "", "" };
  Found ink[2];
  for (int labelled = 0; labelled < 2; labelled++)
  {
    g_autoptr (Sample) sample = plain_new ();
    double height;
    g_ptr_array_set_size (sample->result->quantities, 0);
    WsQuantity *quantity = wsi_result_add_quantity (sample->result, labelled ? &info : &bare, TRUE);
    sample_set (quantity, 6.4912, 0.0021, WS_VERDICT_NONE);
    cairo_surface_t *surface = draw (sample, wsi_panel_draw_values, &height);
    ink[labelled] = find (surface, WS_INK, FIRST, FIRST + 790, TOP + 20, TOP + 20 + BARE_ROW);
    if (labelled)
    {
      const Found gap = find (surface, WS_INK, (int)ink[0].left - 11, (int)ink[0].left - 1,
                              TOP + 20, TOP + 20 + BARE_ROW);
      assert_near (gap.n, 0, 0);
    }
    cairo_surface_destroy (surface);
  }
  assert_true (ink[0].left > FIRST + 500);
  assert_true (ink[1].left < FIRST + 10);
  assert_true (ink[1].n > ink[0].n + 100);
}

/* Limits stand below the value and end where it ends; without limits there is nothing. */
static void
test_limits_stand_by_the_value (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = plain_new ();
  Found grey[2], value[2];
  for (int limited = 0; limited < 2; limited++)
  {
    double height;
    if (!limited)
      sample_limit (quantity_of (sample, 0), -INFINITY, INFINITY, NULL);
    else
      sample_limit (quantity_of (sample, 0), 116, 120, "tool card");
    cairo_surface_t *surface = draw (sample, wsi_panel_draw_values, &height);
    grey[limited] = find (surface, WS_GREY, FIRST + 300, FIRST + 790, TOP + 20, TOP + 20 + ROW);
    value[limited] = find (surface, WS_INK, FIRST + 500, FIRST + 790, TOP + 20, TOP + 20 + ROW / 2);
    cairo_surface_destroy (surface);
  }
  /* What letters' smooth edges have of it doesn't count. */
  assert_true (grey[1].n > grey[0].n + 50);
  assert_true (grey[1].bottom > value[1].bottom + 8);
  assert_near (grey[1].right, value[1].right, 10);
}

/* The head is filled from edge to edge, as high as it says, and nothing beyond. */
static void
test_head (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = plain_new ();
  for (int verdict = WS_VERDICT_NONE; verdict <= WS_VERDICT_REJECT; verdict++)
  {
    double height;
    sample->result->verdict = (WsVerdict)verdict;
    cairo_surface_t *surface = draw (sample, wsi_panel_draw_verdict, &height);
    const Found fill = find (surface, wsi_canvas_verdict_colour ((WsVerdict)verdict), 0,
                             SHEET_WIDTH, 0, SHEET_HEIGHT);
    const Found shape =
      find (surface, wsi_canvas_verdict_ink ((WsVerdict)verdict), LEFT, LEFT + 130, TOP, TOP + 130);
    cairo_surface_destroy (surface);
    assert_near (height, wsi_panel_verdict_height (1), 0);
    assert_near (wsi_panel_verdict_height (2), 2 * height, 0);
    assert_near (fill.left, LEFT, 0);
    assert_near (fill.right, LEFT + WIDTH, 0);
    assert_near (fill.top, TOP, 0);
    assert_near (fill.bottom, TOP + height, 0);
    assert_true (shape.n > 400);
  }
}

/* ---- What is written ------------------------------------------------------------------- */

/* Lines with blanks squeezed.  Free with g_free(). */
static char *
words_of (const Sample *sample)
{
  g_autofree char *folder = g_dir_make_tmp ("whetsight-panel-XXXXXX", NULL);
  g_autofree char *path = g_build_filename (folder, "panel.pdf", NULL);
  cairo_surface_t *surface = cairo_pdf_surface_create (path, SHEET_WIDTH, 900);
  cairo_t *cr = cairo_create (surface);
  WsPanel panel = { cr, LEFT, TOP, WIDTH, 1 };
  panel.y += wsi_panel_draw_verdict (&panel, &sample->report);
  wsi_panel_draw_values (&panel, &sample->report);
  cairo_destroy (cr);
  cairo_surface_destroy (surface);
  const char *const call[] = { "pdftotext", "-layout", path, "-", NULL };
  char *said = NULL;
  assert_true (g_spawn_sync (NULL, (char **)call, NULL, G_SPAWN_SEARCH_PATH, NULL, NULL, &said,
                             NULL, NULL, NULL));
  g_unlink (path);
  g_rmdir (folder);
  g_autoptr (GRegex) blanks = g_regex_new ("[ \\n\\f]+", 0, 0, NULL);
  char *squeezed = g_regex_replace (blanks, said, -1, 0, " ", 0, NULL);
  g_free (said);
  return squeezed;
}

static void
skip_without_pdftotext (void)
{
  char *found = g_find_program_in_path ("pdftotext");
  const gboolean is_there = found != NULL;
  g_free (found);
  if (!is_there)
    skip_for ("pdftotext is not installed (Debian: poppler-utils)");
}

static void
test_words (void **state)
{
  (void)state;
  skip_without_pdftotext ();
  g_autoptr (Sample) sample = sample_new (TRUE);
  g_autofree char *words = words_of (sample);
  assert_contains (words, "REJECT");
  assert_contains (words, "QT-D-0118");
  assert_contains (words, "twist-drill 6.5 mm");
  assert_contains (words, "2026-11-25 10:15:02 UTC");
  assert_contains (words, "Regrind. Outside the limits: point angle.");
  assert_contains (words,
                   "Take care: eye protection, guards, sharp edges; local rules come first.");
  assert_contains (words, "Grind lip a 1.5° sharper.");
  assert_contains (words, "Point angle 121.457 ± 0.022° Chip depth a 0.0000 ± 0.0042 mm");
  assert_contains (words, "Half angle a 60.700 ± 0.012° Turn of the lips unknown");
  assert_contains (words, "Diameter 6.4912 ± 0.0042 mm");
  assert_contains (words, "limits 116 .. 120°");
  assert_contains (words, "limits 6.478 .. 6.5 mm");
  assert_contains (words, "limits .. 0.065 mm");
  assert_contains (words, "drill.png · 20261125T101502Z-1f0c9a3b · camera not calibrated · ± "
                          "expanded uncertainty, k = 2 · some limits are built in, see the record "
                          "· whetsight " WS_VERSION);
}

static void
test_words_of_a_calibrated_camera (void **state)
{
  (void)state;
  skip_without_pdftotext ();
  g_autoptr (Sample) sample = sample_new (TRUE);
  g_autoptr (WsCalibration) calibration = wsi_calibration_new ("pin", "bench");
  WsCalibrationUse use = { .calibration = calibration, .check = "passed" };
  sample->report.calibration = &use;
  quantity_of (sample, 0)->U = NAN;
  g_ptr_array_set_size (sample->result->quantities, 1);
  g_autofree char *good = words_of (sample);
  g_autofree char *sound = g_strdup_printf (
    "· calibration %s · ± expanded uncertainty, k = 2 · whetsight " WS_VERSION, calibration->id);
  assert_contains (good, sound);
  assert_contains (good, "± ?°");
  use.expired = TRUE;
  use.check = "failed";
  g_autofree char *bad = words_of (sample);
  g_autofree char *warned =
    g_strdup_printf ("· calibration %s, EXPIRED, FAILED ITS CHECK ·", calibration->id);
  assert_contains (bad, warned);
}

static void
test_words_of_a_retake (void **state)
{
  (void)state;
  skip_without_pdftotext ();
  g_autoptr (Sample) sample = sample_new (TRUE);
  wsi_result_retake (sample->result, WS_RETAKE_NO_TOOL, "nothing darker than the ground");
  g_autofree char *words = words_of (sample);
  assert_contains (words, "RETAKE");
  assert_contains (words, "Nothing was measured in this picture.");
  assert_contains (words, ws_retake_sentence (WS_RETAKE_NO_TOOL));
  assert_contains (words, "Seen: nothing darker than the ground");
  assert_lacks (words, "expanded uncertainty");
  assert_lacks (words, "built in");
}

static void
test_words_without_a_scale (void **state)
{
  (void)state;
  skip_without_pdftotext ();
  g_autoptr (Sample) sample = sample_new (FALSE);
  wsi_result_hold (sample->result, WS_HOLD_TOOL, "not-judged", "Not judged: lengths.");
  sample->result->verdict = WS_VERDICT_UNDECIDED;
  g_autofree char *words = words_of (sample);
  assert_lacks (words, "ACCEPT");
  assert_contains (words, "Not judged: lengths.");
  assert_contains (words, "Diameter 6.4912 ± 0.0042 px");
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
  unit = 2;
  return 0;
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_needles),
    cmocka_unit_test (test_bars_and_bands),
    cmocka_unit_test (test_where_gauges_are),
    cmocka_unit_test (test_shapes),
    cmocka_unit_test (test_heights),
    cmocka_unit_test (test_paragraphs),
    cmocka_unit_test (test_judged_values_are_bold),
    cmocka_unit_test (test_head),
    cmocka_unit_test (test_long_names),
    cmocka_unit_test (test_reasons_fit),
    cmocka_unit_test (test_limits_stand_by_the_value),
    cmocka_unit_test (test_labels_beside_values),
  };
  const struct CMUnitTest written[] = {
    cmocka_unit_test (test_words),
    cmocka_unit_test (test_words_of_a_calibrated_camera),
    cmocka_unit_test (test_words_of_a_retake),
    cmocka_unit_test (test_words_without_a_scale),
  };
  return cmocka_run_group_tests (tests, thin_lines, NULL) +
         cmocka_run_group_tests (tests, thick_lines, NULL) +
         cmocka_run_group_tests (written, NULL, NULL);
}
