#include "tool/drill/side/advice.h"

#include "base/geometry.h"
#include "result/build.h"
#include "tool/advise.h"
#include "tool/drill/side/findings.h"
#include "tool/drill/side/regrind.h"
#include "tool/drill/side/words.h"
#include "tool/measure_again.h"

#include <math.h>

static void
advise (const WsDrillFacts *drill, char *text)
{
  wsi_advise (drill->result, WS_WORK_NONE, text);
}

static void
advise_to_grind (const WsDrillFacts *drill, char *text)
{
  wsi_advise (drill->result, WS_WORK_GRIND, text);
}

static gboolean
is_turned (const WsDrillRegrind *plan, int lip)
{
  return fabs (plan->turn[lip]) >= 0.05;
}

/* No finer than the heights are known: less is nothing. */
static double
told (const WsDrillFacts *drill, double take)
{
  const double U = drill->lip_height->U;
  return take <= U ? 0.0 : wsi_drill_told_length (drill, take, U);
}

static char *
say_take (const WsDrillFacts *drill, double take)
{
  const double U = drill->lip_height->U;
  return take <= U ? g_strdup ("nothing") : wsi_drill_say_length (drill, told (drill, take), U);
}

/* The amounts as told, for programs. */
static void
record_lip (const WsDrillFacts *drill, const WsDrillRegrind *plan, int lip)
{
  const gboolean is_ground = wsi_drill_is_ground (drill, plan, lip);
  const char *name = wsi_lip_names[lip], *unit = drill->in_mm ? "mm" : "px";
  const double angle = is_ground && is_turned (plan, lip)
                         ? wsi_drill_told_angle (plan->half_angle[lip])
                         : drill->half_angle[lip]->value;
  wsi_result_add_grinding (drill->result, angle, "lip_%s_half_angle_deg", name);
  wsi_result_add_grinding (drill->result, is_ground ? told (drill, plan->at_corner[lip]) : 0.0,
                           "lip_%s_at_corner_%s", name, unit);
  wsi_result_add_grinding (drill->result, is_ground ? told (drill, plan->at_centre[lip]) : 0.0,
                           "lip_%s_at_centre_%s", name, unit);
}

static char *
say_turned_lip (const WsDrillFacts *drill, const WsDrillRegrind *plan, int lip)
{
  g_autofree char *turn = wsi_drill_say_angle (fabs (plan->turn[lip]));
  g_autofree char *angle = wsi_drill_say_angle (plan->half_angle[lip]);
  g_autofree char *corner = say_take (drill, plan->at_corner[lip]);
  g_autofree char *centre = say_take (drill, plan->at_centre[lip]);
  return g_strdup_printf ("Grind lip %s %s %s, to %s from the axis. Along the axis that takes off "
                          "%s at the outer corner and %s at the centre.",
                          wsi_lip_names[lip], turn, plan->turn[lip] > 0.0 ? "flatter" : "sharper",
                          angle, corner, centre);
}

static char *
say_straight_lip (const WsDrillFacts *drill, const WsDrillRegrind *plan, int lip)
{
  double U = drill->lip_height->U;
  double take = told (drill, plan->at_corner[lip]);
  double square = take * sin (wsi_radians (plan->half_angle[lip]));
  g_autofree char *along = wsi_drill_say_length (drill, take, U);
  g_autofree char *across = wsi_drill_say_length (drill, square, U);
  return g_strdup_printf ("Grind lip %s back by %s along the drill's axis (%s square to the lip). "
                          "Keep its angle.",
                          wsi_lip_names[lip], along, across);
}

static void
advise_lip (const WsDrillFacts *drill, const WsDrillRegrind *plan, int lip)
{
  record_lip (drill, plan, lip);
  if (!wsi_drill_is_ground (drill, plan, lip))
    advise (drill, g_strdup_printf ("Leave lip %s as it is.", wsi_lip_names[lip]));
  else if (is_turned (plan, lip))
    advise_to_grind (drill, say_turned_lip (drill, plan, lip));
  else
    advise_to_grind (drill, say_straight_lip (drill, plan, lip));
}

