#include "tool/drill/end/painted_for_tests.h"

/* Noise, as every photograph has. */
#define GRAIN 0.004

#include <whetsight/view.h>

#define MM_PER_PX 0.01

static WsResult *
measured (const Painted *painted)
{
  g_autoptr (WsImage) image = paint (painted);
  WsOptics optics = WS_OPTICS_UNKNOWN;
  optics.has_scale = TRUE;
  optics.mm_per_px = MM_PER_PX;
  g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_TWIST_DRILL);
  return ws_measure (ws_view_find ("drill-end"), image, card, &optics);
}

static const WsQuantity *
quantity_of (const WsResult *result, const char *stem)
{
  const WsQuantity *quantity = ws_result_quantity (result, stem);
  if (quantity == NULL || !quantity->known)
    fail_msg ("%s isn't known", stem);
  return quantity;
}

static const WsMark *
mark_of (const WsResult *result, WsMarkRole role, const char *label)
{
  for (guint i = 0; i < result->marks->len; i++)
  {
    const WsMark *mark = g_ptr_array_index (result->marks, i);
    if (mark->role == role && g_strcmp0 (mark->label, label) == 0)
      return mark;
  }
  return NULL;
}

/* The picture is flat: the middle doesn't look larger, as it does in photographs, for which values
 * are corrected by half of the most it may be, 2 %. */
static void
values_are_those_painted (void **state)
{
  (void)state;
  Painted painted = PAINTED_POINT;
  painted.noise = GRAIN;
  g_autoptr (WsResult) result = measured (&painted);
  assert_string_equal (result->hand, "right");
  const double web = painted.web * MM_PER_PX;
  assert_near (quantity_of (result, "web_thickness")->value, web, 0.02 * web);
  assert_near (quantity_of (result, "chisel_edge_angle")->value, 180 - painted.acute_deg, 1.0);
  const double chisel = web / sin (wsi_radians (painted.acute_deg));
  assert_near (quantity_of (result, "chisel_edge_length")->value, chisel, 0.03 * chisel);
  assert_near (quantity_of (result, "web_centrality")->value, 0, 0.005);
  assert_near (quantity_of (result, "lip_parallelism")->value, 0, 0.15);
  const double arc = wsi_radians (painted.margin_deg) * painted.radius * MM_PER_PX;
  /* By 30 degrees of helix and 10 of relief: cos 30 (1 - tan 10 tan 30). */
  assert_near (quantity_of (result, "margin_width")->value, 0.7779 * arc, 0.02 * arc);
}

static void
marks_lie_on_what_was_painted (void **state)
{
  (void)state;
  Painted painted = PAINTED_POINT;
  painted.noise = GRAIN;
  g_autoptr (WsResult) result = measured (&painted);
  const WsMark *circle = mark_of (result, WS_MARK_ENVELOPE, NULL),
               *angle = mark_of (result, WS_MARK_ANGLE, "chisel_edge_angle"),
               *chord = mark_of (result, WS_MARK_EDGE_USED, "b");
  assert_non_null (circle);
  assert_non_null (angle);
  assert_non_null (chord);
  for (guint i = 0; i < circle->points->len; i++)
    assert_near (wsi_point_distance (g_array_index (circle->points, WsPoint, i), painted.centre),
                 painted.radius, 1.5);
  const WsPoint *arm = (const WsPoint *)(void *)angle->points->data;
  const WsPoint p = wsi_point_sub (arm[0], arm[1]), q = wsi_point_sub (arm[2], arm[1]);
  assert_near (
    wsi_degrees (acos (wsi_point_dot (p, q) / wsi_point_length (p) / wsi_point_length (q))),
    180 - painted.acute_deg, 1.5);
  /* Lip a is the left one. */
  const WsMark *a = mark_of (result, WS_MARK_CORNER, "a"),
               *b = mark_of (result, WS_MARK_CORNER, "b");
  assert_true (g_array_index (a->points, WsPoint, 0).x < g_array_index (b->points, WsPoint, 0).x);
}

