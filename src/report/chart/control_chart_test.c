#include "base/testing.h"

#include <whetsight/error.h>
#include <whetsight/image.h>

#include "optics/calibration.h"
#include "report/chart/control_chart.h"
#include "report/drawn_for_tests.h"

typedef struct
{
  WsCalibration *calibration;
  GPtrArray *checks;
} Fixture;

static int
set_up (void **state)
{
  Fixture *fixture = g_new0 (Fixture, 1);
  fixture->calibration = wsi_calibration_new ("pin", "Quillbrook Turning, bench 2");
  fixture->checks = ws_checks_new ();
  *state = fixture;
  return 0;
}

static int
tear_down (void **state)
{
  Fixture *fixture = *state;
  ws_calibration_free (fixture->calibration);
  g_ptr_array_unref (fixture->checks);
  g_free (fixture);
  return 0;
}

/* Deviations in um of a pin checked day by day. */
static void
add_days (Fixture *fixture, double reference, const double *um, guint n)
{
  for (guint i = 0; i < n; i++)
  {
    g_autofree char *run = g_strdup_printf ("run-%u", i);
    WsCheck *check =
      ws_check_new (run, "diameter_mm", reference + um[i] / 1000, 0.001, reference, 0.0005);
    check->calibration = g_strdup (fixture->calibration->id);
    check->file = g_strdup ("a.png");
    check->sha256 = g_strdup ("00");
    static const char *const months[] = { "2026-11", "2026-12", "2027-01" };
    g_snprintf (check->time, sizeof check->time, "%s-%02uT06:00:00Z", months[i / 28], 1 + i % 28);
    g_ptr_array_add (fixture->checks, check);
  }
}

static GBytes *
chart_of (const Fixture *fixture, WsChartFormat format)
{
  g_autoptr (GError) error = NULL;
  const char *id = fixture->calibration->id;
  const WsCheckState state = ws_checks_state (fixture->checks, id);
  g_autoptr (GPtrArray) series = wsi_check_series (fixture->checks, id);
  GBytes *chart = wsi_control_chart (fixture->calibration, &state, series, format, &error);
  assert_null (error);
  assert_non_null (chart);
  return chart;
}

static WsImage *
picture_of (const Fixture *fixture)
{
  g_autoptr (GBytes) chart = chart_of (fixture, WS_CHART_PNG);
  gsize n;
  const guint8 *bytes = g_bytes_get_data (chart, &n);
  WsImage *image = ws_image_decode (bytes, n, "chart", NULL, WS_IMAGE_COLOUR, NULL);
  assert_non_null (image);
  return image;
}

static guint
count_pixels (const WsImage *image, guint8 r, guint8 g, guint8 b)
{
  guint n = 0;
  for (gsize i = 0; i < (gsize)image->width * image->height; i++)
    n += abs (image->rgb[3 * i] - r) < 3 && abs (image->rgb[3 * i + 1] - g) < 3 &&
         abs (image->rgb[3 * i + 2] - b) < 3;
  return n;
}

static const double steady[] = { 0.1, -0.1, 0.2, 0, -0.2, 0.1, 0, 0.1 };

static void
draws_a_panel_a_size (void **state)
{
  Fixture *fixture = *state;
  add_days (fixture, 4.638, steady, G_N_ELEMENTS (steady));
  g_autoptr (WsImage) one = picture_of (fixture);
  add_days (fixture, 2, steady, G_N_ELEMENTS (steady));
  g_autoptr (WsImage) two = picture_of (fixture);
  assert_int_equal (one->width, 1280);
  assert_true (two->height > one->height + 200);
}

/* The same values with and without the failure: only the point's look differs in vermilion (cross)
 * and green (disc). */
