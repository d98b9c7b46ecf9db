/*
 * Marks are drawn on a grey sheet that nothing else is drawn on: what isn't grey is the mark.
 */
#include "report/picture/marks.h"

#include "base/geometry.h"
#include "report/canvas.h"
#include "report/sample_for_tests.h"

/* A picture of 60 x 48 px, ten times as large, in the midst of the sheet. */
#define FACTOR 10
#define LEFT 20
#define TOP 30
#define WIDTH 600
#define HEIGHT 480
#define SHEET_WIDTH 640
#define SHEET_HEIGHT 540

/* Sheet px of a line of normal width: what is meant for the eye grows with it. */
static double unit;

static const WsColour ground = { 0.5, 0.5, 0.5 };

typedef struct
{
  int left, right, top, bottom; /* ends not included */
  guint n;
} Found;

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

/* From row `top` to before row `bottom`, from column `left` to before column `right`. */
static Found
find_in (cairo_surface_t *surface, WsColour colour, gboolean other, int left, int top, int right,
         int bottom)
{
  Found found = { G_MAXINT, 0, G_MAXINT, 0, 0 };
  for (int y = top; y < bottom; y++)
    for (int x = left; x < right; x++)
    {
      if (is_near (surface, x, y, colour) == other)
        continue;
      found.left = MIN (found.left, x);
      found.right = MAX (found.right, x + 1);
      found.top = MIN (found.top, y);
      found.bottom = MAX (found.bottom, y + 1);
      found.n++;
    }
  return found;
}

static Found
find (cairo_surface_t *surface, WsColour colour, gboolean other)
{
  return find_in (surface, colour, other, 0, 0, SHEET_WIDTH, SHEET_HEIGHT);
}

static cairo_surface_t *
sheet_new (WsSheet *sheet)
{
  cairo_surface_t *surface =
    cairo_image_surface_create (CAIRO_FORMAT_RGB24, SHEET_WIDTH, SHEET_HEIGHT);
  *sheet = (WsSheet){ .cr = cairo_create (surface),
                      .factor = FACTOR,
                      .x = LEFT,
                      .y = TOP,
                      .width = WIDTH,
                      .height = HEIGHT,
                      .unit = unit };
  wsi_canvas_box (sheet->cr, ground, 0, 0, SHEET_WIDTH, SHEET_HEIGHT);
  return surface;
}

static cairo_surface_t *
draw_marks (const Sample *sample)
{
  WsSheet sheet;
  cairo_surface_t *surface = sheet_new (&sheet);
  g_array_unref (wsi_marks_draw (&sheet, &sample->report, NULL));
  cairo_destroy (sheet.cr);
  cairo_surface_flush (surface);
  return surface;
}

static cairo_surface_t *
draw_mark (WsMarkRole role, const char *label, const WsPoint *points, gsize n)
{
  g_autoptr (Sample) sample = sample_new (TRUE);
  g_ptr_array_set_size (sample->result->marks, 0);
  wsi_result_add_mark (sample->result, role, label, points, n);
  return draw_marks (sample);
}

/* Of a picture's point, on the sheet. */
static WsPoint
place (WsPoint point)
{
  return wsi_point (LEFT + FACTOR * (point.x + 0.5), TOP + FACTOR * (point.y + 0.5));
}

static gboolean
shows (cairo_surface_t *surface, WsPoint point, WsColour colour)
{
  const WsPoint at = place (point);
  for (int y = (int)at.y - 2; y <= (int)at.y + 1; y++)
    for (int x = (int)at.x - 2; x <= (int)at.x + 1; x++)
      if (is_near (surface, x, y, colour))
        return TRUE;
  return FALSE;
}

/* What was drawn lies within the box about some points, `reach` px of the sheet wider. */
static void
assert_within (cairo_surface_t *surface, WsPoint low, WsPoint high, double reach)
{
  reach *= unit;
  const Found drawn = find (surface, ground, TRUE);
  const WsPoint from = place (low), to = place (high);
  assert_true (drawn.n > 0);
  assert_near (drawn.left, from.x - reach, 1.5);
  assert_near (drawn.right, to.x + reach, 1.5);
  assert_near (drawn.top, from.y - reach, 1.5);
  assert_near (drawn.bottom, to.y + reach, 1.5);
}

