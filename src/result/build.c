#include "result/build.h"

#include <math.h>
#include <string.h>

#include "base/geometry.h"
#include "optics/unknown_lens.h"

#define COVERAGE_FACTOR 2.0

/* A lens that distorts the picture's corner by 0.3 % turns directions by up to a part in 330 there,
 * and by about a part in a thousand where tools lie; of lengths, a third of it is left in the
 * middle (assumed, no source). */
#define UNKNOWN_LENS_DEG 0.05
#define UNKNOWN_LENS_PART (1 / 3.0)

/* Lenses that look from near distort twice as much. */
#define NEAR_LENS 2

static void
quantity_free (gpointer data)
{
  WsQuantity *quantity = data;
  g_free (quantity->name);
  if (quantity->family != NULL)
  {
    /* One of a family has words of its own. */
    g_free ((char *)quantity->info->stem);
    g_free ((char *)quantity->info->label);
    g_free ((WsQuantityInfo *)quantity->info);
  }
  g_array_unref (quantity->budget);
  g_free (quantity);
}

static void
finding_free (gpointer data)
{
  WsFinding *finding = data;
  g_free (finding->text);
  g_free (finding);
}

static void
mark_free (gpointer data)
{
  WsMark *mark = data;
  g_free (mark->label);
  g_array_unref (mark->points);
  g_free (mark);
}

static void
grinding_clear (gpointer data)
{
  WsGrinding *grinding = data;
  g_free (grinding->name);
}

WsResult *
wsi_result_new (const char *view)
{
  WsResult *result = g_new0 (WsResult, 1);
  result->view = view;
  result->turn_deg = result->u_turn_deg = result->lean_deg = NAN;
  result->quantities = g_ptr_array_new_with_free_func (quantity_free);
  result->findings = g_ptr_array_new_with_free_func (finding_free);
  result->advice = g_ptr_array_new_with_free_func (g_free);
  result->cautions = g_ptr_array_new_with_free_func (g_free);
  result->grinding = g_array_new (FALSE, FALSE, sizeof (WsGrinding));
  g_array_set_clear_func (result->grinding, grinding_clear);
  result->marks = g_ptr_array_new_with_free_func (mark_free);
  return result;
}

static void
empty (GPtrArray *array)
{
  g_ptr_array_set_size (array, 0);
}

/* Is what was found until then the tool's, so that it helps to see it? */
static gboolean
is_of_the_tool (WsRetake reason)
{
  return reason != WS_RETAKE_NO_TOOL && reason != WS_RETAKE_SEVERAL_TOOLS &&
         reason != WS_RETAKE_LOW_CONTRAST && reason != WS_RETAKE_WRONG_VIEW;
}

gboolean
wsi_result_retake (WsResult *result, WsRetake reason, const char *detail, ...)
{
  char *text = NULL;
  if (detail != NULL)
  {
    va_list arguments;
    va_start (arguments, detail);
    text = g_strdup_vprintf (detail, arguments);
    va_end (arguments);
  }
  g_free (result->detail);
  result->detail = text;
  result->reason = reason;
  result->verdict = WS_VERDICT_RETAKE;
  result->hand = NULL;
  result->hold = WS_HOLD_NONE;
  result->hold_code = NULL;
  g_clear_pointer (&result->hold_why, g_free);
  result->rejected = NULL;
  empty (result->quantities);
  empty (result->findings);
  empty (result->advice);
  empty (result->cautions);
  if (!is_of_the_tool (reason))
    empty (result->marks);
  g_array_set_size (result->grinding, 0);
  g_clear_pointer (&result->turned, g_array_unref);
  g_clear_pointer (&result->set_aside, g_free);
  result->work = WS_WORK_NONE;
  return FALSE;
}

gboolean
wsi_result_refuse (WsResult *result, const WsRefusal *refusal)
{
  return wsi_result_retake (result, refusal->reason, "%s", refusal->detail);
}

void
wsi_result_hold (WsResult *result, WsHold hold, const char *code, const char *why, ...)
{
  if (result->reason != WS_RETAKE_NONE)
    return;
  va_list arguments;
  va_start (arguments, why);
  char *text = g_strdup_vprintf (why, arguments);
  va_end (arguments);
  wsi_result_add_finding (result, code, text, NULL);
  if (hold <= result->hold)
    return;
  result->hold = hold;
  result->hold_code = code;
  g_free (result->hold_why);
  result->hold_why = g_strdup (text);
}

void
wsi_result_reject (WsResult *result, const char *code, const char *why, ...)
{
  va_list arguments;
  va_start (arguments, why);
  wsi_result_add_finding (result, code, g_strdup_vprintf (why, arguments), NULL);
  va_end (arguments);
  result->rejected = code;
}

