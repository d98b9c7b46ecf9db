#include <whetsight/result.h>

#include <math.h>

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
  case WS_UNIT_DIRECTION:
    return "deg";
  case WS_UNIT_LENGTH:
    return has_scale ? "mm" : "px";
  case WS_UNIT_SHARE:
    break;
  }
  return "share";
}

gboolean
ws_unit_is_angle (WsUnit unit)
{
  return unit == WS_UNIT_DEGREE || unit == WS_UNIT_DIRECTION;
}

double
ws_direction_near (double direction, double centre)
{
  return centre + remainder (direction - centre, 180);
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

const char *
ws_action_name (WsAction action)
{
  static const char *const names[] = {
    [WS_ACTION_NONE] = NULL,
    [WS_ACTION_USE] = "use",
    [WS_ACTION_REGRIND] = "regrind",
    [WS_ACTION_SET_ASIDE] = "set-aside",
    [WS_ACTION_MEASURE_AGAIN] = "measure-again",
    [WS_ACTION_OTHER_VIEWS] = "other-views",
    [WS_ACTION_HONE] = "hone",
  };
  return names[action];
}

WsAction
ws_result_action (const WsResult *result)
{
  const gboolean is_ground = (result->work & WS_WORK_GRIND) != 0;
  switch (result->verdict)
  {
  case WS_VERDICT_RETAKE:
    break;
  case WS_VERDICT_REJECT:
    return result->set_aside != NULL ? WS_ACTION_SET_ASIDE : WS_ACTION_REGRIND;
  case WS_VERDICT_UNDECIDED:
    if (result->tells_part)
      return WS_ACTION_NONE;
    break;
  case WS_VERDICT_ACCEPT:
    if (result->other_views != NULL)
      return WS_ACTION_OTHER_VIEWS;
    return result->work & WS_WORK_HONE ? WS_ACTION_HONE : WS_ACTION_USE;
  case WS_VERDICT_NONE:
    return is_ground ? WS_ACTION_REGRIND : WS_ACTION_NONE;
  }
  return WS_ACTION_MEASURE_AGAIN;
}

const char *
ws_result_reason (const WsResult *result)
{
  if (result->verdict == WS_VERDICT_RETAKE)
    return ws_retake_code (result->reason);
  if (result->verdict == WS_VERDICT_REJECT)
    return result->rejected;
  if (result->verdict != WS_VERDICT_UNDECIDED)
    return NULL;
  return result->hold != WS_HOLD_NONE ? result->hold_code : "near-limit";
}

void
ws_result_free (WsResult *result)
{
  if (result == NULL)
    return;
  g_free (result->detail);
  g_free (result->set_aside);
  g_free (result->other_views);
  g_array_unref (result->grinding);
  g_free (result->hold_why);
  g_ptr_array_unref (result->quantities);
  g_ptr_array_unref (result->findings);
  g_ptr_array_unref (result->advice);
  g_ptr_array_unref (result->cautions);
  g_ptr_array_unref (result->marks);
  if (result->turned != NULL)
    g_array_unref (result->turned);
  g_free (result);
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

gboolean
ws_quantity_is_of_family (const WsQuantity *quantity, const char *stem)
{
  return quantity->family != NULL && g_str_equal (quantity->family->stem, stem);
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

const WsPoint *
ws_quantity_place (const WsQuantity *quantity)
{
  return quantity->has_place ? &quantity->where_px : NULL;
}

double
ws_budget_line_contribution (const WsBudgetLine *line)
{
  return fabs (line->sensitivity) * line->u;
}
