/*
 * The geometry of regrinding.
 *
 * Seen square on, lip l (a or b) is a line at the axial height
 *
 *   z_l(r) = H_l + (R - r) cot k_l,   0 <= r <= R,
 *
 * r from the axis, R the envelope radius, k_l the half angle, H_l the height of its
 * outer corner; H_a - H_b is the lip height difference.  Grinding only takes metal
 * away, so a lip can become the line through a corner at height h under the half angle
 * t_l when, at both ends r = 0 and r = R,
 *
 *   h + (R - r) cot t_l <= z_l(r) - c_l,
 *
 * c_l being what must come off anyway to clean up a chip or a worn corner.  Lips with
 * the same h and the same t are equal in length and meet on the axis.  The highest h
 * that serves both lips costs the least metal.
 *
 * It follows that of two lips at equal angles the shorter is ground: its corner stands
 * too high, and the point moves back to the axis as it comes down.
 */
#include "tool/drill/side/regrind.h"

#include "base/geometry.h"

#include <math.h>

/* A difference that should be zero, is beyond doubt not, and isn't accepted. */
static gboolean
needs_equalising (const WsDrillFacts *drill, const WsQuantity *difference)
{
  if (!wsi_drill_is_real (difference) || difference->verdict == WS_VERDICT_ACCEPT)
    return FALSE;
  if (difference->verdict != WS_VERDICT_NONE)
    return TRUE;
  return fabs (difference->value) - difference->U > WS_DRILL_WORTH_GRINDING * drill->D;
}

static gboolean
needs_equal_angles (const WsDrillFacts *drill)
{
  return needs_equalising (drill, drill->half_angle_difference);
}

static gboolean
is_rejected (const WsQuantity *quantity)
{
  return quantity != NULL && quantity->verdict == WS_VERDICT_REJECT;
}

/* Cards may limit the half angles, too. */
static gboolean
needs_point_angle (const WsDrillFacts *drill)
{
  return is_rejected (drill->point_angle) || is_rejected (drill->half_angle[WS_LIP_A]) ||
         is_rejected (drill->half_angle[WS_LIP_B]);
}

static gboolean
needs_equal_lips (const WsDrillFacts *drill)
{
  return needs_equalising (drill, drill->lip_height) || needs_equalising (drill, drill->offset) ||
         needs_equalising (drill, drill->lip_length);
}

/* What would be left of a difference, safely inside its limits. */
static gboolean
may_stay (const WsQuantity *difference, double left)
{
  if (difference == NULL)
    return TRUE;
  const double margin = 2.0 * difference->U;
  return left - margin >= difference->lower && left + margin <= difference->upper;
}

/* Corners level at unequal angles a and b leave the apex off the axis by
 * e = R (cot b - cot a) / (cot a + cot b), and the lips' lengths (R + e) / sin a and (R - e) / sin
 * b. */
static gboolean
level_corners_suffice (const WsDrillFacts *drill)
{
  const double a = wsi_radians (drill->half_angle[WS_LIP_A]->value);
  const double b = wsi_radians (drill->half_angle[WS_LIP_B]->value);
  const double R = 0.5 * drill->D, cot_a = 1.0 / tan (a), cot_b = 1.0 / tan (b);
  const double e = R * (cot_b - cot_a) / (cot_a + cot_b);
  return may_stay (drill->offset, e) &&
         may_stay (drill->lip_length, (R + e) / sin (a) - (R - e) / sin (b));
}

/* A depth that has to be ground away, as deep as it may be; 0 when it may stay.  `unworn`: what a
 * good drill has of it. */
static double
to_clean (const WsDrillFacts *drill, const WsQuantity *depth, double unworn)
{
  if (depth == NULL || depth->value - unworn <= depth->U || depth->verdict == WS_VERDICT_ACCEPT)
    return 0.0;
  gboolean worth =
    depth->verdict != WS_VERDICT_NONE || depth->value - unworn > WS_DRILL_WORTH_CLEANING * drill->D;
  return worth ? depth->value + depth->U : 0.0;
}

/*
 * Axial amount that cleans up lip `lip`.  A chip d deep square to the lip: d / sin k.  A corner
 * rounded evenly to an arc that touches lip and margin, c short of the sharp corner (interior angle
 * 180 deg - k): the arc reaches c cot (k / 4) down the margin.  All of c counts: an unworn corner
 * falls short as well, but by the rim behind the lip's end, which the arc lies outside of.
 */
double
wsi_drill_clean_up (const WsDrillFacts *drill, int lip)
{
  double k = wsi_radians (drill->half_angle[lip]->value);
  double chip = to_clean (drill, drill->chip[lip], 0.0) / sin (k);
  double bow = to_clean (drill, drill->straightness[lip], 0.0) / sin (k);
  double corner =
    to_clean (drill, drill->corner[lip], wsi_drill_corner_shortfall (drill)) / tan (0.25 * k);
  return fmax (fmax (chip, bow), corner);
}

