/*
 * View `part-surface`: marks on a surface that was cut.  Definitions: docs/methods/part-surface.md.
 */
#include <math.h>

#include <whetsight/view.h>

#include "base/geometry.h"
#include "result/build.h"
#include "tool/part/part_meaning.h"
#include "tool/part/spectrum.h"

enum
{
  FEED_PITCH,
  CHATTER_PITCH,
  CHATTER_ANGLE,
  N_QUANTITIES
};

static const WsQuantityInfo quantities[N_QUANTITIES] = {
  { "feed_pitch", WS_UNIT_LENGTH, NULL, "Feed marks, pitch",
    "From mark to mark along the part's axis, of marks that run as the tool went round." },
  { "chatter_pitch", WS_UNIT_LENGTH, NULL, "Chatter marks, pitch",
    "From mark to mark square to them, of regular marks that cross the way the tool went." },
  { "chatter_angle", WS_UNIT_DEGREE, NULL, "Chatter marks, angle",
    "Between chatter marks and the part's axis; 0: along it." },
};

/* Marks that lie this near to the way of the tool, or so many u of it, are feed marks; a feed leans
 * by atan (feed / circumference), less than half of it.  From the second on they cross it. */
#define FEED_DEG 2.0
#define CHATTER_DEG 12.0
#define LAY_SIGMAS 3.0

/* Two families that lie mirrored to the way of the tool with one pitch are a knurl's. */
#define MIRRORED_DEG 4.0
#define MIRRORED_PITCH 0.05

/* Regular marks are known to this part of their pitch at best: surfaces are. */
#define PITCH_FLOOR 0.005

/* A part without streaks to tell where the tool went, and without marks. */
#define LEAST_TEXTURE 0.006

typedef struct
{
  const WsMarkFamily *feed, *chatter, *unclear;
  gboolean crossed;
} Sorted;

/* Of a family to the direction across the lay, rad. */
static double
lean_of (const WsMarkSpectrum *spectrum, const WsMarkFamily *family)
{
  return remainder (family->direction - spectrum->across_lay, G_PI);
}

static gboolean
is_mirrored (const WsMarkSpectrum *spectrum, const WsMarkFamily *a, const WsMarkFamily *b)
{
  return fabs (lean_of (spectrum, a) + lean_of (spectrum, b)) < wsi_radians (MIRRORED_DEG) &&
         fabs (a->frequency - b->frequency) < MIRRORED_PITCH * a->frequency;
}

static void
sort_families (const WsMarkSpectrum *spectrum, Sorted *sorted)
{
  *sorted = (Sorted){ .feed = spectrum->has_feed ? &spectrum->feed : NULL };
  for (guint i = 0; i < spectrum->families->len; i++)
  {
    const WsMarkFamily *family = &g_array_index (spectrum->families, WsMarkFamily, i);
    const double u = hypot (spectrum->u_lay, family->u_direction);
    const double lean = fabs (lean_of (spectrum, family));
    const WsMarkFamily **where = &sorted->unclear;
    if (lean < wsi_radians (FEED_DEG) + LAY_SIGMAS * u)
      continue;
    if (lean > wsi_radians (CHATTER_DEG) + LAY_SIGMAS * u)
      where = &sorted->chatter;
    if (*where == NULL)
      *where = family;
    for (guint k = 0; k < i; k++)
      if (lean > wsi_radians (CHATTER_DEG) &&
          is_mirrored (spectrum, family, &g_array_index (spectrum->families, WsMarkFamily, k)))
        sorted->crossed = TRUE;
  }
}

/* The window's middle may lie beside the top of a round part, which nobody told where it is: marks
 * along the axis then look nearer to each other, by 1 - cos.  Over the window itself by a sixth of
 * (radius / R) squared. */
static double
round_u (const WsMarkSpectrum *spectrum, const WsToolCard *card, const WsOptics *optics,
         double across)
{
  if (card == NULL || !(card->part.diameter_mm > 0) || !optics->has_scale)
    return 0;
  const double part = spectrum->radius * optics->mm_per_px / (0.5 * card->part.diameter_mm);
  return fabs (sin (across)) * part * part / 6;
}

static void
set_pitch (const WsMarkSpectrum *spectrum, const WsMarkFamily *family, const WsToolCard *card,
           const WsOptics *optics, WsQuantity *quantity)
{
  const double pitch = 1 / family->frequency;
  wsi_quantity_set_seen (quantity, pitch, optics);
  wsi_quantity_set_place (quantity, spectrum->middle);
  wsi_quantity_add_seen_line (quantity, "marks differ over the surface", WS_DISTRIBUTION_NORMAL,
                              pitch * hypot (family->u_frequency / family->frequency, PITCH_FLOOR),
                              optics);
  const double bend = round_u (spectrum, card, optics, lean_of (spectrum, family));
  if (bend > 0)
    wsi_quantity_add_seen_line (quantity, "round part", WS_DISTRIBUTION_ONE_SIDED, pitch * bend,
                                optics);
  wsi_quantity_finish (quantity, optics);
}

static void
set_angle (const WsMarkSpectrum *spectrum, const WsMarkFamily *family, const WsOptics *optics,
           WsQuantity *quantity)
{
  /* Lines square to the frequency, against the axis, which is across the lay. */
  const double lean = fabs (lean_of (spectrum, family));
  wsi_quantity_set_seen (quantity, 0.5 * G_PI - lean, optics);
  wsi_quantity_add_seen_line (quantity, "marks differ over the surface", WS_DISTRIBUTION_NORMAL,
                              family->u_direction, optics);
  wsi_quantity_add_seen_line (quantity, "way of the tool", WS_DISTRIBUTION_NORMAL, spectrum->u_lay,
                              optics);
  wsi_quantity_finish (quantity, optics);
}