void
wsi_result_see (WsResult *result, WsTrait trait, double px, double U_px, const WsOptics *optics)
{
  if (optics->has_scale)
    result->seen[trait] = (WsTraitSeen){ .is_seen = TRUE,
                                         .value = px * optics->mm_per_px,
                                         .U = U_px * optics->mm_per_px };
}

void
wsi_result_add_finding (WsResult *result, const char *code, char *text, const WsPoint *where_px)
{
  WsFinding *finding = g_new0 (WsFinding, 1);
  finding->code = code;
  finding->text = text;
  finding->has_place = where_px != NULL;
  if (where_px != NULL)
    finding->where_px = *where_px;
  g_ptr_array_add (result->findings, finding);
}

void
wsi_result_add_grinding (WsResult *result, double value, const char *name, ...)
{
  va_list arguments;
  va_start (arguments, name);
  const WsGrinding grinding = { .name = g_strdup_vprintf (name, arguments), .value = value };
  va_end (arguments);
  g_array_append_val (result->grinding, grinding);
}

void
wsi_result_set_aside (WsResult *result, char *why)
{
  if (result->set_aside == NULL)
    result->set_aside = why;
  else
    g_free (why);
}

void
wsi_result_add_mark (WsResult *result, WsMarkRole role, const char *label, const WsPoint *points,
                     gsize n_points)
{
  WsMark *mark = g_new0 (WsMark, 1);
  mark->role = role;
  mark->label = g_strdup (label);
  mark->points = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  g_array_append_vals (mark->points, points, (guint)n_points);
  g_ptr_array_add (result->marks, mark);
}

/* ---- Quantities ----------------------------------------------------------------- */

WsQuantity *
wsi_result_add_quantity (WsResult *result, const WsQuantityInfo *info, gboolean has_scale)
{
  const char *unit = ws_unit_suffix (info->unit, has_scale);
  WsQuantity *quantity = g_new0 (WsQuantity, 1);
  quantity->info = info;
  quantity->name = g_strdup_printf ("%s_%s", info->stem, unit);
  quantity->value = NAN;
  quantity->U = NAN;
  quantity->smallest_seen = NAN;
  quantity->k = COVERAGE_FACTOR;
  quantity->budget = g_array_new (FALSE, FALSE, sizeof (WsBudgetLine));
  quantity->lower = -INFINITY;
  quantity->upper = INFINITY;
  g_ptr_array_add (result->quantities, quantity);
  return quantity;
}

/* `text` with its first capital N replaced. */
static char *
numbered (const char *text, guint number)
{
  const char *at = strchr (text, 'N');
  if (at == NULL)
    return g_strdup (text);
  return g_strdup_printf ("%.*s%u%s", (int)(at - text), text, number, at + 1);
}

WsQuantity *
wsi_result_add_numbered (WsResult *result, const WsQuantityInfo *family, guint number,
                         gboolean has_scale)
{
  WsQuantityInfo *info = g_new (WsQuantityInfo, 1);
  *info = *family;
  info->stem = numbered (family->stem, number);
  info->label = numbered (family->label, number);
  WsQuantity *quantity = wsi_result_add_quantity (result, info, has_scale);
  quantity->family = family;
  quantity->number = number;
  return quantity;
}

double
wsi_quantity_per_seen (const WsQuantity *quantity, const WsOptics *optics)
{
  switch (quantity->info->unit)
  {
  case WS_UNIT_DEGREE:
  case WS_UNIT_DIRECTION:
    return wsi_degrees (1);
  case WS_UNIT_LENGTH:
    return optics->has_scale ? optics->mm_per_px : 1;
  case WS_UNIT_SHARE:
    break;
  }
  return 1;
}

void
wsi_quantity_set (WsQuantity *quantity, double value)
{
  quantity->value = value;
  quantity->known = TRUE;
}

void
wsi_quantity_set_seen (WsQuantity *quantity, double seen, const WsOptics *optics)
{
  wsi_quantity_set (quantity, seen * wsi_quantity_per_seen (quantity, optics));
}

void
wsi_quantity_set_place (WsQuantity *quantity, WsPoint where)
{
  quantity->has_place = TRUE;
  quantity->where_px = where;
}

void
wsi_quantity_set_smallest_seen (WsQuantity *quantity, double seen, const WsOptics *optics)
{
  quantity->smallest_seen = seen * wsi_quantity_per_seen (quantity, optics);
}