/* Two sides of a square: an open polyline in its colour, as wide as it is meant, casing included,
 * and nothing elsewhere. */
static void
test_polylines (void **state)
{
  (void)state;
  static const struct
  {
    WsMarkRole role;
    const char *label;
    WsColour colour;
    double width; /* with the casing, 1.4 */
  } all[] = {
    { WS_MARK_OUTLINE, NULL, { 1.0, 1.0, 1.0 }, 3.0 },
    { WS_MARK_EDGE_USED, "a", { 0.337, 0.706, 0.914 }, 9.4 },
    { WS_MARK_EDGE_USED, "b", { 0.941, 0.894, 0.259 }, 9.4 },
    { WS_MARK_SEGMENT, NULL, { 0.337, 0.706, 0.914 }, 5.4 },
    { WS_MARK_NOMINAL, NULL, { 0.8, 0.475, 0.655 }, 2.6 },
    { WS_MARK_DEVIATION, NULL, { 1.0, 1.0, 1.0 }, 3.8 },
  };
  /* In the middle of a px of the sheet, so that thin lines have their colour in full. */
  static const WsPoint points[] = { { 10.05, 10.05 }, { 30.05, 10.05 }, { 30.05, 40.05 } };
  for (gsize i = 0; i < G_N_ELEMENTS (all); i++)
  {
    cairo_surface_t *surface = draw_mark (all[i].role, all[i].label, points, 3);
    assert_true (shows (surface, wsi_point (11, 10), all[i].colour));
    assert_true (shows (surface, wsi_point (20, 10), all[i].colour));
    assert_true (shows (surface, wsi_point (30, 39), all[i].colour));
    assert_false (shows (surface, wsi_point (20, 25), all[i].colour));
    const Found drawn = find (surface, ground, TRUE);
    const double half = 0.5 * all[i].width * unit;
    assert_near (drawn.left, place (points[0]).x, 1);
    assert_near (drawn.top, place (points[0]).y - half, 1);
    assert_near (drawn.right, place (points[1]).x + half, 1);
    assert_near (drawn.bottom, place (points[2]).y, 1);
    cairo_surface_destroy (surface);
  }
}

/* Numbers in turns of two colours. */
static void
test_segments_take_turns (void **state)
{
  (void)state;
  static const WsPoint points[] = { { 10, 10 }, { 20, 10 }, { 30, 10 } };
  static const char *const labels[] = { "1", "2", "3", "4" };
  for (guint i = 0; i < G_N_ELEMENTS (labels); i++)
  {
    cairo_surface_t *surface = draw_mark (WS_MARK_SEGMENT, labels[i], points, 3);
    assert_int_equal (find (surface, WS_YELLOW, FALSE).n > 100, i % 2 == 1);
    assert_int_equal (find (surface, WS_SKY_BLUE, FALSE).n > 100, i % 2 == 0);
    /* The number stands in the tool, right of the way along the outline: below, and no further
     * than its letters need. */
    const Found drawn = find (surface, ground, TRUE);
    assert_in_range (drawn.bottom, (int)(place (points[0]).y + 26 * unit),
                     (int)(place (points[0]).y + 45 * unit));
    cairo_surface_destroy (surface);
  }
}

/* Chain and dashes: where the first gap is. */
static void
test_axes (void **state)
{
  (void)state;
  static const WsPoint ends[] = { { 30, 5 }, { 30, 40 } };
  cairo_surface_t *axis = draw_mark (WS_MARK_AXIS, NULL, ends, 2);
  cairo_surface_t *envelope = draw_mark (WS_MARK_ENVELOPE, NULL, ends, 2);
  assert_true (shows (axis, wsi_point (30, 5 + 1.6 * unit), WS_PURPLE));
  assert_false (shows (axis, wsi_point (30, 5 + 2.9 * unit), WS_PURPLE));
  assert_true (shows (envelope, wsi_point (30, 5 + 0.6 * unit), WS_PURPLE));
  assert_false (shows (envelope, wsi_point (30, 5 + 1.6 * unit), WS_PURPLE));
  const Found drawn = find (axis, ground, TRUE);
  assert_near (drawn.right - drawn.left, 3.6 * unit, 1);
  assert_near (drawn.top, place (ends[0]).y, 1);
  assert_in_range (drawn.bottom, (int)place (ends[1]).y - 6, (int)place (ends[1]).y + 1);
  cairo_surface_destroy (axis);
  cairo_surface_destroy (envelope);
}