static void
a_failed_point_is_seen (void **state)
{
  Fixture *fixture = *state;
  static const double values[] = { 0.1, -0.1, 3, 0, -0.2, 0.1, 0, 0.1 };
  add_days (fixture, 4.638, values, G_N_ELEMENTS (values));
  g_autoptr (WsImage) bad = picture_of (fixture);
  ((WsCheck *)fixture->checks->pdata[2])->pass = TRUE;
  g_autoptr (WsImage) good = picture_of (fixture);
  assert_true (count_pixels (bad, 213, 94, 0) > count_pixels (good, 213, 94, 0) + 60);
  assert_true (count_pixels (bad, 0, 158, 115) < count_pixels (good, 0, 158, 115) - 60);
}

/* Mean row of what has the colour within a rectangle; `n` pixels. */
static double
row_of (const WsImage *image, guint x0, guint x1, guint y0, guint y1, const guint8 *colour,
        guint *n)
{
  double sum = 0;
  *n = 0;
  for (guint y = y0; y < y1; y++)
    for (guint x = x0; x < x1; x++)
    {
      const guint8 *p = image->rgb + 3 * ((gsize)y * image->width + x);
      if (abs (p[0] - colour[0]) > 3 || abs (p[1] - colour[1]) > 3 || abs (p[2] - colour[2]) > 3)
        continue;
      sum += y;
      (*n)++;
    }
  return sum / MAX (*n, 1);
}

static const guint8 green[] = { 0, 158, 115 }, vermilion[] = { 213, 94, 0 },
                    blue[] = { 0, 114, 178 };
static const guint8 band[] = { 204, 227, 242 }, ink[] = { 28, 31, 36 };

/* The plot of the first size. */
#define PLOT_LEFT 96
#define PLOT_WIDTH 1008
#define PLOT_TOP 159
#define PLOT_BOTTOM 401

/* A greater deviation is drawn higher, by as much as it is greater, and later ones to the right;
 * the limits where E_n is 1 lie as far above none as below. */
static void
greater_is_higher (void **state)
{
  Fixture *fixture = *state;
  static const double values[] = { -0.2, 0, 0.4, 0.2 };
  double y[G_N_ELEMENTS (values)];
  guint n;
  add_days (fixture, 4.638, values, G_N_ELEMENTS (values));
  g_autoptr (WsImage) image = picture_of (fixture);
  for (guint i = 0; i < G_N_ELEMENTS (values); i++)
  {
    const guint middle = PLOT_LEFT + PLOT_WIDTH * (2 * i + 1) / 8;
    y[i] = row_of (image, middle - 6, middle + 7, PLOT_TOP, PLOT_BOTTOM, green, &n);
    assert_true (n > 60);
  }
  const double px = (y[0] - y[1]) / 0.2;
  /* From 1.2 um below to 1.4 um above, U included, and room of 8 % of that at either end. */
  assert_near (px, 244 / (1.16 * 2.6), 1.5);
  assert_near (y[1] - y[2], 0.4 * px, 1);
  assert_near (y[1] - y[3], 0.2 * px, 1);
  const double all =
    row_of (image, PLOT_LEFT + 20, PLOT_LEFT + 60, PLOT_TOP, PLOT_BOTTOM, vermilion, &n);
  assert_near (all, y[1], 1.5);
  const double above =
    row_of (image, PLOT_LEFT + 20, PLOT_LEFT + 60, PLOT_TOP, (guint)y[1], vermilion, &n);
  assert_true (n >= 40);
  assert_near (y[1] - above, hypot (1, 0.5) * px, 0.02 * px);
  /* What the artefact leaves open, 0.5 um either way. */
  row_of (image, PLOT_LEFT + 30, PLOT_LEFT + 31, PLOT_TOP, PLOT_BOTTOM, band, &n);
  assert_near (n, px, 8); /* grid lines cross it */
}

/* Of the strong blue that limits and signals have; seams of lines count, too. */
static guint
count_blue (const WsImage *image, guint x0, guint x1, guint y0, guint y1)
{
  guint n = 0;
  for (guint y = y0; y < y1; y++)
    for (guint x = x0; x < x1; x++)
    {
      const guint8 *p = image->rgb + 3 * ((gsize)y * image->width + x);
      n += p[2] > p[0] + 100 && p[2] > p[1] + 40;
    }
  return n;
}

