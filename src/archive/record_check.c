#include "archive/record_check.h"

#include <math.h>
#include <string.h>

#include <whetsight/error.h>
#include <whetsight/judge.h>

#include "archive/row.h"
#include "archive/state.h"

/* What a record's quantities say together. */
typedef struct
{
  guint n_accept, n_reject, n_undecided, n_numbers;
} Count;

static gboolean refuse (GError **error, const char *format, ...) G_GNUC_PRINTF (2, 3);

static gboolean
refuse (GError **error, const char *format, ...)
{
  va_list arguments;
  va_start (arguments, format);
  g_autofree char *what = g_strdup_vprintf (format, arguments);
  va_end (arguments);
  g_set_error (error, WS_ERROR, WS_ERROR_DATA, "contradicts itself: %s", what);
  return FALSE;
}

/* ---- Types ---------------------------------------------------------------------------- */

static gboolean
is_text_or_null (const json_t *value)
{
  return value == NULL || json_is_null (value) || json_is_string (value);
}

static gboolean
is_number_or_null (const json_t *value)
{
  return value == NULL || json_is_null (value) || json_is_number (value);
}

static gboolean
is_verdict (const json_t *value)
{
  return is_text_or_null (value) &&
         (!json_is_string (value) ||
          wsi_archive_verdict (json_string_value (value)) != WS_VERDICT_NONE);
}

static gboolean
check_texts (json_t *record, GError **error)
{
  static const char *const texts[] = { "id", "view", "reason", "program", "hand" };
  static const char *const lists[] = { "findings", "advice" };
  for (gsize i = 0; i < G_N_ELEMENTS (texts); i++)
    if (!is_text_or_null (json_object_get (record, texts[i])))
      return refuse (error, "%s is no text", texts[i]);
  for (gsize i = 0; i < G_N_ELEMENTS (lists); i++)
    if (json_object_get (record, lists[i]) != NULL &&
        !json_is_array (json_object_get (record, lists[i])))
      return refuse (error, "%s is no list", lists[i]);
  if (!json_is_object (json_object_get (record, "quantities")))
    return refuse (error, "quantities is no object");
  return is_verdict (json_object_get (record, "verdict")) ||
         refuse (error, "its verdict is none of accept, reject, undecided, retake and null");
}

/* 2026-11-25T10:15:02Z, perhaps with decimals of the second. */
static gboolean
has_form_of_time (const char *text)
{
  static const char form[] = "0000-00-00T00:00:00";
  const char *at = text;
  for (const char *f = form; *f != '\0'; f++, at++)
    if (*f == '0' ? !g_ascii_isdigit (*at) : *at != *f)
      return FALSE;
  if (*at == '.' && g_ascii_isdigit (at[1]))
    for (at++; g_ascii_isdigit (*at); at++)
      ;
  return g_str_equal (at, "Z");
}

/* ISO 8601, in UTC, of a day that there was. */
static gboolean
check_time (const json_t *record, GError **error)
{
  const char *text = json_string_value (json_object_get (record, "time"));
  g_autoptr (GDateTime) time =
    text != NULL && has_form_of_time (text) ? g_date_time_new_from_iso8601 (text, NULL) : NULL;
  return time != NULL || refuse (error, "its time is none, as 2026-11-25T10:15:02Z");
}

/* ---- Verdicts --------------------------------------------------------------------------- */

/* What is read of a quantity; NAN and no limit where it says null or nothing. */
typedef struct
{
  double value, U, k, lower, upper, given;
  const char *verdict;
} Said;

/* NULL where none of them has that name. */
static double *
number_called (Said *said, const char *name)
{
  const struct
  {
    const char *name;
    double *number;
  } numbers[] = { { "value", &said->value }, { "U", &said->U },         { "k", &said->k },
                  { "lower", &said->lower }, { "upper", &said->upper }, { "given", &said->given } };
  for (gsize i = 0; i < G_N_ELEMENTS (numbers); i++)
    if (strcmp (name, numbers[i].name) == 0)
      return numbers[i].number;
  return NULL;
}