/* Run on by 8 % at both ends. */
static void
test_edge_lines (void **state)
{
  (void)state;
  static const WsPoint ends[] = { { 10, 30 }, { 50, 30 } };
  cairo_surface_t *bare = draw_mark (WS_MARK_EDGE_LINE, NULL, ends, 2);
  const Found line = find (bare, ground, TRUE);
  assert_near (line.left, place (ends[0]).x - 32, 1.5);
  assert_near (line.right, place (ends[1]).x + 32, 7 * unit);
  assert_near (line.bottom - line.top, 3.4 * unit, 1);
  cairo_surface_destroy (bare);
}

/* The letter stands outside of the tool, on either side of the line: 48 from it at a fifth of its
 * length. */
static void
test_letters_stand_outside (void **state)
{
  (void)state;
  static const WsPoint lines[2][2] = { { { 10, 30 }, { 50, 30 } }, { { 30, 5 }, { 30, 45 } } };
  for (int i = 0; i < 4; i++)
  {
    const gboolean upright = i / 2, before = i % 2;
    const double tool = before ? 20 : 40, out = (before ? 4.8 : -4.8) * unit;
    const WsPoint outline[] = { upright ? wsi_point (tool, 10) : wsi_point (10, tool),
                                upright ? wsi_point (tool, 40) : wsi_point (50, tool) };
    g_autoptr (Sample) sample = sample_new (TRUE);
    g_ptr_array_set_size (sample->result->marks, 0);
    wsi_result_add_mark (sample->result, WS_MARK_OUTLINE, NULL, outline, 2);
    wsi_result_add_mark (sample->result, WS_MARK_EDGE_LINE, "b", lines[upright], 2);
    cairo_surface_t *surface = draw_marks (sample);
    /* Beside the letter on its disc. */
    const WsPoint middle = upright ? wsi_point (30 + out, 13) : wsi_point (18, 30 + out);
    assert_true (shows (surface, wsi_point (middle.x - 1.8 * unit, middle.y), WS_YELLOW));
    assert_true (shows (surface, wsi_point (middle.x + 1.8 * unit, middle.y), WS_YELLOW));
    const WsPoint other = upright ? wsi_point (30 - out, 13) : wsi_point (18, 30 - out);
    assert_false (shows (surface, wsi_point (other.x - 1.8 * unit, other.y), WS_YELLOW));
    assert_int_equal (find (surface, WS_SKY_BLUE, FALSE).n, 0);
    cairo_surface_destroy (surface);
  }
}

/* Symbols about their points, as large as they are meant to be. */
static void
test_points (void **state)
{
  (void)state;
  static const struct
  {
    WsMarkRole role;
    WsColour colour;
    double reach;
    double on; /* px right of the point, where the symbol is */
  } all[] = {
    { WS_MARK_APEX, { 1, 1, 1 }, 18, 9 },
    { WS_MARK_CORNER, { 1, 1, 1 }, 8 + 1.8, 8 },
    { WS_MARK_WORST, { 1, 1, 1 }, 13 + 2.2, 13 },
  };
  static const WsPoint at = { 20, 30 };
  for (gsize i = 0; i < G_N_ELEMENTS (all); i++)
  {
    cairo_surface_t *surface = draw_mark (all[i].role, "nothing", &at, 1);
    assert_within (surface, at, at, all[i].reach);
    assert_true (
      shows (surface, wsi_point (at.x + all[i].on * unit / FACTOR, at.y), all[i].colour));
    assert_true (
      shows (surface, wsi_point (at.x - all[i].on * unit / FACTOR, at.y), all[i].colour));
    assert_false (shows (surface, at, all[i].colour));
    cairo_surface_destroy (surface);
  }
}

/* An arc about the vertex, between the arms and nowhere else, whichever arm comes first; that of
 * a half angle farther out. */