/* A diamond about the point that signals, and about no other. */
static void
signals_are_marked (void **state)
{
  Fixture *fixture = *state;
  static const double values[] = { 0.1, -0.1, 0.1, -0.1, 0.1, 1 };
  add_days (fixture, 4.638, values, G_N_ELEMENTS (values));
  g_autoptr (WsImage) image = picture_of (fixture);
  for (guint i = 0; i < G_N_ELEMENTS (values); i++)
  {
    const guint middle = PLOT_LEFT + PLOT_WIDTH * (2 * i + 1) / 12;
    guint n;
    const guint y = (guint)row_of (image, middle - 6, middle + 7, PLOT_TOP, PLOT_BOTTOM, green, &n);
    assert_true (n > 60);
    /* Left and right of the disc, where limits' lines lie far off. */
    n = count_blue (image, middle - 15, middle - 8, y - 6, y + 7) +
        count_blue (image, middle + 9, middle + 16, y - 6, y + 7);
    assert_int_equal (n > 20, i + 1 == G_N_ELEMENTS (values));
  }
}

/* The legend shows each thing as the plot does: its colours, beside their words, in its places. */
static void
the_legend_has_the_plots_colours (void **state)
{
  Fixture *fixture = *state;
  add_days (fixture, 4.638, steady, G_N_ELEMENTS (steady));
  g_autoptr (WsImage) image = picture_of (fixture);
  const guint top = 112 + 330, first = top + 12, second = top + 46;
  const struct
  {
    guint x, y, width;
    const guint8 *colour;
  } marks[] = { { 28, first, 16, green },  { 136, first, 20, vermilion },
                { 320, first, 32, blue },  { 28, second, 34, ink },
                { 136, second, 34, blue }, { 506, second, 34, vermilion },
                { 666, second, 34, band } };
  const guint8 *const colours[] = { green, vermilion, blue, band };
  for (gsize i = 0; i < G_N_ELEMENTS (marks); i++)
    for (gsize k = 0; k < G_N_ELEMENTS (colours); k++)
    {
      guint n;
      row_of (image, marks[i].x, marks[i].x + marks[i].width, marks[i].y, marks[i].y + 24,
              colours[k], &n);
      assert_int_equal (n > 20, marks[i].colour == colours[k]);
    }
}

static void
draws_svg (void **state)
{
  Fixture *fixture = *state;
  add_days (fixture, 4.638, steady, G_N_ELEMENTS (steady));
  g_autoptr (GBytes) chart = chart_of (fixture, WS_CHART_SVG);
  gsize n;
  const char *text = g_bytes_get_data (chart, &n);
  g_autofree char *whole = g_strndup (text, n);
  assert_true (g_str_has_prefix (whole, "<?xml"));
  assert_contains (whole, "1280");
  assert_contains (whole, "</svg>");
}

static void
draws_a_single_check_and_very_many (void **state)
{
  Fixture *fixture = *state;
  double many[20];
  add_days (fixture, 4.638, steady, 1);
  g_autoptr (WsImage) one = picture_of (fixture);
  assert_true (one->height > 0);
  for (guint size = 0; size < 12; size++)
  {
    for (guint i = 0; i < G_N_ELEMENTS (many); i++)
      many[i] = 0.01 * i * size;
    add_days (fixture, 5 + size, many, G_N_ELEMENTS (many));
  }
  g_autoptr (WsImage) image = picture_of (fixture);
  assert_true (image->height < 3000);
}

static void
assert_words (Fixture *fixture, const double *um, guint n, const char *expected)
{
  g_ptr_array_set_size (fixture->checks, 0);
  add_days (fixture, 4.638, um, n);
  g_autoptr (GPtrArray) series = wsi_check_series (fixture->checks, fixture->calibration->id);
  g_autofree char *words = wsi_control_words (series->pdata[0]);
  g_autofree char *name = wsi_control_series_name (series->pdata[0]);
  assert_string_equal (name, "diameter 4.638 mm");
  if (expected == NULL)
    assert_null (words);
  else
    assert_contains (words, expected);
}