/* Five marks beside each other, and the part's axis. */
static void
mark_family (const WsMarkSpectrum *spectrum, const WsMarkFamily *family, const char *label,
             WsResult *result)
{
  const WsPoint across = wsi_point (cos (family->direction), sin (family->direction));
  const WsPoint along = wsi_point (-across.y, across.x);
  const double pitch = 1 / family->frequency, half = 0.35 * spectrum->radius;
  for (int i = -2; i <= 2; i++)
  {
    const WsPoint middle = wsi_point_along (spectrum->middle, i * pitch, across);
    const WsPoint ends[2] = { wsi_point_along (middle, -half, along),
                              wsi_point_along (middle, half, along) };
    wsi_result_add_mark (result, WS_MARK_EDGE_LINE, i == 0 ? label : NULL, ends, 2);
  }
}

static void
mark_axis (const WsMarkSpectrum *spectrum, WsResult *result)
{
  const WsPoint axis = wsi_point (cos (spectrum->across_lay), sin (spectrum->across_lay));
  const WsPoint ends[2] = { wsi_point_along (spectrum->middle, -spectrum->radius, axis),
                            wsi_point_along (spectrum->middle, spectrum->radius, axis) };
  wsi_result_add_mark (result, WS_MARK_AXIS, NULL, ends, 2);
}

static void
fill (const WsMarkSpectrum *spectrum, const WsToolCard *card, const WsOptics *optics,
      WsResult *result)
{
  WsQuantity *q[N_QUANTITIES];
  for (guint i = 0; i < N_QUANTITIES; i++)
    q[i] = wsi_result_add_quantity (result, &quantities[i], optics->has_scale);
  Sorted sorted;
  sort_families (spectrum, &sorted);
  if (sorted.feed != NULL)
  {
    set_pitch (spectrum, sorted.feed, card, optics, q[FEED_PITCH]);
    mark_family (spectrum, sorted.feed, "a", result);
  }
  if (sorted.chatter != NULL && !sorted.crossed)
  {
    set_pitch (spectrum, sorted.chatter, card, optics, q[CHATTER_PITCH]);
    set_angle (spectrum, sorted.chatter, optics, q[CHATTER_ANGLE]);
    mark_family (spectrum, sorted.chatter, "b", result);
  }
  mark_axis (spectrum, result);
  if (sorted.crossed)
    wsi_result_add_finding (result, "crossed-marks",
                            g_strdup ("Two families of marks cross each other alike, as a knurl's "
                                      "do: that is no chatter."),
                            &spectrum->middle);
  else if (sorted.chatter == NULL && sorted.unclear != NULL)
    wsi_result_add_finding (result, "marks-unclear",
                            g_strdup ("There are regular marks that lie aslant by too little to "
                                      "tell chatter from a steep feed."),
                            &spectrum->middle);
  else if (sorted.chatter == NULL)
    wsi_result_add_finding (
      result, "no-chatter-seen",
      g_strdup_printf ("No regular marks cross the way of the tool; those whose light differs by "
                       "%.1f %% or more would have shown in this picture.",
                       100 * spectrum->least_contrast),
      &spectrum->middle);
}

static void
measure (const WsImage *image, const WsToolCard *card, const WsOptics *optics, WsResult *result)
{
  g_auto (WsMarkSpectrum) spectrum;
  wsi_mark_spectrum_find (image, &spectrum);
  if (!(spectrum.radius > 0))
  {
    wsi_result_retake (result, WS_RETAKE_TOO_SMALL, "the surface is less than 270 px across");
    return;
  }
  if (spectrum.texture < LEAST_TEXTURE)
  {
    wsi_result_retake (result, WS_RETAKE_LOW_CONTRAST,
                       "no marks of cutting are seen; light the surface from the side");
    return;
  }
  if (!spectrum.has_lay)
  {
    wsi_result_retake (result, WS_RETAKE_WRONG_VIEW,
                       "no streaks show which way the tool went round; a cut surface has to fill "
                       "the picture's middle, lit from the side");
    return;
  }
  fill (&spectrum, card, optics, result);
  for (guint i = 0; i < result->quantities->len; i++)
    result->tells_part |= ((const WsQuantity *)g_ptr_array_index (result->quantities, i))->known;
  if (card != NULL)
    wsi_part_surface_tell (card, result);
  wsi_result_hold (result, WS_HOLD_VERDICT, "not-judged",
                   "Marks on a part judge no tool and name no cause: go through the checks of "
                   "whetsight trace chatter, bolts first.");
}

/* All is told while measuring: a part's surface asks for no grinding. */
static void
advise (const WsToolCard *card, WsResult *result)
{
  (void)card;
  (void)result;
}

const WsView wsi_view_part_surface = {
  .name = "part-surface",
  .summary = "surface of a part, lit from the side: pitch of feed marks and of chatter",
  .kinds = 1u << WS_KIND_TWIST_DRILL | 1u << WS_KIND_CUTOFF_BLADE | 1u << WS_KIND_FORM_TOOL,
  .needs = WS_IMAGE_GREY,
  .of_work = TRUE,
  .quantities = quantities,
  .n_quantities = N_QUANTITIES,
  .measure = measure,
  .advise = advise,
};
