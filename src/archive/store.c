#include "archive/store.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <whetsight/error.h>

#include "archive/engines.h"
#include "archive/files.h"
#include "archive/note.h"
#include "archive/pictures.h"
#include "archive/statements.h"

#define CLOCK_MINUTES 5

/* ---- Opening --------------------------------------------------------------------- */

/* The head of a new form, by what older ones left. */
static gboolean
cover_head (WsEngine *engine, GError **error)
{
  WsArchive archive = { .engine = engine };
  const gboolean done = wsi_head_cover (&archive, error);
  wsi_statements_clear (&archive);
  return done;
}

WsArchive *
ws_archive_open (const char *folder, WsArchiveMode mode, GError **error)
{
  g_autoptr (WsArchive) archive = g_new0 (WsArchive, 1);
  archive->engine = wsi_engine_open (folder, mode, cover_head, error);
  if (archive->engine == NULL)
    return NULL;
  wsi_pictures_open (archive);
  return g_steal_pointer (&archive);
}

void
ws_archive_free (WsArchive *archive)
{
  if (archive == NULL)
    return;
  wsi_pictures_close (archive);
  wsi_statements_clear (archive);
  wsi_engine_free (archive->engine);
  g_free (archive);
}

gboolean
ws_archive_take_mended (WsArchive *archive)
{
  const gboolean mended = archive->mended;
  archive->mended = FALSE;
  return mended;
}

gboolean
ws_archive_take_clock (WsArchive *archive)
{
  const gboolean set_back = archive->clock_set_back;
  archive->clock_set_back = FALSE;
  return set_back;
}

const char *
ws_archive_folder (const WsArchive *archive)
{
  return archive->engine->name;
}

char *
ws_archive_picture_path (const WsArchive *archive, const char *sha256)
{
  return wsi_pictures_path (archive, sha256);
}

void
ws_inspection_free (WsInspection *inspection)
{
  if (inspection == NULL)
    return;
  char *const texts[] = {
    inspection->record, inspection->settings,  inspection->station,    inspection->grinder,
    inspection->id,     inspection->annotated, inspection->time,       inspection->tool,
    inspection->kind,   inspection->view,      inspection->verdict,    inspection->reason,
    inspection->image,  inspection->previous,  inspection->image_name, inspection->hash,
    inspection->wrong,  inspection->imported,  inspection->clock,      inspection->about,
    inspection->bench,
  };
  for (gsize i = 0; i < G_N_ELEMENTS (texts); i++)
    g_free (texts[i]);
  if (inspection->notes != NULL)
    g_ptr_array_unref (inspection->notes);
  g_free (inspection);
}

/* ---- Storing --------------------------------------------------------------------- */

/* Where there are many benches, the order of storing is told by the server. */
static gboolean
insert_row (WsArchive *archive, WsQuery *stmt, WsInspection *inspection, GError **error)
{
  const WsQueryStep step = wsi_step (stmt);
  inspection->number = step == WS_QUERY_ROW ? wsi_column_count (stmt, 0) : inspection->place;
  const gboolean done = step != WS_QUERY_FAILED || wsi_statement_refuse (archive, error);
  wsi_reset (stmt);
  return done;
}