static void
words_for_signals (void **state)
{
  static const double rising[] = { 0, 0.5, 0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6 };
  static const double falling[] = { 0, -0.5, 0, -0.1, -0.2, -0.3, -0.4, -0.5, -0.6 };
  static const double beyond[] = { 0.1, -0.1, 0.1, -0.1, 0.1, 1 };
  static const double above[] = { -0.3, 0, 0.3, -0.3, 0.2, 0.25, 0.2, 0.25, 0.2, 0.25, 0.2 };
  assert_words (*state, steady, G_N_ELEMENTS (steady), NULL);
  assert_words (*state, rising, G_N_ELEMENTS (rising), "last 7 deviations rise");
  assert_words (*state, falling, G_N_ELEMENTS (falling), "last 7 deviations fall");
  assert_words (*state, beyond, G_N_ELEMENTS (beyond), "outside the limits");
  assert_words (*state, above, G_N_ELEMENTS (above), "above the mean");
}

/* ---- What is drawn through the canvas -------------------------------------------------- */

#define SHEET_WIDTH 1280.0
#define PANEL 330.0
#define LEGEND 96.0
#define BAND 112.0

/* The whole sheet, noted; nothing on it lies on anything else. */
static void
draw (const Fixture *fixture, double height)
{
  drawn_clear ();
  g_autoptr (WsImage) image = picture_of (fixture);
  assert_int_equal (image->height, (guint)height);
  assert_texts_apart (SHEET_WIDTH, height);
}

/* By the numbers of the first panel's scale: where a deviation in um lies. */
static double
height_of (double um)
{
  const Drawn *first = NULL, *last = NULL;
  for (guint i = 0; i < drawn->len; i++)
  {
    const Drawn *text = drawn_at (i);
    if (text->kind != DRAWN_TEXT || text->x != PLOT_LEFT - 10 || text->y > BAND + PANEL)
      continue;
    first = first == NULL ? text : first;
    last = text;
  }
  assert_true (first != NULL && last != first);
  const double a = g_ascii_strtod (first->text, NULL), b = g_ascii_strtod (last->text, NULL);
  return first->y + (last->y - first->y) * (um - a) / (b - a);
}

static void
assert_text_at (const char *text, double x, double y)
{
  const Drawn *found = drawn_text (text, 0);
  if (found == NULL)
    fail_msg ("no \"%s\"", text);
  assert_near (found->x, x, 0.01);
  assert_near (found->y, y, 0.01);
}

/* Mean of those before the last and limits 2.66 mean moving ranges from it, each labelled at its
 * line. */
