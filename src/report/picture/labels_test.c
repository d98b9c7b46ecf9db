/*
 * What labels say.  Where they stand is the layout's, and tested with it.
 */
#include "report/picture/labels.h"

#include "base/geometry.h"
#include "report/picture/marks.h"
#include "report/sample_for_tests.h"

static WsQuantity *
quantity_of (const Sample *sample, guint i)
{
  return g_ptr_array_index (sample->result->quantities, i);
}

/* The labels that marks ask for, on a picture `width` px wide in the sheet; free with
 * g_array_unref(). */
static GArray *
labels_in (const Sample *sample, double width)
{
  cairo_surface_t *surface = cairo_image_surface_create (CAIRO_FORMAT_RGB24, 640, 540);
  const WsSheet sheet = { .cr = cairo_create (surface),
                          .factor = width / 60,
                          .x = 20,
                          .y = 30,
                          .width = width,
                          .height = 480,
                          .unit = 1 };
  GArray *labels = wsi_marks_draw (&sheet, &sample->report, NULL);
  cairo_destroy (sheet.cr);
  cairo_surface_destroy (surface);
  return labels;
}

static GArray *
labels_of (const Sample *sample)
{
  return labels_in (sample, 600);
}

static void
test_names_of_faults (void **state)
{
  (void)state;
  static const WsQuantityInfo infos[] = {
    { "chip_depth_b", WS_UNIT_LENGTH, NULL, "Chip depth b", "" },
    { "corner_wear_b", WS_UNIT_LENGTH, NULL, "Corner wear b", "" },
    { "corner_radius_left", WS_UNIT_LENGTH, NULL, "Corner radius left", "" },
    { "lip_height_difference", WS_UNIT_LENGTH, NULL, "Lip height a - b", "" },
    { "point_offset", WS_UNIT_LENGTH, NULL, "Point offset", "" },
    { "front_relief", WS_UNIT_DEGREE, NULL, "Front relief", "" },
  };
  static const char *const words[] = { "chip 0.093 mm",         "worn corner 0.093 mm",
                                       "worn corner 0.093 mm",  "lip stands higher 0.093 mm",
                                       "point off by 0.093 mm", "Front relief -0.09°" };
  static const WsPoint at = { 30, 20 };
  for (gsize i = 0; i < G_N_ELEMENTS (infos); i++)
  {
    g_autoptr (Sample) sample = sample_new (TRUE);
    g_ptr_array_set_size (sample->result->marks, 0);
    WsQuantity *quantity = wsi_result_add_quantity (sample->result, &infos[i], TRUE);
    sample_set (quantity, i < 3 ? 0.09321 : -0.09321, 0.0002, WS_VERDICT_REJECT);
    wsi_quantity_set_place (quantity, at);
    GArray *labels = labels_of (sample);
    assert_int_equal (labels->len, 1);
    assert_string_equal (g_array_index (labels, WsLabel, 0).text, words[i]);
    assert_true (g_array_index (labels, WsLabel, 0).place.is_placed);
    g_array_unref (labels);
  }
}

/* An angle that has a ring with its value isn't told twice; a chip's ring has its depth. */
static void
test_told_once (void **state)
{
  (void)state;
  for (int ringed = 0; ringed < 2; ringed++)
  {
    g_autoptr (Sample) sample = sample_new (TRUE);
    if (ringed)
      wsi_quantity_set_place (quantity_of (sample, 0), wsi_point (30, 28));
    GArray *labels = labels_of (sample);
    guint n_angle = 0, n_chip = 0;
    for (guint i = 0; i < labels->len; i++)
    {
      const char *text = g_array_index (labels, WsLabel, i).text;
      n_angle += strstr (text, "121.46°") != NULL;
      n_chip += g_str_equal (text, "chip 0.000 mm");
    }
    assert_int_equal (n_angle, 1);
    assert_int_equal (n_chip, 1);
    g_array_unref (labels);
  }
}