static gboolean
read_quantity (const char *name, json_t *quantity, Said *said, GError **error)
{
  const char *key;
  json_t *value;
  const json_t *verdict = json_object_get (quantity, "verdict");
  *said = (Said){ NAN, NAN, NAN, -INFINITY, INFINITY, NAN, json_string_value (verdict) };
  json_object_foreach (quantity, key, value)
  {
    double *number = number_called (said, key);
    if (number != NULL && !is_number_or_null (value))
      return refuse (error, "%s of %s is neither a number nor null", key, name);
    if (number != NULL && json_is_number (value))
      *number = json_number_value (value);
  }
  return (json_is_object (quantity) && is_verdict (verdict)) ||
         refuse (error, "%s has no verdict", name);
}

static gboolean
check_said (const char *name, const Said *said, Count *count, GError **error)
{
  const WsVerdict told = wsi_archive_verdict (said->verdict);
  const WsVerdict due = ws_verdict_for (said->value, said->U, said->lower, said->upper);
  if (isfinite (said->value) && !(said->U >= 0.0))
    return refuse (error, "%s has a value without U", name);
  /* What somebody measured by other means has its U elsewhere. */
  if (told != due && told != WS_VERDICT_UNDECIDED && isnan (said->given))
    return refuse (error, "%s is told as %s, by its value, U and limits it is %s", name,
                   told != WS_VERDICT_NONE ? ws_verdict_name (told) : "without limits",
                   due != WS_VERDICT_NONE ? ws_verdict_name (due) : "without limits");
  count->n_numbers += isfinite (said->value) ? 1 : 0;
  count->n_accept += told == WS_VERDICT_ACCEPT ? 1 : 0;
  count->n_reject += told == WS_VERDICT_REJECT ? 1 : 0;
  count->n_undecided += told == WS_VERDICT_UNDECIDED ? 1 : 0;
  return TRUE;
}

/* A tool may be rejected by what isn't a number, a blade of the wrong hand say, and then there is a
 * reason. */
static gboolean
check_tool (const json_t *record, const Count *count, GError **error)
{
  const WsVerdict told =
    wsi_archive_verdict (json_string_value (json_object_get (record, "verdict")));
  const gboolean has_reason = json_is_string (json_object_get (record, "reason"));
  if (told == WS_VERDICT_RETAKE && (!has_reason || count->n_numbers > 0))
    return refuse (error, "a retake with numbers, or without a reason");
  if (told == WS_VERDICT_ACCEPT &&
      (count->n_accept == 0 || count->n_reject + count->n_undecided > 0))
    return refuse (error, "accepted, and its quantities aren't");
  if (told == WS_VERDICT_REJECT && count->n_reject == 0 && !has_reason)
    return refuse (error, "rejected, and neither a quantity nor a reason says why");
  if (told != WS_VERDICT_REJECT && count->n_reject > 0)
    return refuse (error, "a quantity is rejected, and the tool isn't");
  if (told == WS_VERDICT_NONE && count->n_accept + count->n_undecided > 0)
    return refuse (error, "a quantity has a verdict, and the tool has none");
  return TRUE;
}

static gboolean
check_quantities (json_t *record, Count *count, GError **error)
{
  Said said;
  const char *name;
  json_t *quantity;
  json_object_foreach (json_object_get (record, "quantities"), name, quantity)
  {
    if (!read_quantity (name, quantity, &said, error) || !check_said (name, &said, count, error))
      return FALSE;
  }
  return TRUE;
}

/* Their types were looked at when they were read. */
static gboolean
check_rows (const GArray *rows, Count *count, GError **error)
{
  for (guint i = 0; rows != NULL && i < rows->len; i++)
  {
    const WsRow *row = &g_array_index (rows, WsRow, i);
    const Said said = { row->value,
                        row->U,
                        row->k,
                        isnan (row->lower) ? -INFINITY : row->lower,
                        isnan (row->upper) ? INFINITY : row->upper,
                        NAN,
                        row->verdict };
    if (!check_said (row->name, &said, count, error))
      return FALSE;
  }
  return TRUE;
}

gboolean
wsi_record_check (json_t *record, const GArray *rows, GError **error)
{
  Count count = { 0 };
  return check_texts (record, error) && check_time (record, error) &&
         check_quantities (record, &count, error) && check_rows (rows, &count, error) &&
         check_tool (record, &count, error);
}