static void
labels_stand_at_their_lines (void **state)
{
  Fixture *fixture = *state;
  static const double values[] = { 1, -1, 1, -1, 1, 0.4 };
  add_days (fixture, 4.638, values, G_N_ELEMENTS (values));
  draw (fixture, BAND + PANEL + LEGEND);
  const double mean = 0.2, limit = 2.6587 * 2, E_n = hypot (1, 0.5);
  const double right = PLOT_LEFT + PLOT_WIDTH + 14;
  assert_near (drawn_text ("mean +0.20", 0)->y, height_of (mean), 0.6);
  assert_near (drawn_text ("mean +0.20", 0)->x, right, 0.01);
  assert_near (drawn_text ("limit +5.52", 0)->y, height_of (mean + limit), 0.1);
  assert_near (drawn_text ("limit -5.12", 0)->y, height_of (mean - limit), 0.1);
  assert_near (drawn_text ("E_n = 1: +1.12", 0)->y, height_of (E_n), 0.6);
  assert_near (drawn_text ("E_n = -1: -1.12", 0)->y, height_of (-E_n), 0.6);
  /* The lines: two of control, the mean's, and a piece of E_n = 1 above and below each value. */
  assert_int_equal (drawn_count (DRAWN_DASHES, WS_BLUE, PLOT_WIDTH, 0), 2);
  assert_near (drawn_find (DRAWN_DASHES, WS_BLUE, PLOT_WIDTH, 0)->y, height_of (mean + limit), 0.1);
  assert_near (drawn_find (DRAWN_LINE, WS_INK, PLOT_WIDTH, 0)->y, height_of (mean), 0.01);
  assert_int_equal (drawn_count (DRAWN_LINE, WS_VERMILION, 167, 0), 12);
  for (guint i = 0; i < 12; i++)
  {
    const Drawn *piece = drawn_find (DRAWN_LINE, WS_VERMILION, 167, i);
    const guint value = i / 2;
    assert_near (piece->left, PLOT_LEFT + PLOT_WIDTH * value / 6.0, 0.01);
    assert_near (piece->y, height_of (i % 2 == 0 ? -E_n : E_n), 0.01);
  }
  /* 0.5 um of the artefact either way, behind it all. */
  const Drawn *open = drawn_find (DRAWN_BOX, (WsColour){ 0.80, 0.89, 0.95 }, 167, 0);
  assert_near (open->top, height_of (0.5), 0.01);
  assert_near (open->bottom, height_of (-0.5), 0.01);
  /* Room of 8 %: limits are the ends of what is shown. */
  assert_near (height_of (mean + limit), 158 + 244 * 0.08 / 1.16, 0.1);
  assert_near (height_of (mean - limit), 402 - 244 * 0.08 / 1.16, 0.1);
}

/* A cross for what failed, larger than a disc, in its place; drawn before the legend's. */
static void
a_cross_is_larger_than_a_disc (void **state)
{
  Fixture *fixture = *state;
  static const double values[] = { 0, 4, 0 };
  add_days (fixture, 4.638, values, G_N_ELEMENTS (values));
  draw (fixture, BAND + PANEL + LEGEND);
  guint n = 0;
  for (guint i = 0; i < drawn->len; i++)
  {
    const Drawn *bar = drawn_at (i);
    if (bar->kind != DRAWN_LINE || bar->size != 4.5)
      continue;
    const double x = n < 2 ? PLOT_LEFT + PLOT_WIDTH * 1.5 / 3 : 146;
    const double y = n < 2 ? height_of (4) : BAND + PANEL + 24;
    assert_true (drawn_has_colour (bar, WS_VERMILION));
    assert_near (bar->left, x - 8.45, 0.01);
    assert_near (bar->right, x + 8.45, 0.01);
    assert_near (bar->top, y - 8.45, 0.01);
    assert_near (bar->bottom, y + 8.45, 0.01);
    n++;
  }
  assert_int_equal (n, 4);
}

/* A bar of U about each value, with its caps. */
static void
bars_span_the_uncertainty (void **state)
{
  Fixture *fixture = *state;
  add_days (fixture, 4.638, steady, G_N_ELEMENTS (steady));
  draw (fixture, BAND + PANEL + LEGEND);
  for (guint i = 0; i < G_N_ELEMENTS (steady); i++)
  {
    const double x = PLOT_LEFT + PLOT_WIDTH * (i + 0.5) / G_N_ELEMENTS (steady);
    const Drawn *bar = drawn_find (DRAWN_LINE, WS_GREY, 0, 3 * i);
    assert_near (bar->x, x, 0.01);
    assert_near (bar->top, height_of (steady[i] + 1), 0.01);
    assert_near (bar->bottom, height_of (steady[i] - 1), 0.01);
    const Drawn *cap = drawn_find (DRAWN_LINE, WS_GREY, 0, 3 * i + 1);
    assert_near (cap->left, x - 4, 0.01);
    assert_near (cap->right, x + 4, 0.01);
    assert_near (cap->y, bar->top, 0.01);
    assert_near (drawn_find (DRAWN_LINE, WS_GREY, 0, 3 * i + 2)->y, bar->bottom, 0.01);
  }
}

