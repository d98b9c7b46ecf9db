/*
 * The chart is decoded again: it must be a picture that shows every arrow where it belongs.
 */
#include "report/chart/residuals.h"

#include <whetsight/image.h>

#include <math.h>

#include "report/drawn_for_tests.h"

#define WIDTH 1600
#define HEIGHT 1200

static WsImage *
decode (const WsResidualChart *chart)
{
  g_autoptr (GBytes) png = wsi_report_residuals (chart, NULL);
  assert_non_null (png);
  gsize n;
  const guint8 *bytes = g_bytes_get_data (png, &n);
  WsImage *image = ws_image_decode (bytes, n, "chart", NULL, WS_IMAGE_COLOUR, NULL);
  assert_non_null (image);
  return image;
}

/* Pixels of a strong blue or red around a place of the field: field width 1200 from x = 40,
 * y = 128. */
static guint
coloured (const WsImage *image, WsPoint where, gboolean red)
{
  const int x0 = 40 + (int)(where.x * 0.75), y0 = 128 + (int)(where.y * 0.75);
  guint found = 0;
  for (int y = MAX (y0 - 8, 0); y < y0 + 8; y++)
    for (int x = MAX (x0 - 8, 0); x < x0 + 8; x++)
    {
      const guint8 *p = image->rgb + 3 * ((gsize)y * image->width + (gsize)x);
      found += red ? p[0] > 180 && p[2] < 60 : p[2] > 140 && p[0] < 60;
    }
  return found;
}

static void
arrows_lie_where_they_belong (void **state)
{
  (void)state;
  const WsResidual residuals[] = {
    { { 200, 200 }, { 0.02, 0 }, FALSE },
    { { 1400, 1000 }, { 0, -0.01 }, FALSE },
    { { 800, 600 }, { 3, 3 }, TRUE },
  };
  const WsPoint lines[] = { { 0, 0 }, { 1600, 1200 } };
  const WsResidualChart chart = { .title = "Residuals",
                                  .subtitle = "three of them",
                                  .width = WIDTH,
                                  .height = HEIGHT,
                                  .mm_per_px = 0.01,
                                  .residuals = residuals,
                                  .n_residuals = 3,
                                  .lines = lines,
                                  .n_lines = 1 };
  g_autoptr (WsImage) image = decode (&chart);
  assert_int_equal (image->width, 1280);
  assert_true (coloured (image, residuals[0].where, FALSE) > 20);
  assert_true (coloured (image, residuals[1].where, FALSE) > 20);
  assert_true (coloured (image, residuals[2].where, TRUE) > 20);
  assert_int_equal (coloured (image, (WsPoint){ 1400, 200 }, FALSE), 0);
  /* The key explains a cross only where there is one: 36 and 40 px below the field. */
  const WsPoint key = { 8, (900 + 36 + 40) / 0.75 };
  assert_true (coloured (image, key, TRUE) > 20);
  WsResidualChart sound = chart;
  sound.n_residuals = 2;
  g_autoptr (WsImage) without = decode (&sound);
  assert_int_equal (coloured (without, key, TRUE), 0);
}

/* Arrows point the way the residual does: to the right, and up where y gets less.  The greater is
 * the longer, as many times as it is greater. */
static void
arrows_point_where_things_are_off_to (void **state)
{
  (void)state;
  const WsResidual residuals[] = { { { 400, 600 }, { 0.02, 0 }, FALSE },
                                   { { 1200, 600 }, { 0, -0.01 }, FALSE } };
  const WsResidualChart chart = { .title = "",
                                  .subtitle = "",
                                  .width = WIDTH,
                                  .height = HEIGHT,
                                  .residuals = residuals,
                                  .n_residuals = 2 };
  g_autoptr (WsImage) image = decode (&chart);
  /* Nine in ten are no longer than 60 px of the sheet: 63 and 32 px, 84 and 42 of the field. */
  assert_true (coloured (image, (WsPoint){ 400 + 60, 600 }, FALSE) > 20);
  assert_int_equal (coloured (image, (WsPoint){ 400 + 110, 600 }, FALSE), 0);
  assert_int_equal (coloured (image, (WsPoint){ 400 - 30, 600 }, FALSE), 0);
  assert_true (coloured (image, (WsPoint){ 1200, 600 - 28 }, FALSE) > 20);
  assert_int_equal (coloured (image, (WsPoint){ 1200, 600 - 66 }, FALSE), 0);
  assert_int_equal (coloured (image, (WsPoint){ 1200, 600 + 28 }, FALSE), 0);
}

/* Nothing to scale by: none, or all of them zero. */
static void
nothing_to_show_does_no_harm (void **state)
{
  (void)state;
  const WsResidual zero = { { 10, 10 }, { 0, 0 }, FALSE };
  WsResidualChart chart = { .title = "", .subtitle = "", .width = 1, .height = 1 };
  g_autoptr (WsImage) empty = decode (&chart);
  chart.width = WIDTH;
  chart.height = HEIGHT;
  chart.residuals = &zero;
  chart.n_residuals = 1;
  g_autoptr (WsImage) still = decode (&chart);
  /* The field as wide as the sheet's margins let it, between head and foot. */
  assert_int_equal (empty->height, 128 + 1200 + 112);
  assert_int_equal (still->height, 128 + 900 + 112);
  assert_true (coloured (still, zero.where, FALSE) > 5);
}