static void
test_angles (void **state)
{
  (void)state;
  static const WsPoint turns[][3] = { { { 40, 10 }, { 10, 10 }, { 10, 40 } },
                                      { { 10, 40 }, { 10, 10 }, { 40, 10 } } };
  static const char *const labels[] = { "nothing", "half_nothing" };
  static const double radii[] = { 0.24 * 30, 0.74 * 30 };
  for (guint i = 0; i < G_N_ELEMENTS (turns); i++)
    for (guint k = 0; k < G_N_ELEMENTS (labels); k++)
    {
      cairo_surface_t *surface = draw_mark (WS_MARK_ANGLE, labels[k], turns[i], 3);
      const double r = radii[k];
      assert_true (shows (surface, wsi_point (10 + r * M_SQRT1_2, 10 + r * M_SQRT1_2), WS_WHITE));
      assert_true (shows (surface, wsi_point (10 + r, 10.3), WS_WHITE));
      const Found drawn = find (surface, ground, TRUE);
      assert_near (drawn.left, LEFT + FACTOR * 10.5, 1.5);
      assert_near (drawn.top, TOP + FACTOR * 10.5, 1.5);
      assert_near (drawn.right, LEFT + FACTOR * (10.5 + r) + 1.7 * unit, 1.5);
      cairo_surface_destroy (surface);
    }
  /* One that is known has its value beside it. */
  cairo_surface_t *bare = draw_mark (WS_MARK_ANGLE, "nothing", turns[0], 3);
  cairo_surface_t *told = draw_mark (WS_MARK_ANGLE, "point_angle_deg", turns[0], 3);
  assert_true (find (told, ground, TRUE).n > find (bare, ground, TRUE).n + 400);
  cairo_surface_destroy (bare);
  cairo_surface_destroy (told);
}

/* A ring about the bottom of the notch, never less than 18 px. */
static void
test_chips (void **state)
{
  (void)state;
  static const struct
  {
    WsPoint points[2];
    double radius;
  } all[] = { { { { 20, 20 }, { 20, 20.5 } }, 18 }, { { { 20, 17 }, { 20, 20 } }, 36 } };
  for (gsize i = 0; i < G_N_ELEMENTS (all); i++)
  {
    cairo_surface_t *surface = draw_mark (WS_MARK_CHIP, "a", all[i].points, 2);
    /* The name's tag, above, is of the same colour. */
    const WsPoint middle = place (all[i].points[1]);
    const Found ring =
      find_in (surface, WS_VERMILION, FALSE, 0, (int)middle.y - 1, SHEET_WIDTH, SHEET_HEIGHT);
    const double r = MAX (18 * unit, all[i].radius) + 1.75 * unit;
    assert_near (ring.left, middle.x - r, 1.1);
    assert_near (ring.right, middle.x + r, 1.1);
    assert_near (ring.bottom, middle.y + r, 1.1);
    /* "chip" stands above, where the lip is. */
    assert_true (find (surface, WS_VERMILION, FALSE).top < middle.y - r - 15);
    assert_near (find (surface, ground, TRUE).bottom, ring.bottom, 2);
    cairo_surface_destroy (surface);
  }
}

/* Regions are closed lines: what lies within stays as it was, for its colour is what one must
 * see. */
