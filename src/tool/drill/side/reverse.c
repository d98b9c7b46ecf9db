#include "tool/drill/side/reverse.h"

#include <string.h>

#include "base/geometry.h"
#include "result/build.h"
#include "tool/drill/side/quantities.h"

extern const WsView wsi_view_drill_side;

/* What a quantity is called half a turn on, where the other lip is on the left, and whether it has
 * the other sign there. */
static const struct
{
  const char *stem, *there;
  double sign;
} swaps[] = {
  { "half_angle_a", "half_angle_b", 1 },
  { "half_angle_b", "half_angle_a", 1 },
  { "half_angle_difference", "half_angle_difference", -1 },
  { "lip_length_a", "lip_length_b", 1 },
  { "lip_length_b", "lip_length_a", 1 },
  { "lip_length_difference", "lip_length_difference", -1 },
  { "lip_height_difference", "lip_height_difference", -1 },
  { "point_offset", "point_offset", -1 },
  { "corner_wear_a", "corner_wear_b", 1 },
  { "corner_wear_b", "corner_wear_a", 1 },
  { "lip_straightness_a", "lip_straightness_b", 1 },
  { "lip_straightness_b", "lip_straightness_a", 1 },
  { "chip_depth_a", "chip_depth_b", 1 },
  { "chip_depth_b", "chip_depth_a", 1 },
  { "burr_height_a", "burr_height_b", 1 },
  { "burr_height_b", "burr_height_a", 1 },
  { "burr_length_a", "burr_length_b", 1 },
  { "burr_length_b", "burr_length_a", 1 },
};

/* Lines that scatter from picture to picture, by how their names begin.  Edge noise is none: most
 * of what scatters about a lip's line is the lip's own form, which is the same half a turn on. */
static const char *const scattering[] = { "axis", "envelope", "hidden by" };

/* What a lean makes, and a skew of the picture: of the other sign in the second picture. */
static const char *const cancelling[] = { "alignment: axis leaning", "skew of the picture" };

/* By how much the lean may differ between both pictures, rad: a drill turned in the same block (own
 * choice: 5 um over 10 mm). */
#define LEAN_CHANGE 0.0005

/* A lean acts on half angles with the lips' turn, which isn't the same in both: this part of it
 * stays (rendered drills). */
#define TURN_CHANGE 0.2

/* Both pictures are of one drill, half a turn apart, if what they tell agrees to this many times
 * both U, and some more for what the lean does to half angles. */
#define AGREES_U 1.5
#define AGREES_DEG 0.15

typedef struct
{
  const WsResult *seen[2];
  char *sha256[2];
  guint n;
} Room;

static gpointer
begin (void)
{
  return g_new0 (Room, 1);
}

static void
end (gpointer data)
{
  Room *room = data;
  g_free (room->sha256[0]);
  g_free (room->sha256[1]);
  g_free (room);
}

static void
take (gpointer data, guint i, const WsImage *image, const WsToolCard *card, const WsOptics *optics,
      WsResult *result)
{
  Room *room = data;
  wsi_view_drill_side.measure (image, card, optics, result);
  room->seen[i] = result;
  room->sha256[i] = g_strdup (image->sha256);
  room->n++;
}

static gboolean
begins_with_one_of (const char *name, const char *const *beginnings, gsize n)
{
  for (gsize i = 0; i < n; i++)
    if (g_str_has_prefix (name, beginnings[i]))
      return TRUE;
  return FALSE;
}

/* The partner of a quantity in the second picture; NULL when unknown. */
static const WsQuantity *
partner_of (const Room *room, const char *stem, double *sign)
{
  *sign = 1;
  for (gsize i = 0; i < G_N_ELEMENTS (swaps); i++)
    if (g_str_equal (stem, swaps[i].stem))
    {
      *sign = swaps[i].sign;
      return ws_result_quantity (room->seen[1], swaps[i].there);
    }
  return ws_result_quantity (room->seen[1], stem);
}

static double
contribution_in (const WsQuantity *quantity, const char *line)
{
  double squares = 0;
  for (guint i = 0; i < quantity->budget->len; i++)
  {
    const WsBudgetLine *of = &g_array_index (quantity->budget, WsBudgetLine, i);
    if (g_str_equal (of->name, line))
      squares += ws_budget_line_contribution (of) * ws_budget_line_contribution (of);
  }
  return sqrt (squares);
}

/* A line of the mean, by both pictures' lines. */
static void
add_mean_line (const WsBudgetLine *line, const WsQuantity *other, WsQuantity *mean)
{
  const double here = ws_budget_line_contribution (line);
  const double there = contribution_in (other, line->name);
  if (begins_with_one_of (line->name, cancelling, G_N_ELEMENTS (cancelling)))
    return;
  const double u = begins_with_one_of (line->name, scattering, G_N_ELEMENTS (scattering))
                     ? 0.5 * hypot (here, there)
                     : 0.5 * (here + there);
  wsi_quantity_add_line (mean, line->name, line->distribution, u, 1);
}

/* Lips lie half a web before and behind the axis: of D some 15 %. */
#define USUAL_WEB 0.15

