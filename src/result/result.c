#include <math.h>
#include <string.h>
#include <whetsight/result.h>

#define COVERAGE_FACTOR 2.0

const char *
ws_distribution_name (WsDistribution distribution)
{
  static const char *const names[] = {
    [WS_DISTRIBUTION_NORMAL] = "normal",
    [WS_DISTRIBUTION_RECTANGULAR] = "rectangular",
    [WS_DISTRIBUTION_STUDENT] = "student-t",
    [WS_DISTRIBUTION_ONE_SIDED] = "one-sided",
  };
  return names[distribution];
}

const char *
ws_unit_suffix (WsUnit unit, gboolean has_scale)
{
  switch (unit)
  {
  case WS_UNIT_DEGREE:
    return "deg";
  case WS_UNIT_LENGTH:
    return has_scale ? "mm" : "px";
  case WS_UNIT_SHARE:
    break;
  }
  return "share";
}

const char *
ws_verdict_name (WsVerdict verdict)
{
  static const char *const names[] = {
    [WS_VERDICT_NONE] = NULL,
    [WS_VERDICT_ACCEPT] = "accept",
    [WS_VERDICT_UNDECIDED] = "undecided",
    [WS_VERDICT_REJECT] = "reject",
    [WS_VERDICT_RETAKE] = "retake",
  };
  return names[verdict];
}

static void
quantity_free (gpointer data)
{
  WsQuantity *quantity = data;
  g_free (quantity->name);
  if (quantity->own_info != NULL)
  {
    g_free ((char *)quantity->own_info->stem);
    g_free ((char *)quantity->own_info->label);
    g_free (quantity->own_info);
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

WsResult *
ws_result_new (const char *view)
{
  WsResult *result = g_new0 (WsResult, 1);
  result->view = view;
  result->quantities = g_ptr_array_new_with_free_func (quantity_free);
  result->findings = g_ptr_array_new_with_free_func (finding_free);
  result->advice = g_ptr_array_new_with_free_func (g_free);
  result->cautions = g_ptr_array_new_with_free_func (g_free);
  result->marks = g_ptr_array_new_with_free_func (mark_free);
  return result;
}

void
ws_result_free (WsResult *result)
{
  if (result == NULL)
    return;
  g_free (result->detail);
  g_ptr_array_unref (result->quantities);
  g_ptr_array_unref (result->findings);
  g_ptr_array_unref (result->advice);
  g_ptr_array_unref (result->cautions);
  g_ptr_array_unref (result->marks);
  g_free (result);
}

static void
empty (GPtrArray *array)
{
  g_ptr_array_set_size (array, 0);
}

void
ws_result_retake (WsResult *result, WsRetake reason, const char *detail, ...)
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
  empty (result->quantities);
  empty (result->findings);
  empty (result->advice);
  empty (result->cautions);
}

WsQuantity *
ws_result_add_quantity (WsResult *result, const WsQuantityInfo *info, gboolean has_scale)
{
  const char *unit = ws_unit_suffix (info->unit, has_scale);
  WsQuantity *quantity = g_new0 (WsQuantity, 1);
  quantity->info = info;
  quantity->name = g_strdup_printf ("%s_%s", info->stem, unit);
  quantity->value = NAN;
  quantity->U = NAN;
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
ws_result_add_numbered (WsResult *result, const WsQuantityInfo *family, guint number,
                        gboolean has_scale)
{
  WsQuantityInfo *info = g_new (WsQuantityInfo, 1);
  *info = *family;
  info->stem = numbered (family->stem, number);
  info->label = numbered (family->label, number);
  WsQuantity *quantity = ws_result_add_quantity (result, info, has_scale);
  quantity->own_info = info;
  return quantity;
}

char *
ws_quantity_family (const char *name)
{
  const char *digits = name;
  while (*digits != '\0' && !(*digits == '_' && g_ascii_isdigit (digits[1])))
    digits++;
  const char *rest = digits + 1;
  if (*digits == '\0')
    return g_strdup (name);
  while (g_ascii_isdigit (*rest))
    rest++;
  if (*rest != '_')
    return g_strdup (name);
  return g_strdup_printf ("%.*s_N%s", (int)(digits - name), name, rest);
}

const WsQuantity *
ws_result_quantity (const WsResult *result, const char *stem)
{
  for (guint i = 0; i < result->quantities->len; i++)
  {
    const WsQuantity *quantity = g_ptr_array_index (result->quantities, i);
    if (g_str_equal (quantity->info->stem, stem))
      return quantity->known ? quantity : NULL;
  }
  return NULL;
}

void
ws_quantity_add_line (WsQuantity *quantity, const char *name, WsDistribution distribution, double u,
                      double sensitivity)
{
  WsBudgetLine line = {
    .name = name, .distribution = distribution, .u = u, .sensitivity = sensitivity
  };
  g_array_append_val (quantity->budget, line);
}

double
ws_budget_line_contribution (const WsBudgetLine *line)
{
  return fabs (line->sensitivity) * line->u;
}

void
ws_quantity_combine (WsQuantity *quantity)
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
ws_result_add_finding (WsResult *result, const char *code, char *text, const WsPoint *where_px)
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
ws_result_add_mark (WsResult *result, WsMarkRole role, const char *label, const WsPoint *points,
                    gsize n_points)
{
  WsMark *mark = g_new0 (WsMark, 1);
  mark->role = role;
  mark->label = g_strdup (label);
  mark->points = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  g_array_append_vals (mark->points, points, (guint)n_points);
  g_ptr_array_add (result->marks, mark);
}