/* Panels one below the other, what they are at the left, how it stands at the right; below them
 * days. */
static void
panels_have_titles_and_days (void **state)
{
  Fixture *fixture = *state;
  add_days (fixture, 4.638, steady, G_N_ELEMENTS (steady));
  add_days (fixture, 2, steady, 2);
  draw (fixture, BAND + 2 * PANEL + LEGEND);
  assert_text_at ("diameter 4.638 mm", PLOT_LEFT, BAND + 28);
  assert_text_at ("diameter 2 mm", PLOT_LEFT, BAND + PANEL + 28);
  const Drawn *title = drawn_text ("diameter 4.638 mm", 0);
  assert_text_at ("measured − artefact, µm", title->right + 14, BAND + 28);
  assert_text_at ("first guess of limits, from 7 checks", PLOT_LEFT + PLOT_WIDTH, BAND + 28);
  assert_text_at ("too few checks for limits", PLOT_LEFT + PLOT_WIDTH, BAND + PANEL + 28);
  assert_non_null (drawn_text ("0.0", 0));
  /* Every other of eight. */
  for (guint i = 1; i < 8; i += 2)
  {
    g_autofree char *day = g_strdup_printf ("2026-11-%02u", i + 1);
    assert_text_at (day, PLOT_LEFT + PLOT_WIDTH * (i + 0.5) / 8, 402 + 18);
    const Drawn *tick = drawn_text (day, 0) - 1;
    assert_near (tick->top, 402, 0);
    assert_near (tick->bottom, 408, 0);
  }
  assert_null (drawn_text ("2026-11-03", 0));
}

static void
assert_standing (Fixture *fixture, const double *um, guint n, const char *words, WsColour colour)
{
  g_ptr_array_set_size (fixture->checks, 0);
  add_days (fixture, 4.638, um, n);
  draw (fixture, BAND + PANEL + LEGEND);
  const Drawn *standing = drawn_text (words, 0);
  if (standing == NULL)
    fail_msg ("no \"%s\"", words);
  assert_true (drawn_has_colour (standing, colour));
}

/* "In control" is said only where no value is marked, and from twenty checks on. */
static void
words_fit_the_marks (void **state)
{
  double values[25];
  for (guint i = 0; i < 25; i++)
    values[i] = 0.1 * (i % 3);
  assert_standing (*state, values, 25, "in control", WS_INK);
  values[24] = 2;
  assert_standing (*state, values, 25, "the last deviation lies outside", WS_BLUE);
  values[24] = 0;
  values[12] = 2;
  assert_standing (*state, values, 25, "1 earlier signal, none in the last check", WS_INK);
  values[6] = 2;
  assert_standing (*state, values, 25, "2 earlier signals, none in the last check", WS_INK);
}

static void
assert_band (Fixture *fixture, const char *word, const char *when, WsColour colour)
{
  draw (fixture, BAND + PANEL + LEGEND);
  assert_text_at (word, 116, 50);
  assert_text_at (when, 118, BAND - 18);
  assert_text_at ("Quillbrook Turning, bench 2", SHEET_WIDTH - 28, 28);
  assert_text_at (fixture->calibration->id, SHEET_WIDTH - 28, 56);
  assert_text_at ("made 2026-11-25 15:52:25 UTC", SHEET_WIDTH - 28, 84);
  const Drawn *band_box = drawn_at (1); /* after the paper */
  assert_int_equal (band_box->kind, DRAWN_BOX);
  assert_true (drawn_has_colour (band_box, colour));
  assert_near (band_box->right, SHEET_WIDTH, 0);
  assert_near (band_box->bottom, BAND, 0);
}

