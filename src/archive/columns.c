#include "archive/columns.h"

#include <math.h>
#include <string.h>

#include <whetsight/error.h>

#include "archive/note.h"

#define RECORD "whetsight/1"
#define CHAIN "whetsight-archive/1"

static char *
text_at (json_t *object, const char *key)
{
  return g_strdup (json_string_value (json_object_get (object, key)));
}

/* SQLite keeps whole numbers as integers, which know no -0. */
static double
number_at (json_t *object, const char *key)
{
  json_t *value = json_object_get (object, key);
  return json_is_number (value) ? json_number_value (value) + 0.0 : NAN;
}

static gboolean
refuse (const char *what, GError **error)
{
  g_set_error (error, WS_ERROR, WS_ERROR_DATA, "not a record of the form %s: %s", RECORD, what);
  return FALSE;
}

void
wsi_columns_clear (WsInspection *inspection)
{
  g_clear_pointer (&inspection->id, g_free);
  g_clear_pointer (&inspection->time, g_free);
  g_clear_pointer (&inspection->tool, g_free);
  g_clear_pointer (&inspection->kind, g_free);
  g_clear_pointer (&inspection->view, g_free);
  g_clear_pointer (&inspection->verdict, g_free);
  g_clear_pointer (&inspection->reason, g_free);
  g_clear_pointer (&inspection->image_name, g_free);
  g_clear_pointer (&inspection->image, g_free);
  g_clear_pointer (&inspection->about, g_free);
}

/* Records of older versions don't say what would have been seen. */
static gboolean
check_smallest_seen (const json_t *record, GError **error)
{
  const char *name;
  json_t *quantity;
  json_object_foreach (json_object_get (record, "quantities"), name, quantity)
  {
    const json_t *least = json_object_get (quantity, "smallest_seen");
    if (least != NULL && !json_is_null (least) &&
        !(json_is_number (least) && json_number_value (least) >= 0))
      return refuse ("a quantity's smallest_seen is neither null nor a number from 0 on", error);
  }
  return TRUE;
}

static gboolean
fill (WsInspection *inspection, json_t *record, GError **error)
{
  const char *missing;
  json_t *tool = json_object_get (record, "tool");
  json_t *image = json_object_get (record, "image");
  const char *form = json_string_value (json_object_get (record, "record"));
  wsi_columns_clear (inspection);
  if (wsi_note_is (record))
    return wsi_note_fill (inspection, record, &missing) || refuse (missing, error);
  if (form == NULL || !g_str_equal (form, RECORD))
    return refuse ("it says it is of another", error);
  inspection->id = text_at (record, "id");
  inspection->time = text_at (record, "time");
  inspection->tool = text_at (tool, "id");
  inspection->kind = text_at (tool, "kind");
  inspection->view = text_at (record, "view");
  inspection->verdict = text_at (record, "verdict");
  inspection->reason = text_at (record, "reason");
  inspection->image_name = text_at (image, "name");
  inspection->image = text_at (image, "sha256");
  if (inspection->id == NULL || *inspection->id == '\0' || inspection->time == NULL ||
      inspection->kind == NULL || inspection->view == NULL)
    return refuse ("id, time, view or the tool's kind is missing", error);
  if (inspection->image != NULL && !wsi_sha256_is_hex (inspection->image))
    return refuse ("the picture's sha256 is none", error);
  return check_smallest_seen (record, error);
}

static WsRow
row_of (const char *name, json_t *quantity)
{
  return (WsRow){
    .name = name,
    .value = number_at (quantity, "value"),
    .U = number_at (quantity, "U"),
    .k = number_at (quantity, "k"),
    .lower = number_at (quantity, "lower"),
    .upper = number_at (quantity, "upper"),
    .smallest_seen = number_at (quantity, "smallest_seen"),
    .verdict = json_string_value (json_object_get (quantity, "verdict")),
  };
}

void
wsi_columns_each_quantity (json_t *record, WsRowVisit visit, gpointer data)
{
  const char *name;
  json_t *quantity;
  json_object_foreach (json_object_get (record, "quantities"), name, quantity)
  {
    const WsRow row = row_of (name, quantity);
    visit (&row, data);
  }
}

int
wsi_columns_by_name (gconstpointer a, gconstpointer b)
{
  return strcmp (((const WsRow *)a)->name, ((const WsRow *)b)->name);
}

