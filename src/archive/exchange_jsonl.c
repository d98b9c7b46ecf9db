#include <jansson.h>
#include <string.h>

#include <whetsight/error.h>

#include "archive/exchange.h"
#include "archive/lean.h"
#include "archive/note.h"
#include "archive/record_check.h"

#define FORM "whetsight-inspection/1"

/* The record comes last and as it is, so that it can be cut out again byte by byte.  A quote in
 * any text before it stands behind a backslash, so this can't be met earlier. */
#define RECORD_MARK "\"record\": {"

static void
append_text (GString *out, const char *name, const char *text)
{
  /* A database from elsewhere may hold bytes that are no text. */
  g_autofree char *valid = text != NULL ? g_utf8_make_valid (text, -1) : NULL;
  json_t *value = valid != NULL ? json_string (valid) : json_null ();
  g_autofree char *words = json_dumps (value, JSON_ENCODE_ANY);
  g_string_append_printf (out, "\"%s\": %s, ", name, words);
  json_decref (value);
}

/* A line of its own, behind the inspection's. */
static void
append_note (GString *out, const WsNote *note)
{
  g_string_append (out, "{\"inspection\": \"" FORM "\", ");
  if (note->imported != NULL)
    append_text (out, "imported", note->imported);
  if (note->clock != NULL)
    append_text (out, "clock", note->clock);
  g_string_append_printf (out, "\"record\": %s}\n", note->record);
}

void
wsi_exchange_append_line (GString *out, const WsInspection *inspection, const char *more)
{
  g_string_append_printf (out, "{\"inspection\": \"" FORM "\", %s", more);
  append_text (out, "settings", inspection->settings);
  append_text (out, "station", inspection->station);
  append_text (out, "grinder", inspection->grinder);
  g_string_append_printf (out, "\"reground\": %s, ", inspection->reground ? "true" : "false");
  append_text (out, "annotated", inspection->annotated);
  if (inspection->imported != NULL)
    append_text (out, "imported", inspection->imported);
  if (inspection->clock != NULL)
    append_text (out, "clock", inspection->clock);
  g_string_append_printf (out, "\"record\": %s}\n", inspection->record);
}

static gboolean
add (WsExchange *exchange, const WsInspection *inspection, json_t *record, const GArray *rows,
     GString *out, GError **error)
{
  (void)exchange;
  (void)record;
  (void)rows;
  (void)error;
  wsi_exchange_append_line (out, inspection, "");
  for (guint n = 0; inspection->notes != NULL && n < inspection->notes->len; n++)
    append_note (out, g_ptr_array_index (inspection->notes, n));
  return TRUE;
}

static char *
text_at (json_t *object, const char *key)
{
  return g_strdup (json_string_value (json_object_get (object, key)));
}

/* How many brackets are open at `to`, in JSON that is known to be sound. */
static guint
open_brackets (const char *from, const char *to)
{
  gboolean quoted = FALSE;
  guint open = 0;
  for (const char *at = from; at < to; at++)
  {
    if (quoted && *at == '\\')
      at++;
    else if (*at == '"')
      quoted = !quoted;
    else if (!quoted && (*at == '{' || *at == '['))
      open++;
    else if (!quoted && (*at == '}' || *at == ']'))
      open--;
  }
  return open;
}

/* Members are told in the order in which they stood, from jansson 2.8 on. */
static gboolean
is_last (json_t *object, const char *key)
{
  const char *last = "";
  for (void *at = json_object_iter (object); at != NULL; at = json_object_iter_next (object, at))
    last = json_object_iter_key (at);
  return g_str_equal (last, key);
}

/* The record's own bytes where it stands last in the line, as it is written here. */
static char *
own_bytes (const char *line, json_t *whole)
{
  const char *mark = strstr (line, RECORD_MARK), *end = strrchr (line, '}');
  if (mark == NULL || end == NULL || open_brackets (line, mark) != 1 || !is_last (whole, "record"))
    return NULL;
  const char *from = mark + strlen (RECORD_MARK) - 1;
  return g_strndup (from, (gsize)(end - from));
}