/* Passed or failed, since when, of which calibration. */
static void
the_band_says_how_it_stands (void **state)
{
  Fixture *fixture = *state;
  g_date_time_unref (fixture->calibration->made);
  fixture->calibration->made = g_date_time_new_utc (2026, 11, 25, 15, 52, 25);
  add_days (fixture, 4.638, steady, 3);
  assert_band (fixture, "PASSED", "last check 2026-11-03 06:00:00 UTC", WS_GREEN);
  static const double bad[] = { 0, 4, 5 };
  g_ptr_array_set_size (fixture->checks, 0);
  add_days (fixture, 4.638, bad, 3);
  assert_band (fixture, "FAILED", "since 2026-11-02 06:00:00 UTC", WS_VERMILION);
}

/* Without any check there is nothing but the band and what things would mean. */
static void
draws_no_check (void **state)
{
  draw (*state, BAND + LEGEND);
  assert_text_at ("NOT CHECKED", 116, 50);
  assert_null (drawn_text ("last check", 0));
  assert_text_at ("passed", 56, BAND + 24);
  assert_text_at ("failed, |E_n| > 1", 166, BAND + 24);
  assert_text_at ("signal: outside limits", 360, BAND + 24);
  assert_text_at ("± U (k = 2) of picture", 832, BAND + 24);
  assert_text_at ("mean", 72, BAND + 58);
  assert_text_at ("limits, mean ± 2.66", 180, BAND + 58);
  assert_text_at ("E_n = ± 1", 550, BAND + 58);
  assert_text_at ("± U of the artefact itself", 710, BAND + 58);
}

/* Sixty of the newest values and eight sizes; what is left out is said. */
static void
shows_the_newest_of_many (void **state)
{
  Fixture *fixture = *state;
  double values[62];
  for (guint i = 0; i < 62; i++)
    values[i] = 0.01 * (i % 5);
  add_days (fixture, 4, values, 62);
  draw (fixture, BAND + PANEL + LEGEND);
  assert_int_equal (drawn_count (DRAWN_LINE, WS_VERMILION, PLOT_WIDTH / 60.0 - 0.01, 0) -
                      3 /* the legend's line and cross */,
                    120);
  for (guint size = 0; size < 9; size++)
    add_days (fixture, 5 + size, values, 3);
  draw (fixture, BAND + 8 * PANEL + LEGEND);
  assert_text_at ("2 more sizes not shown", SHEET_WIDTH - 28, BAND + 8 * PANEL + LEGEND - 14);
  assert_non_null (drawn_text ("diameter 11 mm", 0));
  assert_null (drawn_text ("diameter 12 mm", 0));
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown (draws_a_panel_a_size, set_up, tear_down),
    cmocka_unit_test_setup_teardown (a_failed_point_is_seen, set_up, tear_down),
    cmocka_unit_test_setup_teardown (greater_is_higher, set_up, tear_down),
    cmocka_unit_test_setup_teardown (signals_are_marked, set_up, tear_down),
    cmocka_unit_test_setup_teardown (the_legend_has_the_plots_colours, set_up, tear_down),
    cmocka_unit_test_setup_teardown (draws_svg, set_up, tear_down),
    cmocka_unit_test_setup_teardown (draws_a_single_check_and_very_many, set_up, tear_down),
    cmocka_unit_test_setup_teardown (words_for_signals, set_up, tear_down),
    cmocka_unit_test_setup_teardown (labels_stand_at_their_lines, set_up, tear_down),
    cmocka_unit_test_setup_teardown (a_cross_is_larger_than_a_disc, set_up, tear_down),
    cmocka_unit_test_setup_teardown (bars_span_the_uncertainty, set_up, tear_down),
    cmocka_unit_test_setup_teardown (panels_have_titles_and_days, set_up, tear_down),
    cmocka_unit_test_setup_teardown (words_fit_the_marks, set_up, tear_down),
    cmocka_unit_test_setup_teardown (the_band_says_how_it_stands, set_up, tear_down),
    cmocka_unit_test_setup_teardown (draws_no_check, set_up, tear_down),
    cmocka_unit_test_setup_teardown (shows_the_newest_of_many, set_up, tear_down),
  };
  g_setenv ("TZ", "UTC0", TRUE);
  return cmocka_run_group_tests (tests, NULL, NULL);
}