static void
add_change_line (const Room *room, WsQuantity *mean)
{
  const WsQuantity *diameter = ws_result_quantity (room->seen[0], "diameter");
  if (mean->info->unit != WS_UNIT_LENGTH || diameter == NULL ||
      !(contribution_in (mean, "alignment: lips turned") > 0 ||
        g_str_has_prefix (mean->info->stem, "lip_") ||
        g_str_equal (mean->info->stem, "point_offset")))
    return;
  wsi_quantity_add_line (mean, "alignment: lean that changed between both", WS_DISTRIBUTION_NORMAL,
                         0.5 * LEAN_CHANGE * USUAL_WEB * diameter->value, 1);
}

/* What shows in one picture alone is there: no mean with the nothing that the other shows. */
static gboolean
take_seen_once (const WsQuantity *here, const WsQuantity *there, WsQuantity *mean)
{
  if (!g_str_has_prefix (mean->info->stem, "burr_height") ||
      (here->value > 0) == (there->value > 0))
    return FALSE;
  const WsQuantity *seen = here->value > 0 ? here : there;
  wsi_quantity_set (mean, seen->value);
  for (guint k = 0; k < seen->budget->len; k++)
  {
    const WsBudgetLine *line = &g_array_index (seen->budget, WsBudgetLine, k);
    wsi_quantity_add_line (mean, line->name, line->distribution, line->u, line->sensitivity);
  }
  wsi_quantity_combine (mean);
  return TRUE;
}

static void
fill (const Room *room, guint i, const WsOptics *optics, WsResult *result)
{
  const WsQuantityInfo *info = &wsi_view_drill_side.quantities[i];
  WsQuantity *mean = wsi_result_add_quantity (result, info, optics->has_scale);
  const WsQuantity *here = ws_result_quantity (room->seen[0], info->stem);
  double sign;
  const WsQuantity *there = partner_of (room, info->stem, &sign);
  if (here == NULL || there == NULL)
    return;
  if (here->has_place)
    wsi_quantity_set_place (mean, here->where_px);
  mean->smallest_seen = MAX (here->smallest_seen, there->smallest_seen);
  if (take_seen_once (here, there, mean))
    return;
  wsi_quantity_set (mean, 0.5 * (here->value + sign * there->value));
  for (guint k = 0; k < here->budget->len; k++)
    add_mean_line (&g_array_index (here->budget, WsBudgetLine, k), there, mean);
  add_change_line (room, mean);
  wsi_quantity_combine (mean);
}

/* ---- Gates ------------------------------------------------------------------------------ */

static gboolean
agrees (const Room *room, const char *stem, double more)
{
  double sign;
  const WsQuantity *here = ws_result_quantity (room->seen[0], stem);
  const WsQuantity *there = partner_of (room, stem, &sign);
  return here == NULL || there == NULL ||
         fabs (here->value - sign * there->value) <= AGREES_U * hypot (here->U, there->U) + more;
}

static gboolean
are_of_one_drill (const Room *room, WsResult *result)
{
  if (g_strcmp0 (room->sha256[0], room->sha256[1]) == 0)
    return wsi_result_retake (result, WS_RETAKE_WRONG_VIEW,
                              "both are the same picture; turn the drill by half a turn");
  if (agrees (room, "point_angle", AGREES_DEG) && agrees (room, "half_angle_a", AGREES_DEG) &&
      agrees (room, "half_angle_b", AGREES_DEG) && agrees (room, "diameter", 0))
    return TRUE;
  return wsi_result_retake (result, WS_RETAKE_WRONG_VIEW,
                            "they aren't one drill's, half a turn apart: half angles or diameters "
                            "differ by more than both U");
}

/* What holds either picture holds both; what was found in the first is told. */
static void
take_over (const Room *room, WsResult *result)
{
  result->hand = room->seen[0]->hand;
  result->perspective_undone = room->seen[0]->perspective_undone;
  for (guint k = 0; k < 2; k++)
    if (room->seen[k]->hold != WS_HOLD_NONE)
      wsi_result_hold (result, room->seen[k]->hold, room->seen[k]->hold_code, "%s",
                       room->seen[k]->hold_why);
  for (guint i = 0; i < room->seen[0]->findings->len; i++)
  {
    const WsFinding *finding = g_ptr_array_index (room->seen[0]->findings, i);
    if (g_strcmp0 (finding->code, room->seen[0]->hold_code) != 0)
      wsi_result_add_finding (result, finding->code, g_strdup (finding->text),
                              finding->has_place ? &finding->where_px : NULL);
  }
}

static void
finish (gpointer data, const WsToolCard *card, const WsOptics *optics, WsResult *result)
{
  const Room *room = data;
  (void)card;
  result->shown = 0;
  for (guint k = 0; k < 2; k++)
    if (room->seen[k] == NULL || room->seen[k]->reason != WS_RETAKE_NONE)
    {
      wsi_result_retake (result, WS_RETAKE_WRONG_VIEW, "picture %u can't be measured", k + 1);
      return;
    }
  if (!are_of_one_drill (room, result))
    return;
  for (guint i = 0; i < WS_DRILL_N_QUANTITIES; i++)
    fill (room, i, optics, result);
  take_over (room, result);
}

void
wsi_drill_reverse_measure (const WsImage *image, const WsToolCard *card, const WsOptics *optics,
                           WsResult *result)
{
  (void)image;
  (void)card;
  (void)optics;
  wsi_result_retake (result, WS_RETAKE_WRONG_VIEW,
                     "name two pictures of the drill, half a turn apart");
}

const WsSeriesView wsi_drill_reverse_series = {
  .least = 2,
  .most = 2,
  .begin = begin,
  .take = take,
  .finish = finish,
  .end = end,
};
