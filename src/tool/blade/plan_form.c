#include "tool/blade/plan_form.h"

#include "base/geometry.h"
#include "result/build.h"
#include "tool/blade/corner.h"
#include "tool/blade/edge_form.h"
#include "tool/blade/lines.h"
#include "tool/silhouette.h"

/* A notch must be this deep, in edge widths, px, deviations of a point and of the edge's form, to
 * be told from roughness; own trials on rendered rough edges. */
#define CHIP_MIN_WIDTHS 0.006
#define CHIP_MIN_PX 1.0
#define CHIP_MIN_SIGMAS 6.0
#define CHIP_MIN_SCATTERS 4.5

static double
smallest_notch (const WsBlade *blade, double width)
{
  const double sigma = wsi_silhouette_point_u (blade->outline);
  const double scatter = blade->edges[WS_BLADE_FRONT].line.scatter;
  return MAX (MAX (CHIP_MIN_WIDTHS * width, CHIP_MIN_PX),
              MAX (CHIP_MIN_SIGMAS * sigma, CHIP_MIN_SCATTERS * scatter));
}

void
wsi_blade_plan_add_chip (const WsBlade *blade, const WsOptics *optics, double width,
                         WsQuantity *quantity, WsResult *result)
{
  const WsOutline *outline = blade->outline;
  const double least = smallest_notch (blade, width);
  const WsBladeNotch notch = wsi_blade_notch (blade, least);
  const WsDistribution normal = WS_DISTRIBUTION_NORMAL;
  wsi_quantity_set_seen (quantity, notch.depth + notch.lift, optics);
  /* A wire edge doesn't end at a notch: it may fill as much of it as it stands proud beside it. */
  const double burr = blade->edges[WS_BLADE_FRONT].proud.height;
  wsi_quantity_set_smallest_seen (quantity, least + burr, optics);
  if (burr > 0)
    wsi_quantity_add_seen_line (quantity, "hidden by what stands proud",
                                WS_DISTRIBUTION_RECTANGULAR, burr / sqrt (3.0), optics);
  if (!(notch.depth > 0))
  {
    wsi_quantity_add_seen_line (quantity, "smallest notch seen", WS_DISTRIBUTION_RECTANGULAR,
                                least / sqrt (3.0), optics);
    return;
  }
  wsi_quantity_add_seen_line (quantity, "notch rounded by blur", normal,
                              hypot (0.13 + 0.13 * outline->blur_px, 0.35 * notch.lift), optics);
  wsi_quantity_add_seen_line (quantity, "edge noise", normal, wsi_silhouette_point_u (outline),
                              optics);
  wsi_quantity_add_seen_line (quantity, "edge form", normal,
                              blade->edges[WS_BLADE_FRONT].line.scatter, optics);
  wsi_quantity_set_place (quantity, notch.bottom);
  const WsPoint ends[2] = { notch.on_line, notch.bottom };
  wsi_result_add_mark (result, WS_MARK_CHIP, NULL, ends, 2);
}

/* Of a straight edge the noise alone makes a peak to valley of about so many deviations of one
 * running median; below the second, px, outlines of straight edges aren't straight.  Own trials. */
#define NOISE_SPREAD 3.2
#define FORM_FLOOR_PX 0.03

/* Blur and medians soften short waves: by this part of the peak to valley at least, own trials; and
 * by about the part that goes when they soften once more.  That much is taken, for the shortest
 * waves are gone already. */
#define FORM_SOFTENED 0.18

/* Where more of it goes, nothing is left to reckon from. */
#define MOST_SOFTENED 0.3

/* Part of a noisy straight edge's peak to valley that goes in smoothing. */
#define NOISE_SMOOTHED 0.7

/* Beyond this many times the bound the front's scatter is form, unless both sides, ground flat as
 * they are, scatter as much. */
#define FORM_SIGMAS 2.0

static double
most_noise (const WsBlade *blade)
{
  const double sides =
    MIN (blade->edges[WS_BLADE_LEFT].line.scatter, blade->edges[WS_BLADE_RIGHT].line.scatter);
  return MAX (FORM_SIGMAS * wsi_silhouette_point_u (blade->outline), sides);
}

void
wsi_blade_plan_add_form (const WsBlade *blade, const WsOptics *optics, WsQuantity *quantity)
{
  double noise;
  const double most = most_noise (blade);
  const double form = wsi_blade_straightness (&blade->edges[WS_BLADE_FRONT], most, &noise);
  wsi_quantity_set_seen (quantity, form, optics);
  const double u_noise = hypot (NOISE_SPREAD * noise, FORM_FLOOR_PX);
  /* Noise is smoothed, too. */
  const double again = wsi_blade_softened (&blade->edges[WS_BLADE_FRONT], blade->outline->blur_px);
  const double less = NOISE_SMOOTHED * u_noise;
  const double more = sqrt (MAX (again * again - less * less, 0));
  const double left = MAX (form - more, MOST_SOFTENED * form);
  const double softened = left > 0 ? form * more / left : 0;
  /* Of waves shorter than a median the points show more than the medians. */
  const double scatter = blade->edges[WS_BLADE_FRONT].line.scatter;
  const double waves = wsi_blade_short_waves (&blade->edges[WS_BLADE_FRONT], MIN (scatter, most));
  wsi_quantity_add_seen_line (quantity, "edge noise", WS_DISTRIBUTION_NORMAL, u_noise, optics);
  wsi_quantity_add_seen_line (quantity, "form softened by blur", WS_DISTRIBUTION_NORMAL,
                              MAX (MAX (FORM_SOFTENED * form, softened), waves), optics);
}
