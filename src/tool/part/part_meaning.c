#include "tool/part/part_meaning.h"

#include <math.h>

#include "base/geometry.h"
#include "base/number.h"
#include "result/build.h"

/* A number of marks a turn tells whether it is whole where it is known to this. */
#define TELLS_WHOLE 0.25

typedef struct
{
  double value, U;
} Number;

/* "62.8 ± 0.4"; free with g_free(). */
static char *
say (Number number)
{
  const guint places = wsi_number_places (number.U);
  g_autofree char *value = wsi_number_format (number.value, places);
  g_autofree char *U = wsi_number_format (number.U, places);
  return g_strdup_printf ("%s ± %s", value, U);
}

/* Marks that lean by `angle` from the axis come round pi D cos (angle) / pitch times a turn. */
static Number
marks_a_turn (const WsQuantity *pitch, const WsQuantity *angle, double diameter)
{
  const double lean = wsi_radians (angle->value);
  const double value = G_PI * diameter * cos (lean) / pitch->value;
  const double by_pitch = value * pitch->U / pitch->value;
  const double by_angle = value * tan (fabs (lean)) * wsi_radians (angle->U);
  return (Number){ value, hypot (by_pitch, by_angle) };
}

static void
tell_orders (const WsPartSpec *part, Number marks, const WsPoint *where, WsResult *result)
{
  for (guint i = 0; i < part->orders->len; i++)
  {
    const WsOrder *order = &g_array_index (part->orders, WsOrder, i);
    if (fabs (order->count - marks.value) > marks.U)
      continue;
    wsi_result_add_finding (
      result, "as-many-as",
      g_strdup_printf ("As many marks a turn as %s has, %g: look at it. That alone proves nothing.",
                       order->name, order->count),
      where);
  }
}

static void
tell_chatter (const WsPartSpec *part, const WsQuantity *pitch, const WsQuantity *angle,
              WsResult *result)
{
  const Number marks = marks_a_turn (pitch, angle, part->diameter_mm);
  g_autofree char *count = say (marks);
  g_autofree char *frequency = NULL;
  if (part->speed_rpm > 0)
  {
    const double a_second = part->speed_rpm / 60;
    frequency = say ((Number){ marks.value * a_second, marks.U * a_second });
  }
  const double off = fabs (marks.value - round (marks.value));
  const char *whole = "";
  if (marks.U < TELLS_WHOLE)
    whole = off <= marks.U
              ? " That may be a whole number, as of what turns with the spindle."
              : " That is no whole number, as where tool, part or machine swing by themselves.";
  wsi_result_add_finding (
    result, "marks-a-turn",
    g_strdup_printf ("On %g mm that is %s marks a turn%s%s%s.%s", part->diameter_mm, count,
                     frequency != NULL ? ", and at the card's speed " : "",
                     frequency != NULL ? frequency : "", frequency != NULL ? " Hz" : "", whole),
    &pitch->where_px);
  tell_orders (part, marks, &pitch->where_px, result);
}

static void
tell_feed (const WsPartSpec *part, const WsQuantity *pitch, WsResult *result)
{
  const gboolean agrees = fabs (pitch->value - part->feed_mm) <= pitch->U;
  wsi_result_add_finding (
    result, "feed-marks",
    agrees ? g_strdup_printf ("The feed marks lie as far apart as the card's feed, %g mm.",
                              part->feed_mm)
           : g_strdup_printf ("The feed marks are %.4f ± %.4f mm apart, and the card's feed is %g "
                              "mm: check feed and card.",
                              pitch->value, pitch->U, part->feed_mm),
    &pitch->where_px);
}

void
wsi_part_surface_tell (const WsToolCard *card, WsResult *result)
{
  const WsQuantity *feed = ws_result_quantity (result, "feed_pitch");
  const WsQuantity *pitch = ws_result_quantity (result, "chatter_pitch");
  const WsQuantity *angle = ws_result_quantity (result, "chatter_angle");
  const gboolean has_scale = pitch != NULL && g_str_has_suffix (pitch->name, "_mm");
  if (feed != NULL && feed->known && has_scale && card->part.feed_mm > 0)
    tell_feed (&card->part, feed, result);
  if (pitch != NULL && pitch->known && has_scale && card->part.diameter_mm > 0)
    tell_chatter (&card->part, pitch, angle, result);
}