static gboolean
insert_inspection (WsArchive *archive, WsInspection *inspection, GError **error)
{
  WsQuery *stmt = wsi_statement (archive, WS_SQL_INSERT_INSPECTION);
  const char *const texts[] = { inspection->id,        inspection->time,       inspection->tool,
                                inspection->kind,      inspection->view,       inspection->verdict,
                                inspection->reason,    inspection->image_name, inspection->image,
                                inspection->annotated, inspection->settings,   inspection->station,
                                inspection->grinder };
  wsi_bind_count (stmt, 1, inspection->place);
  for (int i = 0; i < (int)G_N_ELEMENTS (texts); i++)
    wsi_bind_text (stmt, 2 + i, texts[i]);
  wsi_bind_integer (stmt, 15, inspection->reground);
  wsi_bind_integer (stmt, 16, inspection->has_pictures);
  wsi_bind_text (stmt, 17, inspection->previous);
  wsi_bind_text (stmt, 18, inspection->hash);
  wsi_bind_text (stmt, 19, inspection->imported);
  wsi_bind_text (stmt, 20, inspection->clock);
  wsi_bind_text (stmt, 21, inspection->about);
  wsi_bind_bench (stmt, 22, NULL);
  if (!insert_row (archive, stmt, inspection, error))
    return FALSE;
  stmt = wsi_statement (archive, WS_SQL_INSERT_RECORD);
  wsi_bind_count (stmt, 1, inspection->number);
  wsi_bind_text (stmt, 2, inspection->record);
  return wsi_statement_finish (archive, stmt, error);
}

static void
keep_quantity (const WsRow *row, gpointer data)
{
  g_array_append_val ((GArray *)data, *row);
}

#define BOUND_OF_EACH 6

static void
bind_quantity (WsQuery *stmt, int at, const WsRow *row)
{
  wsi_bind_text (stmt, at, row->name);
  wsi_bind_number (stmt, at + 1, row->value); /* NAN becomes NULL */
  wsi_bind_number (stmt, at + 2, row->U);
  wsi_bind_number (stmt, at + 3, row->lower);
  wsi_bind_number (stmt, at + 4, row->upper);
  wsi_bind_text (stmt, at + 5, row->verdict);
}

/* Each statement takes as long as one quantity. */
static gboolean
insert_some (WsArchive *archive, guint64 number, const WsRow *rows, guint n, GError **error)
{
  WsQuery *stmt =
    wsi_statement (archive, n == 1 ? WS_SQL_INSERT_QUANTITY : WS_SQL_INSERT_QUANTITIES);
  wsi_bind_count (stmt, 1, number);
  for (guint i = 0; i < n; i++)
    bind_quantity (stmt, 2 + BOUND_OF_EACH * (int)i, &rows[i]);
  return wsi_statement_finish (archive, stmt, error);
}

static json_t *
number_or_null (double value)
{
  return isnan (value) ? json_null () : json_real (value);
}

/* All at once: each statement is a way to the server and back. */
static gboolean
send_quantities (WsArchive *archive, guint64 number, const GArray *quantities, GError **error)
{
  json_t *rows = json_array ();
  for (guint i = 0; i < quantities->len; i++)
  {
    const WsRow *row = &g_array_index (quantities, WsRow, i);
    json_array_append_new (rows,
                           json_pack ("{s:s, s:o, s:o, s:o, s:o, s:s?}", "name", row->name, "value",
                                      number_or_null (row->value), "u", number_or_null (row->U),
                                      "lower", number_or_null (row->lower), "upper",
                                      number_or_null (row->upper), "verdict", row->verdict));
  }
  char *text = json_dumps (rows, JSON_COMPACT);
  WsQuery *stmt = wsi_statement (archive, WS_SQL_INSERT_QUANTITIES);
  wsi_bind_count (stmt, 1, number);
  wsi_bind_text (stmt, 2, text);
  const gboolean done = wsi_statement_finish (archive, stmt, error);
  free (text);
  json_decref (rows);
  return done;
}

static gboolean
insert_quantities (WsArchive *archive, guint64 number, const GArray *quantities, GError **error)
{
  if (archive->engine->bench != NULL)
    return send_quantities (archive, number, quantities, error);
  for (guint i = 0, n; i < quantities->len; i += n)
  {
    n = quantities->len - i >= WS_QUANTITIES_AT_ONCE ? WS_QUANTITIES_AT_ONCE : 1;
    if (!insert_some (archive, number, &g_array_index (quantities, WsRow, i), n, error))
      return FALSE;
  }
  return TRUE;
}