/* Else the same content anew. */
static char *
record_of (const char *line, json_t *whole)
{
  char *own = own_bytes (line, whole);
  if (own != NULL)
    return own;
  json_t *complete = json_loads (line, JSON_REJECT_DUPLICATES, NULL);
  json_t *record = json_object_get (complete, "record");
  char *text = record != NULL ? json_dumps (record, JSON_ENCODE_ANY) : g_strdup ("");
  json_decref (complete);
  return text;
}

static WsInspection *
read_whole (const char *line, json_t *whole)
{
  WsInspection *inspection = g_new0 (WsInspection, 1);
  inspection->settings = text_at (whole, "settings");
  inspection->station = text_at (whole, "station");
  inspection->grinder = text_at (whole, "grinder");
  inspection->annotated = text_at (whole, "annotated");
  inspection->imported = text_at (whole, "imported");
  inspection->clock = text_at (whole, "clock");
  inspection->reground = json_is_true (json_object_get (whole, "reground"));
  inspection->record = record_of (line, whole);
  return inspection;
}

/* A line of a form that we don't know isn't read as one that we do. */
static gboolean
check_form (json_t *whole, GError **error)
{
  static const char *const texts[] = { "settings",  "station",  "grinder",
                                       "annotated", "imported", "clock" };
  const char *form = json_string_value (json_object_get (whole, "inspection"));
  const json_t *reground = json_object_get (whole, "reground");
  gboolean good =
    form != NULL && g_str_equal (form, FORM) && (reground == NULL || json_is_boolean (reground));
  for (gsize i = 0; good && i < G_N_ELEMENTS (texts); i++)
  {
    const json_t *value = json_object_get (whole, texts[i]);
    good = value == NULL || json_is_null (value) || json_is_string (value);
  }
  if (!good)
    g_set_error (error, WS_ERROR, WS_ERROR_DATA, "not of the form " FORM);
  return good;
}

/* A record that is no object is refused by its text. */
static gboolean
fill (WsInspection *inspection, const WsLean *lean, GError **error)
{
  json_t *record = lean->record;
  const gboolean filled = json_is_object (record)
                            ? wsi_columns_fill_parsed (inspection, record, NULL, NULL, error)
                            : wsi_columns_fill (inspection, NULL, NULL, error);
  /* Of a note, what it holds a result of; most hold none. */
  json_t *result = inspection->about != NULL ? json_object_get (record, WSI_NOTE_RESULT) : record;
  return filled &&
         (result == NULL || wsi_record_check (result, result == record ? lean->rows : NULL, error));
}

static gboolean
is_whole (json_t *tree)
{
  return json_object_get (tree, "inspection") != NULL;
}

static json_t *
record_in (json_t *tree)
{
  return is_whole (tree) ? json_object_get (tree, "record") : tree;
}

/* Takes the line where it is the record. */
static WsInspection *
read_parsed (char **line, const WsLean *lean, GError **error)
{
  g_autoptr (WsInspection) inspection = NULL;
  if (!is_whole (lean->tree))
  {
    inspection = g_new0 (WsInspection, 1);
    inspection->record = g_steal_pointer (line);
  }
  else if (check_form (lean->tree, error))
    inspection = read_whole (*line, lean->tree);
  return inspection != NULL && fill (inspection, lean, error) ? g_steal_pointer (&inspection)
                                                              : NULL;
}

WsInspection *
wsi_exchange_read_parsed (const char *line, WsLean *lean, GError **error)
{
  json_error_t cause;
  g_autofree char *trimmed = g_strstrip (g_strdup (line));
  if (wsi_lean_read (lean, trimmed, record_in, &cause))
    return read_parsed (&trimmed, lean, error);
  g_set_error (error, WS_ERROR, WS_ERROR_DATA, "no JSON: %s", cause.text);
  return NULL;
}

WsInspection *
ws_exchange_read (const char *line, GError **error)
{
  g_auto (WsLean) lean = { 0 };
  return wsi_exchange_read_parsed (line, &lean, error);
}

const WsExchangeKind wsi_exchange_jsonl = { "jsonl", NULL, add, NULL, NULL, NULL };