/* ---- In px of the sheet ---------------------------------------------------------------- */

typedef struct
{
  int left, top, right, bottom; /* all within */
  guint n;
} Extents;

/* Of strong blue or red within a part of the sheet. */
static Extents
extents_of (const WsImage *image, Extents part, gboolean red)
{
  Extents found = { G_MAXINT, G_MAXINT, -1, -1, 0 };
  for (int y = part.top; y <= part.bottom; y++)
    for (int x = part.left; x <= part.right; x++)
    {
      const guint8 *p = image->rgb + 3 * ((gsize)y * image->width + (gsize)x);
      if (red ? !(p[0] > 180 && p[2] < 60) : !(p[2] > 140 && p[0] < 60))
        continue;
      found.left = MIN (found.left, x);
      found.right = MAX (found.right, x);
      found.top = MIN (found.top, y);
      found.bottom = MAX (found.bottom, y);
      found.n++;
    }
  return found;
}

static WsResidualChart
chart_of (const WsResidual *residuals, gsize n)
{
  return (WsResidualChart){ .title = "Residuals",
                            .subtitle = "of a pin",
                            .width = WIDTH,
                            .height = HEIGHT,
                            .mm_per_px = 0.01,
                            .residuals = residuals,
                            .n_residuals = n };
}

/* Ten alike: as long as is usual, 60 px from the dot's centre to the tip. */
static void
usual_arrows_are_of_one_length (void **state)
{
  (void)state;
  WsResidual residuals[10];
  for (guint i = 0; i < 10; i++)
    residuals[i] = (WsResidual){ { 400, 100 + 100.0 * i }, { 0.03, 0 }, FALSE };
  const WsResidualChart chart = chart_of (residuals, 10);
  g_autoptr (WsImage) image = decode (&chart);
  for (guint i = 0; i < 10; i++)
  {
    const double x = 40 + 400.5 * 0.75, y = 128 + 0.75 * (100.5 + 100.0 * i);
    const Extents part = { (int)x - 20, (int)y - 20, (int)x + 200, (int)y + 20, 0 };
    const Extents arrow = extents_of (image, part, FALSE);
    assert_near (arrow.left, x - 3.2, 1.0);
    assert_near (arrow.right, x + 60 - 1, 1.5);
    assert_near (0.5 * (arrow.top + arrow.bottom), y, 1.0);
    /* The head is 9 px high where it begins, 9 px before the tip. */
    const Extents neck = { (int)x + 50, (int)y - 20, (int)x + 53, (int)y + 20, 0 };
    const Extents head = extents_of (image, neck, FALSE);
    assert_in_range (head.bottom - head.top + 1, 7, 10);
    const Extents before = { (int)x + 20, (int)y - 20, (int)x + 45, (int)y + 20, 0 };
    const Extents shaft = extents_of (image, before, FALSE);
    assert_in_range (shaft.bottom - shaft.top + 1, 1, 3);
  }
}

/* None is longer than 150 px; that it is cut is said, and only then. */
static void
long_arrows_are_cut (void **state)
{
  (void)state;
  WsResidual residuals[21];
  for (guint i = 0; i < 20; i++)
    residuals[i] = (WsResidual){ { 100, 100 }, { 0.01, 0 }, FALSE };
  residuals[20] = (WsResidual){ { 800, 600 }, { 0, 0.024 }, FALSE };
  WsResidualChart chart = chart_of (residuals, 21);
  const double x = 40 + 800.5 * 0.75, y = 128 + 0.75 * 600.5;
  const Extents part = { (int)x - 20, (int)y - 20, (int)x + 20, (int)y + 300, 0 };
  drawn_clear ();
  g_autoptr (WsImage) whole = decode (&chart);
  assert_near (extents_of (whole, part, FALSE).bottom, y + 144 - 1, 1.5);
  assert_null (drawn_text ("the longest arrows are cut", 0));
  assert_null (drawn_text ("left out", 0));
  residuals[20].off.y = 0.1;
  drawn_clear ();
  g_autoptr (WsImage) cut = decode (&chart);
  assert_near (extents_of (cut, part, FALSE).bottom, y + 150 - 1, 1.5);
  const Drawn *says = drawn_text ("the longest arrows are cut", 0);
  assert_non_null (says);
  assert_near (says->right, 1280 - 40, 0.01);
  assert_near (says->y, 128 + 900 + 76, 0.01);
  assert_null (drawn_text ("left out", 0));
  residuals[20].left_out = TRUE;
  drawn_clear ();
  g_autoptr (WsImage) without = decode (&chart);
  const Drawn *left_out = drawn_text ("left out", 0);
  assert_near (left_out->x, 64, 0);
  assert_near (left_out->y, 128 + 900 + 76, 0.01);
  assert_true (extents_of (without, part, TRUE).n > 100);
  assert_int_equal (extents_of (without, part, FALSE).n, 0);
}