static void
test_regions (void **state)
{
  (void)state;
  static const struct
  {
    WsMarkRole role;
    const char *label;
    WsColour colour;
    double reach;
    double solid; /* part of the line that isn't a gap, at most */
  } all[] = {
    { WS_MARK_BURN, "straw", { 0.835, 0.369, 0.0 }, 1.8, 1.0 },
    { WS_MARK_BURN, "brown", { 0.835, 0.369, 0.0 }, 1.8, 0.75 },
    { WS_MARK_BURN, "purple", { 0.835, 0.369, 0.0 }, 1.8, 0.6 },
    { WS_MARK_BURN, "blue", { 0.835, 0.369, 0.0 }, 1.8, 0.45 },
    { WS_MARK_BURN, "grey", { 0.835, 0.369, 0.0 }, 1.8, 0.3 },
    { WS_MARK_LAND, "nothing", { 0.337, 0.706, 0.914 }, 1.9, 1.0 },
  };
  static const WsPoint box[] = { { 12, 10 }, { 48, 10 }, { 48, 40 }, { 12, 40 } };
  const WsPoint from = place (box[0]), to = place (box[2]);
  double before = 2.0;
  for (gsize i = 0; i < G_N_ELEMENTS (all); i++)
  {
    cairo_surface_t *surface = draw_mark (all[i].role, all[i].label, box, 4);
    const int reach = (int)ceil (all[i].reach * unit) + 1;
    assert_int_equal (find_in (surface, ground, TRUE, (int)from.x + reach, (int)from.y + reach,
                               (int)to.x - reach, (int)to.y - reach)
                        .n,
                      0);
    /* Its last side, too. */
    const Found last =
      find_in (surface, all[i].colour, FALSE, (int)from.x - reach, (int)from.y + 2 * reach,
               (int)from.x + reach, (int)to.y - 2 * reach);
    assert_near (0.5 * (last.left + last.right), from.x, 1);
    assert_true (last.top < from.y + 2 * reach + 12 * unit);
    assert_true (last.bottom > to.y - 2 * reach - 12 * unit);
    const double part = last.n / ((last.right - last.left) * (to.y - from.y - 4 * reach));
    assert_true (part <= all[i].solid && part > 0.05);
    /* Each film has longer gaps than the one before. */
    if (all[i].role == WS_MARK_BURN)
      assert_true (part < before);
    before = part;
    cairo_surface_destroy (surface);
  }
}

/* Films have their names in regions of 40 and more. */
static void
test_names_of_films (void **state)
{
  (void)state;
  static const double sides[] = { 3.9, 4.1 };
  for (guint i = 0; i < G_N_ELEMENTS (sides); i++)
  {
    const double side = sides[i] * unit;
    const WsPoint box[] = {
      { 20, 20 }, { 20 + side, 20 }, { 20 + side, 20 + side }, { 20, 20 + side }
    };
    cairo_surface_t *surface = draw_mark (WS_MARK_BURN, "purple", box, 4);
    const Found drawn = find (surface, ground, TRUE);
    assert_int_equal (drawn.right > place (box[1]).x + 10 * unit, i > 0);
    cairo_surface_destroy (surface);
  }
}

static WsQuantity *
quantity_of (const Sample *sample, guint i)
{
  return g_ptr_array_index (sample->result->quantities, i);
}

/* What is judged amiss and has a place has a ring about it and its name on a tag, in the colour of
 * its verdict; what is good, or unknown, or has no place, has none, nor has anything of a tool that
 * may be another than the card's. */
static void
test_faults (void **state)
{
  (void)state;
  static const WsPoint at = { 30, 20 };
  for (int verdict = WS_VERDICT_NONE; verdict <= WS_VERDICT_REJECT; verdict++)
    for (int kind = 0; kind < 4; kind++)
    {
      g_autoptr (Sample) sample = sample_new (TRUE);
      g_ptr_array_set_size (sample->result->marks, 0);
      sample->result->hold = kind == 3 ? WS_HOLD_VERDICT : WS_HOLD_NONE;
      for (guint i = 0; i < sample->result->quantities->len; i++)
        quantity_of (sample, i)->verdict = WS_VERDICT_NONE;
      WsQuantity *quantity = quantity_of (sample, 2);
      quantity->verdict = (WsVerdict)verdict;
      if (kind > 0)
        wsi_quantity_set_place (quantity, at);
      quantity->known = kind != 2;
      cairo_surface_t *surface = draw_marks (sample);
      const gboolean is_amiss = verdict == WS_VERDICT_REJECT || verdict == WS_VERDICT_UNDECIDED;
      const WsColour colour = wsi_canvas_verdict_colour ((WsVerdict)verdict);
      const WsPoint middle = place (at);
      if (kind == 1 && is_amiss)
      {
        /* No further than the ring to the right, at its middle. */
        const Found ring =
          find_in (surface, colour, FALSE, 0, (int)middle.y, SHEET_WIDTH, (int)middle.y + 1);
        assert_near (ring.left, middle.x - 19.75 * unit, 1.1);
        assert_near (ring.right, middle.x + 19.75 * unit, 1.1);
        assert_true (find (surface, colour, FALSE).n > 3000 * unit * unit);
      }
      else
        assert_int_equal (find (surface, ground, TRUE).n, 0);
      cairo_surface_destroy (surface);
    }
}