/* The regrind that gives the lips the half angles `target`, in the file's opening terms. */
static WsDrillRegrind
plan_for (const WsDrillFacts *drill, const double target[WS_N_LIPS])
{
  double R = 0.5 * drill->D;
  double height[WS_N_LIPS] = { drill->lip_height->value, 0.0 };
  double gain[WS_N_LIPS]; /* R (cot k - cot t): how far the old line's end at the axis is above */
  double h = INFINITY;

  for (int lip = 0; lip < WS_N_LIPS; lip++)
  {
    double k = wsi_radians (drill->half_angle[lip]->value);
    double t = wsi_radians (target[lip]);
    gain[lip] = R * (1.0 / tan (k) - 1.0 / tan (t));
    h = fmin (h, height[lip] + fmin (0.0, gain[lip]) - wsi_drill_clean_up (drill, lip));
  }

  WsDrillRegrind plan;
  for (int lip = 0; lip < WS_N_LIPS; lip++)
  {
    plan.half_angle[lip] = target[lip];
    plan.turn[lip] = target[lip] - drill->half_angle[lip]->value;
    plan.at_corner[lip] = height[lip] - h;
    plan.at_centre[lip] = height[lip] - h + gain[lip];
  }
  return plan;
}

static double
cost (const WsDrillRegrind *plan)
{
  return plan->at_corner[WS_LIP_A] + plan->at_centre[WS_LIP_A] + plan->at_corner[WS_LIP_B] +
         plan->at_centre[WS_LIP_B];
}

/* Half angles are told to a tenth of a degree: both lips may come out half of that off. */
#define TOLD_TO_DEG 0.1

/* Inside the limits by what it is known to now, and by what it will be known to when it is measured
 * again. */
static gboolean
is_allowed (const WsDrillFacts *drill, double half_angle)
{
  const WsQuantity *angle = drill->point_angle;
  if (angle == NULL)
    return FALSE;
  const double margin = 2.0 * angle->U + TOLD_TO_DEG;
  return 2.0 * half_angle >= angle->lower + margin && 2.0 * half_angle <= angle->upper - margin;
}

/* Half the angle the limits ask for; the lips' mean where they don't say. */
static double
nominal_half_angle (const WsDrillFacts *drill)
{
  const WsQuantity *angle = drill->point_angle;
  if (angle != NULL && isfinite (angle->lower) && isfinite (angle->upper))
    return 0.25 * (angle->lower + angle->upper);
  for (int lip = 0; lip < WS_N_LIPS; lip++)
  {
    const WsQuantity *half = drill->half_angle[lip];
    if (isfinite (half->lower) && isfinite (half->upper))
      return 0.5 * (half->lower + half->upper);
  }
  return 0.5 * (drill->half_angle[WS_LIP_A]->value + drill->half_angle[WS_LIP_B]->value);
}

/* Both lips to one angle: that of either lip when the limits allow it and it costs less
 * metal, else the nominal one. */
static WsDrillRegrind
plan_equal_angles (const WsDrillFacts *drill)
{
  double nominal = nominal_half_angle (drill);
  WsDrillRegrind best = plan_for (drill, (const double[WS_N_LIPS]){ nominal, nominal });
  for (int lip = 0; lip < WS_N_LIPS; lip++)
  {
    double k = drill->half_angle[lip]->value;
    WsDrillRegrind plan = plan_for (drill, (const double[WS_N_LIPS]){ k, k });
    if (is_allowed (drill, k) && cost (&plan) < cost (&best))
      best = plan;
  }
  return best;
}

WsDrillRegrind
wsi_drill_plan_regrind (const WsDrillFacts *drill)
{
  double nominal = nominal_half_angle (drill);
  if (needs_point_angle (drill))
    return plan_for (drill, (const double[WS_N_LIPS]){ nominal, nominal });
  if (needs_equal_angles (drill) || !level_corners_suffice (drill))
    return plan_equal_angles (drill);
  return plan_for (drill, (const double[WS_N_LIPS]){ drill->half_angle[WS_LIP_A]->value,
                                                     drill->half_angle[WS_LIP_B]->value });
}

gboolean
wsi_drill_is_ground (const WsDrillFacts *drill, const WsDrillRegrind *plan, int lip)
{
  return fmax (plan->at_corner[lip], plan->at_centre[lip]) > drill->lip_height->U;
}

static gboolean
knows_geometry (const WsDrillFacts *drill)
{
  return isfinite (drill->D) && drill->half_angle[WS_LIP_A] != NULL &&
         drill->half_angle[WS_LIP_B] != NULL && drill->lip_height != NULL;
}

gboolean
wsi_drill_needs_grinding (const WsDrillFacts *drill)
{
  return knows_geometry (drill) &&
         (needs_point_angle (drill) || needs_equal_angles (drill) || needs_equal_lips (drill) ||
          wsi_drill_clean_up (drill, WS_LIP_A) > 0.0 || wsi_drill_clean_up (drill, WS_LIP_B) > 0.0);
}