/* One of a family has its number, and its value where that is amiss. */
static void
test_numbered_angles (void **state)
{
  (void)state;
  static const WsQuantityInfo family = { "corner_N_angle", WS_UNIT_DEGREE, NULL, "Corner N angle",
                                         "" };
  static const WsPoint arms[] = { { 10, 40 }, { 30, 10 }, { 50, 40 } };
  static const char *const words[] = { "C3", "C3", "C3: 89.72°", "C3: 89.72°" };
  for (int verdict = WS_VERDICT_NONE; verdict <= WS_VERDICT_REJECT; verdict++)
  {
    g_autoptr (Sample) sample = sample_new (TRUE);
    g_ptr_array_set_size (sample->result->marks, 0);
    WsQuantity *quantity = wsi_result_add_numbered (sample->result, &family, 3, TRUE);
    sample_set (quantity, 89.721, 0.01, (WsVerdict)verdict);
    wsi_result_add_mark (sample->result, WS_MARK_ANGLE, quantity->info->stem, arms, 3);
    GArray *labels = labels_of (sample);
    assert_int_equal (labels->len, 1);
    assert_string_equal (g_array_index (labels, WsLabel, 0).text, words[verdict]);
    g_array_unref (labels);
  }
}

/* Half angles, which have no limits themselves, show what is judged of the two: the worst of it. */
static void
test_half_angles (void **state)
{
  (void)state;
  static const WsQuantityInfo difference = { "half_angle_difference", WS_UNIT_DEGREE, NULL,
                                             "Half angle a - b", "" };
  static const WsVerdict cases[][3] = {
    /* sum, difference, the colour of which */
    { WS_VERDICT_ACCEPT, WS_VERDICT_ACCEPT, WS_VERDICT_NONE },
    { WS_VERDICT_REJECT, WS_VERDICT_ACCEPT, WS_VERDICT_REJECT },
    { WS_VERDICT_NONE, WS_VERDICT_REJECT, WS_VERDICT_REJECT },
    { WS_VERDICT_UNDECIDED, WS_VERDICT_ACCEPT, WS_VERDICT_UNDECIDED },
    { WS_VERDICT_REJECT, WS_VERDICT_UNDECIDED, WS_VERDICT_REJECT },
    { WS_VERDICT_UNDECIDED, WS_VERDICT_REJECT, WS_VERDICT_REJECT }
  };
  for (gsize i = 0; i < G_N_ELEMENTS (cases); i++)
  {
    g_autoptr (Sample) sample = sample_new (TRUE);
    const WsColour colour =
      cases[i][2] == WS_VERDICT_NONE ? WS_WHITE : wsi_canvas_verdict_colour (cases[i][2]);
    quantity_of (sample, 0)->verdict = cases[i][0];
    sample_set (wsi_result_add_quantity (sample->result, &difference, TRUE), 0.2, 0.01,
                cases[i][1]);
    GArray *labels = labels_of (sample);
    guint n = 0;
    for (guint k = 0; k < labels->len; k++)
    {
      const WsLabel *label = &g_array_index (labels, WsLabel, k);
      if (!g_str_equal (label->text, "60.70°"))
        continue;
      n++;
      assert_memory_equal (&label->colour, &colour, sizeof colour);
    }
    assert_int_equal (n, 1);
    g_array_unref (labels);
  }
}

/* An angle that is amiss has its name. */
static void
test_names_of_angles (void **state)
{
  (void)state;
  static const char *const words[] = { "121.46°", "121.46°", "Point angle 121.46°",
                                       "Point angle 121.46°" };
  for (int verdict = WS_VERDICT_NONE; verdict <= WS_VERDICT_REJECT; verdict++)
  {
    g_autoptr (Sample) sample = sample_new (TRUE);
    quantity_of (sample, 0)->verdict = (WsVerdict)verdict;
    GArray *labels = labels_of (sample);
    guint n = 0;
    for (guint k = 0; k < labels->len; k++)
      n += g_str_equal (g_array_index (labels, WsLabel, k).text, words[verdict]) ? 1 : 0;
    assert_int_equal (n, 1);
    g_array_unref (labels);
  }
}

/* Letters get smaller in three steps where there is no room; a label that has none at all is left
 * out. */
static void
test_smaller_letters (void **state)
{
  (void)state;
  static const WsPoint at = { 30, 20 };
  static const double widths[] = { 600, 250, 180, 20 };
  static const double sizes[] = { 1.0, 0.75, 0.55, 0.55 };
  for (gsize i = 0; i < G_N_ELEMENTS (widths); i++)
  {
    g_autoptr (Sample) sample = sample_new (TRUE);
    g_ptr_array_set_size (sample->result->marks, 0);
    quantity_of (sample, 0)->verdict = WS_VERDICT_REJECT;
    wsi_quantity_set_place (quantity_of (sample, 0), at);
    GArray *labels = labels_in (sample, widths[i]);
    assert_int_equal (labels->len, 1);
    const WsLabel *label = &g_array_index (labels, WsLabel, 0);
    assert_near (label->size, sizes[i], 0);
    assert_int_equal (label->place.is_placed, i < 3);
    if (i < 3)
      assert_true (label->place.box.x >= 20 &&
                   label->place.box.x + label->place.box.width <= 20 + widths[i]);
    g_array_unref (labels);
  }
}

