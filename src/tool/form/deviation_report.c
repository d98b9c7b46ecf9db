#include "tool/form/deviation_report.h"

#include "base/geometry.h"
#include "base/number.h"
#include "result/build.h"
#include "tool/advise.h"
#include "tool/measure_again.h"

/* ---- Findings ----------------------------------------------------------------------- */

/* Places of the worst deviations that the findings name. */
#define N_WORST 5

/* Of the greatest deviation: less beside it is not told as a finding. */
#define WORTH_SHARE 0.2

static char *
mm_words (double mm, double U)
{
  return wsi_number_format (mm, MIN (wsi_number_places (U), 4));
}

/* Place on the drawing. */
static WsPoint
drawing_place (const WsFormFit *fit, WsPoint at)
{
  const WsPoint d = wsi_point_sub (at, fit->origin);
  const double c = cos (fit->angle), s = sin (fit->angle);
  /* Picture y is down; the drawing's x axis runs along (cos, -sin). */
  return wsi_point ((c * d.x - s * d.y) / fit->scale, -(s * d.x + c * d.y) / fit->scale);
}

static void
add_worst_finding (WsFormComparison *work, const WsFormSummary *here, guint number)
{
  const WsFormPoint *p = wsi_form_fit_point (work->fit, (guint)here->at[number]);
  g_autofree char *stem = g_strdup_printf ("segment_%u_deviation", number);
  const WsQuantity *quantity = ws_result_quantity (work->result, stem);
  if (quantity == NULL)
    return;
  const WsPoint on = drawing_place (work->fit, p->foot);
  g_autofree char *off = mm_words (quantity->value, quantity->U);
  g_autofree char *u = mm_words (quantity->U, quantity->U);
  g_autofree char *x = wsi_number_format (on.x, 3), *y = wsi_number_format (on.y, 3);
  wsi_result_add_finding (
    work->result, "deviation",
    g_strdup_printf ("Segment %u deviates most at x %s, y %s mm of the profile: %s mm (± %s), %s.",
                     number, x, y, off, u,
                     quantity->value > 0 ? "too much metal" : "metal missing"),
    &p->at);
  wsi_result_add_mark (work->result, WS_MARK_WORST, stem, &p->at, 1);
}

/* Beyond its U, and no mere neighbour of a much greater one, whose end blur draws along. */
static gboolean
is_worth_telling (const WsFormComparison *work, const WsFormSummary *here, guint number)
{
  g_autofree char *stem = g_strdup_printf ("segment_%u_deviation", number);
  const WsQuantity *quantity = ws_result_quantity (work->result, stem);
  const double most = MAX (here->max, -here->min);
  return quantity != NULL && fabs (quantity->value) > quantity->U &&
         fabs (here->worst[number]) > WORTH_SHARE * most;
}

/* The worst places first. */
static void
add_worst_findings (WsFormComparison *work, const WsFormSummary *here)
{
  g_autofree gboolean *told = g_new0 (gboolean, here->n + 1);
  guint n_told = 0;
  for (; n_told < N_WORST; n_told++)
  {
    guint worst = 0;
    for (guint number = 1; number <= here->n; number++)
      if (!told[number] && is_worth_telling (work, here, number) &&
          (worst == 0 || fabs (here->worst[number]) > fabs (here->worst[worst])))
        worst = number;
    if (worst == 0)
      break;
    told[worst] = TRUE;
    add_worst_finding (work, here, worst);
  }
  if (n_told == 0)
    wsi_result_add_finding (work->result, "as-drawn",
                            g_strdup ("No segment deviates from the profile by more than the "
                                      "uncertainty."),
                            NULL);
}

/* Names segments that say nothing, so that nobody takes them for good. */
static void
tell_unseen (WsFormComparison *work, const WsFormSummary *here)
{
  g_autoptr (GString) unseen = g_string_new (NULL);
  for (guint number = 1; number <= here->n; number++)
    if (here->at[number] < 0)
      g_string_append_printf (unseen, "%s%u", unseen->len > 0 ? ", " : "", number);
  if (unseen->len > 0)
    wsi_result_hold (work->result, WS_HOLD_TOOL, "not-compared",
                     "Not compared, since too short beside their corners or not in the picture: "
                     "segments %s.",
                     unseen->str);
}

/* ---- Marks ------------------------------------------------------------------------- */

/* The plot's greatest swing, as part of the picture's shorter side. */
#define PLOT_SHARE 0.06

/* More than this would blow up the outline's noise into a fault's looks. */
#define MOST_MAGNIFIED 200.0