gboolean
wsi_store_enter_file (WsArchive *archive, const char *sha256, guint64 size, GError **error)
{
  WsQuery *stmt = wsi_statement (archive, WS_SQL_INSERT_FILE);
  wsi_bind_text (stmt, 1, sha256);
  wsi_bind_count (stmt, 2, size);
  if (!wsi_statement_finish (archive, stmt, error))
    return FALSE;
  stmt = wsi_statement (archive, WS_SQL_CONFIRM);
  wsi_bind_text (stmt, 1, sha256);
  return wsi_statement_finish (archive, stmt, error);
}

/* Somebody may have cleared it away since it was saved: nobody can once it is entered. */
gboolean
wsi_store_insert_file (WsArchive *archive, GBytes *bytes, const char *sha256, GError **error)
{
  guint64 size;
  wsi_pictures_look_again (archive);
  return wsi_store_enter_file (archive, sha256, g_bytes_get_size (bytes), error) &&
         (wsi_pictures_size (archive, sha256, &size) ||
          wsi_pictures_save (archive, sha256, bytes, error));
}

static gboolean
step_finds_row (WsQuery *stmt)
{
  const gboolean has = wsi_step (stmt) == WS_QUERY_ROW;
  wsi_reset (stmt);
  return has;
}

/* Announced first: should this process be killed before the row commits, everybody knows where
 * the file came from. */
gboolean
wsi_store_save_picture (WsArchive *archive, GBytes *bytes, const char *sha256, GError **error)
{
  WsQuery *stmt = wsi_statement (archive, WS_SQL_HAS_FILE);
  wsi_bind_text (stmt, 1, sha256);
  if (!step_finds_row (stmt))
  {
    stmt = wsi_statement (archive, WS_SQL_ANNOUNCE);
    wsi_bind_text (stmt, 1, sha256);
    if (!wsi_statement_finish (archive, stmt, error))
      return FALSE;
  }
  wsi_pictures_look_again (archive);
  return wsi_pictures_save (archive, sha256, bytes, error);
}

static void
hex_of (GBytes *bytes, char hex[WS_SHA256_HEX_SIZE])
{
  gsize size;
  const void *data = g_bytes_get_data (bytes, &size);
  wsi_sha256_hex (data, size, hex);
}

static gboolean
refuse_changed (const WsInspection *inspection, GError **error)
{
  g_set_error (error, WS_ERROR, WS_ERROR_DATA,
               "%s: changed while it was measured, not archived; measure it again",
               inspection->image_name);
  return FALSE;
}

/* Of a series: each must be one that the record lists. */
static gboolean
save_others (WsArchive *archive, const WsInspection *inspection, const GPtrArray *others,
             GError **error)
{
  for (guint i = 0; others != NULL && i < others->len; i++)
  {
    char hex[WS_SHA256_HEX_SIZE];
    GBytes *bytes = g_ptr_array_index (others, i);
    hex_of (bytes, hex);
    if (strstr (inspection->record, hex) == NULL)
      return refuse_changed (inspection, error);
    if (!wsi_store_save_picture (archive, bytes, hex, error))
      return FALSE;
  }
  return TRUE;
}

static gboolean
insert_others (WsArchive *archive, const GPtrArray *others, GError **error)
{
  for (guint i = 0; others != NULL && i < others->len; i++)
  {
    char hex[WS_SHA256_HEX_SIZE];
    GBytes *bytes = g_ptr_array_index (others, i);
    hex_of (bytes, hex);
    if (!wsi_store_insert_file (archive, bytes, hex, error))
      return FALSE;
  }
  return TRUE;
}