/* The key's arrow is as long as one of the field that is off by what it says. */
static void
the_key_tells_the_scale (void **state)
{
  (void)state;
  static const struct
  {
    double off, mm_per_px;
    const char *words;
    double length;
  } all[] = {
    /* 60 px are the usual: 90 at most are rounded down to 1, 2 or 5. */
    { 0.01, 0.01, "0.01 px = 0.10 µm", 60 },  { 0.012, 0.01, "0.01 px = 0.10 µm", 50 },
    { 0.02, 0.005, "0.02 px = 0.10 µm", 60 }, { 0.04, 0, "0.05 px", 75 },
    { 3, 0.01, "2 px = 20 µm", 40 },          { 0.0001, 0, "0.0001 px", 60 },
    { 15, 0.1, "20 px = 2000 µm", 80 },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (all); i++)
  {
    const WsResidual residual = { { 800, 600 }, { all[i].off, 0 }, FALSE };
    WsResidualChart chart = chart_of (&residual, 1);
    chart.mm_per_px = all[i].mm_per_px;
    drawn_clear ();
    g_autoptr (WsImage) image = decode (&chart);
    assert_texts_apart (1280, 128 + 900 + 112);
    const Drawn *words = drawn_text (all[i].words, 0);
    if (words == NULL)
      fail_msg ("no \"%s\" for %g", all[i].words, all[i].off);
    assert_near (words->y, 128 + 900 + 36, 0.01);
    assert_near (words->x, 40 + all[i].length + 20, 0.01);
    const Extents row = { 0, 128 + 900 + 20, 400, 128 + 900 + 52, 0 };
    const Extents key = extents_of (image, row, FALSE);
    const Extents end = { (int)(43.2 + all[i].length) - 5, 128 + 900 + 20, 400, 128 + 900 + 52, 0 };
    const Extents tip = extents_of (image, end, FALSE);
    assert_near (0.5 * (tip.top + tip.bottom + 1), 128 + 900 + 36, 0.3);
    assert_near (key.left, 40, 1);
    assert_near (key.right, 43.2 + all[i].length - 1, 1.5);
  }
}

/* Title, what it is of, how to read it. */
static void
words_stand_in_their_places (void **state)
{
  (void)state;
  const WsResidual residual = { { 800, 600 }, { 0.01, 0 }, TRUE };
  const WsResidualChart chart = chart_of (&residual, 1);
  drawn_clear ();
  g_autoptr (WsImage) image = decode (&chart);
  assert_int_equal (image->width, 1280);
  const struct
  {
    const char *text;
    double x, y;
  } all[] = { { "Residuals", 40, 24 },
              { "of a pin", 40, 66 },
              { "arrow: seen less expected; frame: the picture's field", 1240, 1064 },
              { "left out", 64, 1104 } };
  for (gsize i = 0; i < G_N_ELEMENTS (all); i++)
  {
    const Drawn *text = drawn_text (all[i].text, 0);
    assert_non_null (text);
    assert_near (text->x, all[i].x, 0.01);
    assert_near (text->y, all[i].y, 0.01);
  }
  assert_true (drawn_text ("Residuals", 0)->size > drawn_text ("of a pin", 0)->size);
  assert_near (drawn_text ("arrow:", 0)->right, 1240, 0.01);
}

/* A tall picture is as high as the field may be, in the midst of the sheet. */
static void
a_tall_picture_is_centred (void **state)
{
  (void)state;
  const WsResidual residual = { { 500, 1000 }, { 0.01, 0 }, FALSE };
  WsResidualChart chart = chart_of (&residual, 1);
  chart.width = 1000;
  chart.height = 2000;
  g_autoptr (WsImage) image = decode (&chart);
  assert_int_equal (image->height, 128 + 1400 + 112);
  /* 0.7 px a px: 700 wide, from 290 on. */
  const Extents part = { 600, 700, 720, 940, 0 };
  const Extents arrow = extents_of (image, part, FALSE);
  assert_near (arrow.left, 290 + 500.5 * 0.7 - 3.2, 1.0);
  assert_near (0.5 * (arrow.top + arrow.bottom), 128 + 1000.5 * 0.7, 1.0);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (arrows_lie_where_they_belong),
    cmocka_unit_test (arrows_point_where_things_are_off_to),
    cmocka_unit_test (nothing_to_show_does_no_harm),
    cmocka_unit_test (usual_arrows_are_of_one_length),
    cmocka_unit_test (long_arrows_are_cut),
    cmocka_unit_test (the_key_tells_the_scale),
    cmocka_unit_test (words_stand_in_their_places),
    cmocka_unit_test (a_tall_picture_is_centred),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