static void
mark_stretch (WsFormComparison *work, guint from, guint to, double factor, gboolean is_first)
{
  g_autofree WsPoint *foot = g_new (WsPoint, to - from), *swung = g_new (WsPoint, to - from);
  for (guint i = from; i < to; i++)
  {
    const WsFormPoint *p = wsi_form_fit_point (work->fit, i);
    foot[i - from] = p->foot;
    swung[i - from] = wsi_point_along (p->foot, factor * work->map[i], p->normal);
  }
  g_autofree char *label = is_first ? g_strdup_printf ("deviation x %g", factor) : NULL;
  wsi_result_add_mark (work->result, WS_MARK_NOMINAL, NULL, foot, to - from);
  wsi_result_add_mark (work->result, WS_MARK_DEVIATION, label, swung, to - from);
}

/* Profile and magnified deviation, each segment apart. */
static void
mark_plot (WsFormComparison *work, const WsFormSummary *here)
{
  const double swing = PLOT_SHARE * MIN (work->image->width, work->image->height);
  const double most = MAX (MAX (here->max, -here->min), 1e-3);
  const double factor = wsi_number_round_down (CLAMP (swing / most, 1, MOST_MAGNIFIED));
  gboolean is_first = TRUE;
  for (guint i = 0, j; i < work->fit->points->len; i = j)
  {
    j = i + 1;
    if (!isfinite (work->map[i]))
      continue;
    while (j < work->fit->points->len && isfinite (work->map[j]) &&
           wsi_form_fit_point (work->fit, j)->number == wsi_form_fit_point (work->fit, i)->number)
      j++;
    if (j - i < 3)
      continue;
    mark_stretch (work, i, j, factor, is_first);
    is_first = FALSE;
  }
}

void
wsi_form_deviation_report (WsFormComparison *work, const WsFormSummary *here)
{
  add_worst_findings (work, here);
  tell_unseen (work, here);
  mark_plot (work, here);
}

/* ---- Advice ------------------------------------------------------------------------- */

static char *
segment_advice (const WsQuantity *quantity)
{
  const guint number = quantity->number;
  g_autofree char *off = mm_words (fabs (quantity->value), quantity->U);
  if (quantity->value > 0)
    return g_strdup_printf ("Segment %u stands proud by %s mm and cuts the part too small there: "
                            "grind it back by that much, no farther.",
                            number, off);
  return g_strdup_printf ("Segment %u is short of metal by %s mm and leaves the part too big "
                          "there: the rest of the profile has to be ground back to it.",
                          number, off);
}

/* Form tools have dozens of quantities. */
#define MOST_NAMED 4

/* Without a segment's deviation: what of the profile is out of its limits.  FALSE where nothing is.
 */
static gboolean
advise_profile (WsResult *result)
{
  static const char *const stems[] = { "corner_N_angle", "segment_N_angle", "segment_N_radius" };
  g_autoptr (GString) names = g_string_new (NULL);
  guint n = 0;
  for (guint i = 0; i < result->quantities->len; i++)
  {
    const WsQuantity *quantity = g_ptr_array_index (result->quantities, i);
    gboolean is_of_profile = g_str_has_prefix (quantity->info->stem, "profile_deviation");
    for (gsize k = 0; k < G_N_ELEMENTS (stems); k++)
      is_of_profile |= ws_quantity_is_of_family (quantity, stems[k]);
    if (!is_of_profile || quantity->verdict != WS_VERDICT_REJECT || n++ >= MOST_NAMED)
      continue;
    g_string_append_printf (names, "%s%s", n > 1 ? ", " : "", quantity->info->label);
  }
  if (n > MOST_NAMED)
    g_string_append_printf (names, " and %u more", n - MOST_NAMED);
  if (n > 0)
    wsi_advise (result, WS_WORK_GRIND,
                g_strdup_printf ("Regrind the profile where it is outside its limits, and measure "
                                 "in between: %s.",
                                 names->str));
  return n > 0;
}

void
wsi_form_deviation_advise (const WsToolCard *card, WsResult *result)
{
  wsi_advise_cleaning_first (result);
  wsi_advise_measuring_again (card, result, NULL);
  gboolean any = FALSE;
  for (guint i = 0; i < result->quantities->len; i++)
  {
    const WsQuantity *quantity = g_ptr_array_index (result->quantities, i);
    if (!quantity->known || !ws_quantity_is_of_family (quantity, "segment_N_deviation") ||
        quantity->verdict != WS_VERDICT_REJECT)
      continue;
    wsi_advise (result, WS_WORK_GRIND, segment_advice (quantity));
    if (quantity->value > 0)
      wsi_result_add_grinding (result, quantity->value, "segment_%u_back_mm", quantity->number);
    any = TRUE;
  }
  if (!any)
    any = advise_profile (result);
  if (!any)
    return;
  wsi_advise (result, WS_WORK_GRIND,
              g_strdup ("Grind the face only when the profile itself is right: a form tool "
                        "is sharpened on its face, which keeps its profile."));
}