static gboolean
save_pictures (WsArchive *archive, WsInspection *inspection, const WsPictures *pictures,
               GError **error)
{
  char hex[WS_SHA256_HEX_SIZE];
  gsize size;
  inspection->has_pictures = TRUE;
  g_clear_pointer (&inspection->annotated, g_free);
  if (pictures->original != NULL)
  {
    const void *bytes = g_bytes_get_data (pictures->original, &size);
    wsi_sha256_hex (bytes, size, hex);
    if (g_strcmp0 (hex, inspection->image) != 0)
      return refuse_changed (inspection, error);
    if (!wsi_store_save_picture (archive, pictures->original, hex, error))
      return FALSE;
  }
  if (!save_others (archive, inspection, pictures->others, error))
    return FALSE;
  if (pictures->annotated == NULL)
    return TRUE;
  const void *bytes = g_bytes_get_data (pictures->annotated, &size);
  wsi_sha256_hex (bytes, size, hex);
  inspection->annotated = g_strdup (hex);
  return wsi_store_save_picture (archive, pictures->annotated, hex, error);
}

static gboolean
insert_files (WsArchive *archive, const WsInspection *inspection, const WsPictures *pictures,
              GError **error)
{
  if (pictures == NULL)
    return TRUE;
  return (pictures->original == NULL ||
          wsi_store_insert_file (archive, pictures->original, inspection->image, error)) &&
         (pictures->annotated == NULL ||
          wsi_store_insert_file (archive, pictures->annotated, inspection->annotated, error)) &&
         insert_others (archive, pictures->others, error);
}

/* Before anybody is told that it is archived: what was written is there, row and head. */
static gboolean
read_back (WsArchive *archive, const WsInspection *inspection, GArray *quantities, GError **error)
{
  g_autofree char *what = NULL;
  if (!wsi_store_expect (archive, inspection, quantities, &what, error))
    return FALSE;
  if (what == NULL)
    return TRUE;
  g_set_error (error, WS_ERROR, WS_ERROR_CANT_WRITE,
               "archive %s: what was written can't be read back (%s), so it isn't archived; "
               "whetsight archive verify tells more",
               archive->engine->name, what);
  return FALSE;
}

/* A minute or two of waiting for others' turns is no clock that was set back. */
static gboolean
is_later (const char *newest, const char *time)
{
  g_autoptr (GDateTime) before = g_date_time_new_from_iso8601 (newest, NULL);
  g_autoptr (GDateTime) now = g_date_time_new_from_iso8601 (time, NULL);
  return before != NULL && now != NULL &&
         g_date_time_difference (before, now) > CLOCK_MINUTES * G_TIME_SPAN_MINUTE;
}

/* The chain's order is the order of storing; times that run against it are marked for good. */
static gboolean
look_at_clock (WsArchive *archive, WsInspection *inspection, GError **error)
{
  if (inspection->imported != NULL)
    return TRUE; /* measured by another clock */
  WsQuery *stmt = wsi_statement (archive, WS_SQL_NEWEST_TIME);
  wsi_bind_bench (stmt, 1, NULL);
  const WsQueryStep step = wsi_step (stmt);
  g_clear_pointer (&inspection->clock, g_free);
  if (step == WS_QUERY_ROW && is_later (wsi_column_text_or (stmt, 0, ""), inspection->time))
  {
    inspection->clock = g_strdup (wsi_column_text (stmt, 0));
    archive->clock_set_back = TRUE;
  }
  else if (step == WS_QUERY_FAILED)
    wsi_statement_refuse (archive, error);
  wsi_reset (stmt);
  return step != WS_QUERY_FAILED;
}

/* What a row is made of: its record's quantities, and the pictures or NULL. */
typedef struct
{
  GArray *quantities; /* of WsRow, in the order of their names */
  const WsPictures *pictures;
} Content;