/* One of eight: columns or rows the other way round, or rows for columns. */
typedef struct
{
  gboolean mirror_x, mirror_y, transpose;
} Turn;

static WsImage *
turned (const WsImage *image, Turn turn)
{
  const guint w = turn.transpose ? image->height : image->width,
              h = turn.transpose ? image->width : image->height;
  WsImage *to = ws_image_new (w, h, NULL);
  to->rgb = image->rgb != NULL ? g_malloc (3 * (gsize)w * h) : NULL;
  to->has_colour = image->has_colour;
  for (guint y = 0; y < h; y++)
    for (guint x = 0; x < w; x++)
    {
      const guint column = turn.mirror_x ? w - 1 - x : x, row = turn.mirror_y ? h - 1 - y : y;
      const gsize from = turn.transpose ? (gsize)column * image->width + row
                                        : (gsize)row * image->width + column,
                  at = (gsize)y * w + x;
      to->linear[at] = image->linear[from];
      for (guint k = 0; k < 3 && to->rgb != NULL; k++)
        to->rgb[3 * at + k] = image->rgb[3 * from + k];
    }
  return to;
}

static WsResult *
measured_turned (Turn turn)
{
  Painted painted = PAINTED_POINT;
  painted.noise = GRAIN;
  g_autoptr (WsImage) image = paint (&painted);
  g_autoptr (WsImage) seen = turned (image, turn);
  WsOptics optics = WS_OPTICS_UNKNOWN;
  optics.has_scale = TRUE;
  optics.mm_per_px = MM_PER_PX;
  g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_TWIST_DRILL);
  return ws_measure (ws_view_find ("drill-end"), seen, card, &optics);
}

/* Numbers don't depend on how the picture was turned or mirrored; the hand does on the latter, and
 * lip a is the left one of each. */
static void
turned_pictures_give_the_same (void **state)
{
  (void)state;
  static const char *const stems[] = { "web_thickness", "chisel_edge_angle", "chisel_edge_length",
                                       "web_centrality", "margin_width" };
  g_autoptr (WsResult) first = measured_turned ((Turn){ FALSE, FALSE, FALSE });
  for (guint k = 1; k < 8; k++)
  {
    const Turn turn = { (k & 1U) != 0, (k & 2U) != 0, (k & 4U) != 0 };
    g_autoptr (WsResult) result = measured_turned (turn);
    const gboolean odd = (turn.mirror_x != turn.mirror_y) != turn.transpose;
    for (guint i = 0; i < G_N_ELEMENTS (stems); i++)
      assert_near (quantity_of (result, stems[i])->value, quantity_of (first, stems[i])->value,
                   1e-9);
    assert_string_equal (result->hand, odd ? "left" : "right");
    const WsPoint a = g_array_index (mark_of (result, WS_MARK_CORNER, "a")->points, WsPoint, 0),
                  b = g_array_index (mark_of (result, WS_MARK_CORNER, "b")->points, WsPoint, 0);
    assert_true (a.x < b.x);
  }
}

/* What isn't seen isn't marked. */
static void
a_chisel_edge_without_contrast_is_not_known (void **state)
{
  (void)state;
  Painted painted = PAINTED_POINT;
  painted.noise = GRAIN;
  painted.flank[1] = painted.flank[0];
  g_autoptr (WsResult) result = measured (&painted);
  assert_int_equal (result->reason, WS_RETAKE_NONE);
  assert_null (ws_result_quantity (result, "chisel_edge_angle"));
  assert_null (mark_of (result, WS_MARK_ANGLE, "chisel_edge_angle"));
  assert_null (mark_of (result, WS_MARK_EDGE_USED, "b"));
  assert_non_null (mark_of (result, WS_MARK_CORNER, "a"));
  quantity_of (result, "web_thickness");
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (values_are_those_painted),
    cmocka_unit_test (marks_lie_on_what_was_painted),
    cmocka_unit_test (turned_pictures_give_the_same),
    cmocka_unit_test (a_chisel_edge_without_contrast_is_not_known),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