void
wsi_quantity_forget (WsQuantity *quantity)
{
  quantity->known = FALSE;
  quantity->has_place = FALSE;
  quantity->value = quantity->U = quantity->smallest_seen = NAN;
  g_array_set_size (quantity->budget, 0);
}

/* ---- Budgets --------------------------------------------------------------------- */

void
wsi_quantity_add_line (WsQuantity *quantity, const char *name, WsDistribution distribution,
                       double u, double sensitivity)
{
  WsBudgetLine line = {
    .name = name, .distribution = distribution, .u = u, .sensitivity = sensitivity
  };
  g_array_append_val (quantity->budget, line);
}

void
wsi_quantity_add_seen_line (WsQuantity *quantity, const char *name, WsDistribution distribution,
                            double u_seen, const WsOptics *optics)
{
  wsi_quantity_add_line (quantity, name, distribution, u_seen,
                         wsi_quantity_per_seen (quantity, optics));
}

void
wsi_quantity_add_scale_line (WsQuantity *quantity, const WsOptics *optics)
{
  if (quantity->info->unit == WS_UNIT_LENGTH && optics->has_scale && quantity->known)
    wsi_quantity_add_line (quantity, "scale", WS_DISTRIBUTION_NORMAL, optics->u_mm_per_px,
                           quantity->value / optics->mm_per_px);
}

/* What an unknown lens is allowed anywhere in the picture: degrees, or a share of lengths. */
static double
general_lens_u (const WsQuantity *quantity, const WsOptics *optics)
{
  const double distortion = wsi_unknown_lens_distortion (optics);
  return ws_unit_is_angle (quantity->info->unit)
           ? UNKNOWN_LENS_DEG * distortion / WS_UNKNOWN_DISTORTION
           : UNKNOWN_LENS_PART * distortion;
}

/* Of that, per degree or share. */
static double
lens_sensitivity (const WsQuantity *quantity)
{
  return ws_unit_is_angle (quantity->info->unit) ? 1 : quantity->value;
}

void
wsi_quantity_add_lens_line (WsQuantity *quantity, double seen, const WsOptics *optics)
{
  if (optics->lens != NULL || !quantity->known || quantity->info->unit == WS_UNIT_SHARE)
    return;
  const double here = seen * wsi_quantity_per_seen (quantity, optics);
  const double anywhere = lens_sensitivity (quantity) * general_lens_u (quantity, optics);
  const double u = hypot (anywhere, here);
  if (u > 0)
    wsi_quantity_add_line (quantity, "unknown lens", WS_DISTRIBUTION_NORMAL, u, 1);
}

void
wsi_quantity_add_near_lens_line (WsQuantity *quantity, const WsOptics *optics)
{
  if (quantity->known)
    wsi_quantity_add_line (quantity, "unknown lens", WS_DISTRIBUTION_NORMAL,
                           NEAR_LENS * general_lens_u (quantity, optics),
                           lens_sensitivity (quantity));
}

void
wsi_quantity_combine (WsQuantity *quantity)
{
  double sum = 0.0;
  for (guint i = 0; i < quantity->budget->len; i++)
  {
    const WsBudgetLine *line = &g_array_index (quantity->budget, WsBudgetLine, i);
    double contribution = ws_budget_line_contribution (line);
    sum += contribution * contribution;
  }
  quantity->U = quantity->k * sqrt (sum);
}

void
wsi_quantity_finish (WsQuantity *quantity, const WsOptics *optics)
{
  /* A scale from the tool itself says nothing of the lens. */
  if (ws_unit_is_angle (quantity->info->unit) && (!optics->has_scale || optics->known_mm > 0))
    wsi_quantity_add_lens_line (quantity, 0, optics);
  wsi_quantity_add_scale_line (quantity, optics);
  wsi_quantity_combine (quantity);
}

void
wsi_result_move_places (WsResult *result, WsMove move, gconstpointer data)
{
  for (guint i = 0; i < result->marks->len; i++)
  {
    const WsMark *mark = g_ptr_array_index (result->marks, i);
    for (guint k = 0; k < mark->points->len; k++)
    {
      WsPoint *point = &g_array_index (mark->points, WsPoint, k);
      *point = move (*point, data);
    }
  }
  for (guint i = 0; i < result->quantities->len; i++)
  {
    WsQuantity *quantity = g_ptr_array_index (result->quantities, i);
    if (quantity->has_place)
      quantity->where_px = move (quantity->where_px, data);
  }
  for (guint i = 0; i < result->findings->len; i++)
  {
    WsFinding *finding = g_ptr_array_index (result->findings, i);
    if (finding->has_place)
      finding->where_px = move (finding->where_px, data);
  }
}