/* Inside a transaction: number and hash follow from the head, which nobody else can move. */
static gboolean
append (WsArchive *archive, WsInspection *inspection, const Content *content, GError **error)
{
  WsHead head;
  if (!wsi_store_head_to_go_on (archive, &head, error) ||
      !look_at_clock (archive, inspection, error))
    return FALSE;
  inspection->place = ++head.count;
  g_free (inspection->bench);
  inspection->bench = g_strdup (archive->engine->bench);
  g_free (inspection->previous);
  inspection->previous = g_strdup (head.hash);
  wsi_columns_hash (inspection, head.hash);
  g_free (inspection->hash);
  inspection->hash = g_strdup (head.hash);

  return insert_inspection (archive, inspection, error) &&
         insert_quantities (archive, inspection->number, content->quantities, error) &&
         insert_files (archive, inspection, content->pictures, error) &&
         wsi_store_set_head (archive, &head, error) &&
         read_back (archive, inspection, content->quantities, error);
}

gboolean
wsi_store_has_id (WsArchive *archive, const char *id)
{
  WsQuery *stmt = wsi_statement (archive, WS_SQL_ID_TAKEN);
  wsi_bind_text (stmt, 1, id);
  wsi_bind_bench (stmt, 2, NULL);
  return step_finds_row (stmt);
}

/* A note on what isn't here would stand on nothing. */
static gboolean
check_about (WsArchive *archive, const WsInspection *row, GError **error)
{
  g_autofree char *what = NULL;
  if (row->about == NULL)
    return TRUE;
  if (!wsi_note_compare (archive, row, &what, error))
    return FALSE;
  if (what != NULL)
    g_set_error (error, WS_ERROR, WS_ERROR_DATA, "archive %s: note %s: %s", archive->engine->name,
                 row->id, what);
  return what == NULL;
}

static gboolean
check_id (WsArchive *archive, const WsInspection *inspection, GError **error)
{
  if (!wsi_store_has_id (archive, inspection->id))
    return check_about (archive, inspection, error);
  g_set_error (error, WS_ERROR, WS_ERROR_DATA, "archive %s: holds another record %s already",
               archive->engine->name, inspection->id);
  return FALSE;
}

gboolean
wsi_store_parsed (WsArchive *archive, WsInspection *inspection, const WsLean *lean,
                  const WsPictures *pictures, GError **error)
{
  g_return_val_if_fail (pictures == NULL || !archive->in_batch, FALSE);
  g_autoptr (GArray) quantities = g_array_new (FALSE, FALSE, sizeof (WsRow));
  const Content content = { quantities, pictures };
  if (lean->rows != NULL)
    g_array_append_vals (quantities, lean->rows->data, lean->rows->len);
  if (!wsi_columns_fill_parsed (inspection, lean->record, keep_quantity, quantities, error) ||
      (pictures != NULL && !save_pictures (archive, inspection, pictures, error)))
    return FALSE;
  g_array_sort (quantities, wsi_columns_by_name);
  if (archive->in_batch)
    return check_id (archive, inspection, error) && append (archive, inspection, &content, error);
  if (!wsi_transaction_begin_writing (archive, error))
    return FALSE;
  if (check_id (archive, inspection, error) && append (archive, inspection, &content, error) &&
      wsi_transaction_commit (archive, error))
    return TRUE;
  ws_archive_roll_back (archive);
  return FALSE;
}

gboolean
ws_archive_store (WsArchive *archive, WsInspection *inspection, const WsPictures *pictures,
                  GError **error)
{
  g_auto (WsLean) lean = { 0 };
  return wsi_columns_read (inspection->record, &lean, error) &&
         wsi_store_parsed (archive, inspection, &lean, pictures, error);
}

gboolean
ws_archive_begin (WsArchive *archive, GError **error)
{
  archive->in_batch = wsi_transaction_begin_writing (archive, error);
  return archive->in_batch;
}

gboolean
ws_archive_commit (WsArchive *archive, GError **error)
{
  if (!wsi_transaction_commit (archive, error))
  {
    ws_archive_roll_back (archive);
    return FALSE;
  }
  archive->in_batch = FALSE;
  return TRUE;
}

void
ws_archive_roll_back (WsArchive *archive)
{
  wsi_transaction_roll_back (archive);
  archive->in_batch = FALSE;
}