/* Operators tend to go for the long lip; only the short one can be brought down to it. */
static void
advise_why_short_lip (const WsDrillFacts *drill, const WsDrillRegrind *plan)
{
  for (int lip = 0; lip < WS_N_LIPS; lip++)
  {
    gboolean shorter =
      wsi_drill_is_real (drill->lip_length) &&
      (lip == WS_LIP_A ? drill->lip_length->value < 0.0 : drill->lip_length->value > 0.0);
    if (shorter && wsi_drill_is_ground (drill, plan, lip) &&
        !wsi_drill_is_ground (drill, plan, 1 - lip))
      advise (drill, g_strdup_printf ("Lip %s is the shorter one because it stands too high: as it "
                                      "comes down it gets longer and the point moves to the axis.",
                                      wsi_lip_names[lip]));
  }
}

/* "a" and "b" stand in the picture; which way round depends on how it was taken. */
static void
advise_marking (const WsDrillFacts *drill)
{
  const WsPoint *corner[WS_N_LIPS] = { NULL, NULL };
  for (int lip = 0; lip < WS_N_LIPS; lip++)
    if (drill->corner[lip] != NULL)
      corner[lip] = ws_quantity_place (drill->corner[lip]);
  if (corner[WS_LIP_A] == NULL || corner[WS_LIP_B] == NULL)
    advise (drill, g_strdup ("The lips are marked a and b in the annotated picture. Mark them on "
                             "the drill before you take it away."));
  else
    advise (drill,
            g_strdup_printf ("The lip marked a is %s in the picture, the lip marked b %s. Mark "
                             "them on the drill before you take it away.",
                             wsi_picture_side (*corner[WS_LIP_A], *corner[WS_LIP_B]),
                             wsi_picture_side (*corner[WS_LIP_B], *corner[WS_LIP_A])));
}

static void
advise_clean_up (const WsDrillFacts *drill)
{
  double clean = fmax (wsi_drill_clean_up (drill, WS_LIP_A), wsi_drill_clean_up (drill, WS_LIP_B));
  if (clean <= 0.0)
    return;
  g_autofree char *depth = wsi_drill_say_length (drill, told (drill, clean), drill->lip_height->U);
  advise (drill, g_strdup_printf ("Of that, %s along the axis cleans up the damage, as deep as it "
                                  "may be. Look at the edge again before you stop.",
                                  depth));
}

static void
advise_grinding (const WsDrillFacts *drill)
{
  WsDrillRegrind plan = wsi_drill_plan_regrind (drill);
  if (!wsi_drill_is_ground (drill, &plan, WS_LIP_A) &&
      !wsi_drill_is_ground (drill, &plan, WS_LIP_B))
    return;
  /* Nobody but the card knows which angle it should be. */
  if (drill->card->id == NULL && (is_turned (&plan, WS_LIP_A) || is_turned (&plan, WS_LIP_B)))
  {
    advise (drill, g_strdup ("Name the tool's card (--tool), which says to what angle to grind."));
    return;
  }
  advise_lip (drill, &plan, WS_LIP_A);
  advise_lip (drill, &plan, WS_LIP_B);
  advise_why_short_lip (drill, &plan);
  advise_clean_up (drill);
  advise_marking (drill);
  advise (drill, g_strdup ("Then measure again."));
}

/* A diameter out of its limits comes from the drill's maker, or from wear of the margins. */
static gboolean
is_lost (const WsDrillFacts *drill)
{
  return drill->diameter != NULL && drill->diameter->verdict == WS_VERDICT_REJECT;
}

static char *
say_lost (const WsDrillFacts *drill)
{
  const gboolean over = drill->diameter->value > drill->diameter->upper;
  return g_strdup_printf ("The diameter is too %s, which no grinding of the point can cure. Check "
                          "the scale and the tool card first.",
                          over ? "large" : "small");
}

static void
advise_nothing (const WsDrillFacts *drill)
{
  if (drill->result->verdict == WS_VERDICT_ACCEPT)
    advise (drill, g_strdup ("Nothing to grind: the limits are met."));
}

void
wsi_drill_side_advise (const WsToolCard *card, WsResult *result)
{
  WsDrillFacts drill = wsi_drill_facts_of (card, result);
  wsi_drill_add_findings (&drill);
  wsi_advise_cleaning_first (result);
  /* Only what is beyond doubt wrong is ground. */
  if (result->verdict == WS_VERDICT_REJECT && is_lost (&drill))
  {
    /* What clings to it may be what looks lost. */
    if ((result->work & WS_WORK_HONE) == 0)
      wsi_advise_set_aside (result, say_lost (&drill));
  }
  else if (result->verdict == WS_VERDICT_REJECT && wsi_drill_needs_grinding (&drill))
    advise_grinding (&drill);
  wsi_advise_measuring_again (card, result, NULL);
  if (result->advice->len == 0)
    advise_nothing (&drill);
}