json_t *
wsi_columns_parse (const char *record, GError **error)
{
  json_error_t cause;
  json_t *parsed = wsi_lean_parse (record, &cause);
  if (parsed == NULL)
    refuse (cause.text, error);
  return parsed;
}

gboolean
wsi_columns_read (const char *record, WsLean *lean, GError **error)
{
  json_error_t cause;
  return wsi_lean_read (lean, record, NULL, &cause) || refuse (cause.text, error);
}

gboolean
wsi_columns_fill_parsed (WsInspection *inspection, json_t *record, WsRowVisit visit, gpointer data,
                         GError **error)
{
  if (strchr (inspection->record, '\r') != NULL || strchr (inspection->record, '\n') != NULL)
    return refuse ("it takes more than one line", error);
  if (!fill (inspection, record, error))
    return FALSE;
  if (visit != NULL)
    wsi_columns_each_quantity (record, visit, data);
  return TRUE;
}

gboolean
wsi_columns_fill (WsInspection *inspection, WsRowVisit visit, gpointer data, GError **error)
{
  json_t *record = wsi_columns_parse (inspection->record, error);
  const gboolean filled =
    record != NULL && wsi_columns_fill_parsed (inspection, record, visit, data, error);
  json_decref (record);
  return filled;
}

/* About what all fields but the record take. */
#define MOST_OF_FIELDS 2048

/* The length stands before the bytes, so that no two contents give the same text. */
static void
append_name (GString *text, const char *name, gsize n_bytes)
{
  g_string_append_printf (text, "%s %" G_GSIZE_FORMAT " ", name, n_bytes);
}

static void
append_field (GString *text, const char *name, const char *value)
{
  if (value == NULL)
  {
    g_string_append (text, name);
    g_string_append (text, " -\n");
    return;
  }
  const gsize n = strlen (value);
  append_name (text, name, n);
  g_string_append_len (text, value, (gssize)n);
  g_string_append_c (text, '\n');
}

void
wsi_columns_hash (const WsInspection *inspection, char hash[WS_SHA256_HEX_SIZE])
{
  const gsize n = strlen (inspection->record);
  GString *text = g_string_sized_new (MOST_OF_FIELDS);
  g_string_append (text, CHAIN "\n");
  append_field (text, "previous", inspection->previous);
  append_field (text, "settings", inspection->settings);
  append_field (text, "station", inspection->station);
  append_field (text, "grinder", inspection->grinder);
  append_field (text, "reground", inspection->reground ? "1" : "0");
  append_field (text, "annotated", inspection->annotated);
  append_field (text, "pictures", inspection->has_pictures ? "1" : "0");
  if (inspection->imported != NULL) /* rows of the first version had no such line */
    append_field (text, "imported", inspection->imported);
  if (inspection->clock != NULL) /* nor those of the second */
    append_field (text, "clock", inspection->clock);
  append_name (text, "record", n);
  const WsSha256Piece pieces[] = { { text->str, text->len },
                                   { inspection->record, n },
                                   { "\n", 1 } };
  wsi_sha256_pieces_hex (pieces, G_N_ELEMENTS (pieces), hash);
  g_string_free (text, TRUE);
}

char **
wsi_columns_views (const char *record)
{
  gsize i;
  json_t *view, *root = json_loads (record, 0, NULL);
  json_t *views = json_object_get (json_object_get (root, "tool"), "views");
  GPtrArray *names = g_ptr_array_new ();
  json_array_foreach (views, i, view)
  {
    if (json_is_string (view))
      g_ptr_array_add (names, g_strdup (json_string_value (view)));
  }
  json_decref (root);
  g_ptr_array_add (names, NULL);
  if (names->len > 1)
    return (char **)g_ptr_array_free (names, FALSE);
  g_ptr_array_free (names, TRUE);
  return NULL;
}

void
wsi_columns_quantity (const json_t *record, const char *quantity, WsRow *row)
{
  *row = row_of (quantity, json_object_get (json_object_get (record, "quantities"), quantity));
}

gboolean
ws_archive_value (const WsInspection *inspection, const char *quantity, double *value)
{
  WsRow row;
  json_t *record = wsi_columns_parse (inspection->record, NULL);
  wsi_columns_quantity (record, quantity, &row);
  *value = row.value;
  json_decref (record);
  return isfinite (*value);
}