/* Small ones that belong to an edge come first, then what is wrong, values last. */
static void
test_order (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = sample_new (TRUE);
  GArray *labels = labels_of (sample);
  const char *const words[] = { "a", "b", "chip 0.000 mm", "Point angle 121.46°", "60.70°" };
  assert_int_equal (labels->len, G_N_ELEMENTS (words));
  for (guint i = 0; i < labels->len; i++)
    assert_string_equal (g_array_index (labels, WsLabel, i).text, words[i]);
  g_array_unref (labels);
}

static gboolean
is_near (cairo_surface_t *surface, int x, int y, WsColour colour)
{
  const guchar *p =
    cairo_image_surface_get_data (surface) + y * cairo_image_surface_get_stride (surface) + 4 * x;
  return fabs (p[0] - 255 * colour.b) < 2 && fabs (p[1] - 255 * colour.g) < 2 &&
         fabs (p[2] - 255 * colour.r) < 2;
}

/* What is written lies where it was placed: a tag fills its box, a disc too, and bare letters with
 * their halo lie within theirs. */
static void
test_written_in_its_place (void **state)
{
  (void)state;
  static const WsColour ground = { 0.5, 0.5, 0.5 };
  static const struct
  {
    WsColour colour;
    gboolean on_disc;
  } all[] = { { { 0.835, 0.369, 0 }, FALSE },
              { { 0.941, 0.894, 0.259 }, TRUE },
              { { 1, 1, 1 }, FALSE } };
  for (gsize i = 0; i < G_N_ELEMENTS (all); i++)
  {
    g_autoptr (Sample) sample = sample_new (TRUE);
    cairo_surface_t *surface = cairo_image_surface_create (CAIRO_FORMAT_RGB24, 640, 540);
    const WsSheet sheet = {
      .cr = cairo_create (surface), .factor = 10, .width = 640, .height = 540, .unit = 1
    };
    g_ptr_array_set_size (sample->result->marks, 0);
    GArray *labels = wsi_labels_new ();
    g_autoptr (GArray) symbols = g_array_new (FALSE, FALSE, sizeof (WsArea));
    const WsDrawing drawing = { &sheet, &sample->report, { 0, 0 }, labels, symbols };
    const WsLabel label = { .text = g_strdup ("X"),
                            .colour = all[i].colour,
                            .on_disc = all[i].on_disc,
                            .from = { 300, 200 },
                            .away = { 1, 0 },
                            .gap = 10 };
    wsi_canvas_box (sheet.cr, ground, 0, 0, 640, 540);
    wsi_drawing_add_label (&drawing, &label);
    wsi_drawing_write_labels (&drawing);
    cairo_surface_flush (surface);
    const WsArea box = g_array_index (labels, WsLabel, 0).place.box;
    int left = 640, right = 0, top = 540, bottom = 0, n = 0;
    for (int y = 0; y < 540; y++)
      for (int x = 0; x < 640; x++)
        if (!is_near (surface, x, y, ground))
        {
          left = MIN (left, x);
          right = MAX (right, x + 1);
          top = MIN (top, y);
          bottom = MAX (bottom, y + 1);
          n++;
        }
    assert_near (box.x, 310, 1e-9);
    const double slack = i < 2 ? 1.01 : 4.0;
    assert_true (left >= box.x - slack && right <= box.x + box.width + slack);
    assert_true (top >= box.y - slack && bottom <= box.y + box.height + slack);
    assert_near (0.5 * (left + right), box.x + 0.5 * box.width, 2);
    /* A disc has pi / 4 of its box. */
    if (i < 2)
      assert_near (n / (box.width * box.height), i == 0 ? 1.0 : 0.25 * G_PI, 0.06);
    assert_int_equal (
      is_near (surface, (int)(box.x + 0.5 * box.width), (int)box.y + 3, all[i].colour), i < 2);
    g_array_unref (labels);
    cairo_destroy (sheet.cr);
    cairo_surface_destroy (surface);
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_names_of_faults), cmocka_unit_test (test_told_once),
    cmocka_unit_test (test_numbered_angles), cmocka_unit_test (test_half_angles),
    cmocka_unit_test (test_names_of_angles), cmocka_unit_test (test_smaller_letters),
    cmocka_unit_test (test_order),           cmocka_unit_test (test_written_in_its_place),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