/* Where a profile deviates most is a fault only where it is judged one. */
static void
test_worst (void **state)
{
  (void)state;
  static const WsColour colours[] = {
    { 1, 1, 1 }, { 1, 1, 1 }, { 0.902, 0.624, 0 }, { 0.835, 0.369, 0 }
  };
  static const WsPoint at = { 30, 20 };
  for (int verdict = WS_VERDICT_NONE; verdict <= WS_VERDICT_REJECT; verdict++)
  {
    g_autoptr (Sample) sample = sample_new (TRUE);
    g_ptr_array_set_size (sample->result->marks, 0);
    quantity_of (sample, 2)->verdict = (WsVerdict)verdict;
    wsi_result_add_mark (sample->result, WS_MARK_WORST, "diameter", &at, 1);
    cairo_surface_t *surface = draw_marks (sample);
    if (verdict == WS_VERDICT_ACCEPT)
      assert_int_equal (find (surface, ground, TRUE).n, 0);
    else
      assert_true (shows (surface, wsi_point (at.x + 13 * unit / FACTOR, at.y), colours[verdict]));
    cairo_surface_destroy (surface);
  }
}

/* What is neither judged nor damage has none of the verdicts' colours. */
static void
test_verdicts_have_their_colours_alone (void **state)
{
  (void)state;
  static const WsPoint points[] = { { 10, 10 }, { 30, 20 }, { 50, 10 } };
  static const char *const labels[] = { "a", "b", "1", "2", "half_angle_a_deg", "diameter" };
  for (int role = WS_MARK_OUTLINE; role <= WS_MARK_WORST; role++)
    for (gsize i = 0; i < G_N_ELEMENTS (labels); i++)
    {
      if (role == WS_MARK_CHIP || role == WS_MARK_BURN)
        continue;
      g_autoptr (Sample) sample = sample_new (TRUE);
      g_ptr_array_set_size (sample->result->marks, 0);
      for (guint k = 0; k < sample->result->quantities->len; k++)
        quantity_of (sample, k)->verdict = k % 2 ? WS_VERDICT_NONE : WS_VERDICT_ACCEPT;
      wsi_result_add_mark (sample->result, (WsMarkRole)role, labels[i], points, 3);
      cairo_surface_t *surface = draw_marks (sample);
      for (int verdict = WS_VERDICT_ACCEPT; verdict <= WS_VERDICT_RETAKE; verdict++)
        assert_int_equal (find (surface, wsi_canvas_verdict_colour ((WsVerdict)verdict), FALSE).n,
                          0);
      cairo_surface_destroy (surface);
    }
}

/* What lies outside of the picture isn't drawn. */
static void
test_nothing_beside_the_picture (void **state)
{
  (void)state;
  static const WsPoint points[] = { { -30, -30 }, { 90, 80 } };
  cairo_surface_t *surface = draw_mark (WS_MARK_EDGE_USED, "a", points, 2);
  const Found drawn = find (surface, ground, TRUE);
  assert_true (drawn.n > 1000);
  assert_true (drawn.left >= LEFT && drawn.right <= LEFT + WIDTH);
  assert_true (drawn.top >= TOP && drawn.bottom <= TOP + HEIGHT);
  cairo_surface_destroy (surface);
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
    cmocka_unit_test (test_polylines),
    cmocka_unit_test (test_segments_take_turns),
    cmocka_unit_test (test_axes),
    cmocka_unit_test (test_edge_lines),
    cmocka_unit_test (test_letters_stand_outside),
    cmocka_unit_test (test_names_of_films),
    cmocka_unit_test (test_points),
    cmocka_unit_test (test_angles),
    cmocka_unit_test (test_chips),
    cmocka_unit_test (test_regions),
    cmocka_unit_test (test_faults),
    cmocka_unit_test (test_worst),
    cmocka_unit_test (test_verdicts_have_their_colours_alone),
    cmocka_unit_test (test_nothing_beside_the_picture),
  };
  return cmocka_run_group_tests (tests, thin_lines, NULL) +
         cmocka_run_group_tests (tests, thick_lines, NULL);
}
