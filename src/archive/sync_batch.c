#include "archive/sync_batch.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <whetsight/error.h>

#include "archive/row_check.h"
#include "archive/series.h"
#include "archive/statements.h"

/* What one transaction holds: little enough for both computers' memory and for others not to wait
 * long, enough for its commit to cost little beside it. */
#define MOST_ROWS 500
#define MOST_BYTES (4U << 20)

void
wsi_sync_batch_clear (WsSyncBatch *batch)
{
  json_decref (batch->rows);
  json_decref (batch->records);
  json_decref (batch->quantities);
  if (batch->proof != NULL)
    g_string_free (batch->proof, TRUE);
  g_clear_pointer (&batch->pictures, g_ptr_array_unref);
  g_clear_pointer (&batch->files, g_array_unref);
  *batch = (WsSyncBatch){ 0 };
}

typedef struct
{
  WsArchive *archive;
  WsSyncBatch *batch;
  GHashTable *named; /* SHA-256 of the pictures so far */
} Reading;

static gboolean
refuse_row (const Reading *reading, const WsInspection *row, const char *what, GError **error)
{
  g_set_error (error, WS_ERROR, WS_ERROR_DATA,
               "archive %s: row %" G_GUINT64_FORMAT " is not as it was written (%s), so nothing "
               "from there on is sent; whetsight archive verify tells more",
               ws_archive_folder (reading->archive), row->place, what);
  return FALSE;
}

/* ---- What the tables of the centre get ------------------------------------------------------- */

static json_t *
text_or_null (const char *text)
{
  return text != NULL ? json_string (text) : json_null ();
}

static json_t *
number_or_null (double number)
{
  return isfinite (number) ? json_real (number) : json_null ();
}

/* NULL when a text isn't UTF-8. */
static json_t *
row_json (const WsInspection *row, const WsInspection *recorded)
{
  const struct
  {
    const char *column, *text;
  } texts[] = {
    { "id", recorded->id },          { "time", recorded->time },
    { "tool", recorded->tool },      { "kind", recorded->kind },
    { "view", recorded->view },      { "verdict", recorded->verdict },
    { "reason", recorded->reason },  { "image_name", recorded->image_name },
    { "image", recorded->image },    { "about", recorded->about },
    { "annotated", row->annotated }, { "settings", row->settings },
    { "station", row->station },     { "grinder", row->grinder },
    { "previous", row->previous },   { "hash", row->hash },
    { "imported", row->imported },   { "clock", row->clock },
    { "record", row->record },
  };
  json_t *object = json_pack ("{s:I, s:i, s:i}", "place", (json_int_t)row->place, "reground",
                              row->reground ? 1 : 0, "pictures", row->has_pictures ? 1 : 0);
  for (gsize i = 0; i < G_N_ELEMENTS (texts); i++)
    if (json_object_set_new (object, texts[i].column, text_or_null (texts[i].text)) != 0)
    {
      json_decref (object);
      return NULL;
    }
  return object;
}

typedef struct
{
  guint64 number;
  json_t *quantities;
} Quantities;

static void
add_quantity (const WsRow *row, gpointer data)
{
  const Quantities *to = data;
  json_array_append_new (to->quantities,
                         json_pack ("{s:I, s:s, s:o, s:o, s:o, s:o, s:s?}", "place",
                                    (json_int_t)to->number, "name", row->name, "value",
                                    number_or_null (row->value), "u", number_or_null (row->U),
                                    "lower", number_or_null (row->lower), "upper",
                                    number_or_null (row->upper), "verdict", row->verdict));
}

static void
name_picture (Reading *reading, const char *sha256)
{
  if (sha256 == NULL || !wsi_sha256_is_hex (sha256) ||
      g_hash_table_contains (reading->named, sha256))
    return;
  char *name = g_strdup (sha256);
  g_ptr_array_add (reading->batch->pictures, name);
  g_hash_table_add (reading->named, name);
}

static void
name_pictures (Reading *reading, const WsInspection *row)
{
  if (!row->has_pictures)
    return;
  g_auto (GStrv) others = wsi_series_others (row);
  name_picture (reading, row->image);
  name_picture (reading, row->annotated);
  for (gsize i = 0; others[i] != NULL; i++)
    name_picture (reading, others[i]);
}

/* ---- Reading --------------------------------------------------------------------------------- */

/* In its place behind the row before, whose hash is part of its own. */
static const char *
misplaced (const WsSyncBatch *batch, const WsInspection *row)
{
  char hash[WS_SHA256_HEX_SIZE];
  if (row->place != batch->count + 1)
    return "the one before it is gone";
  if (row->record == NULL)
    return "its record was removed";
  if (!g_str_equal (row->previous, batch->hash))
    return "it follows another than the one before it";
  wsi_columns_hash (row, hash);
  return g_str_equal (hash, row->hash) ? NULL : "edited: its hash is of another content";
}

static gboolean
check_row (Reading *reading, const WsInspection *row, json_t *record, GError **error)
{
  g_autofree char *wrong = NULL;
  const char *place = misplaced (reading->batch, row);
  if (place != NULL)
    return refuse_row (reading, row, place, error);
  return wsi_row_compare (reading->archive, row, record, &wrong, error) &&
         (wrong == NULL || refuse_row (reading, row, wrong, error));
}

/* As `read_proof` has it. */
static void
append_proof (GString *proof, const WsInspection *row)
{
  char of_record[WS_SHA256_HEX_SIZE];
  const char *const texts[] = { row->settings,  row->station,  row->grinder,
                                row->annotated, row->imported, row->clock };
  wsi_sha256_hex (row->record, strlen (row->record), of_record);
  g_string_append_printf (proof, "%" G_GUINT64_FORMAT " %s %s %s %d %d", row->place, row->previous,
                          row->hash, of_record, row->reground ? 1 : 0, row->has_pictures ? 1 : 0);
  for (gsize i = 0; i < G_N_ELEMENTS (texts); i++)
    g_string_append_printf (proof, " %s", texts[i] != NULL ? texts[i] : "-");
  g_string_append_c (proof, '\n');
}

static gboolean
append_row (Reading *reading, const WsInspection *row, json_t *record, GError **error)
{
  WsSyncBatch *batch = reading->batch;
  g_autoptr (WsInspection) recorded = g_new0 (WsInspection, 1);
  Quantities quantities = { row->place, batch->quantities };
  recorded->record = g_strdup (row->record);
  if (!wsi_columns_fill_parsed (recorded, record, add_quantity, &quantities, error))
    return FALSE;
  json_t *columns = row_json (row, recorded);
  json_t *text = json_pack ("{s:I, s:s}", "place", (json_int_t)row->place, "record", row->record);
  if (json_array_append_new (batch->rows, columns) != 0 ||
      json_array_append_new (batch->records, text) != 0)
    return refuse_row (reading, row, "a text that isn't UTF-8", error);
  append_proof (batch->proof, row);
  name_pictures (reading, row);
  batch->count = row->place;
  g_strlcpy (batch->hash, row->hash, sizeof batch->hash);
  batch->bytes += strlen (row->record);
  return TRUE;
}

static gboolean
take_row (const WsInspection *row, gpointer data, GError **error)
{
  Reading *reading = data;
  if (reading->batch->bytes >= MOST_BYTES)
    return TRUE;
  json_t *record = row->record != NULL ? wsi_columns_parse (row->record, NULL) : NULL;
  const gboolean taken =
    check_row (reading, row, record, error) && append_row (reading, row, record, error);
  json_decref (record);
  return taken;
}

gboolean
wsi_sync_batch_read (WsArchive *archive, guint64 after, const char *hash, guint64 last,
                     WsSyncBatch *batch, GError **error)
{
  g_autoptr (GHashTable) named = g_hash_table_new (g_str_hash, g_str_equal);
  Reading reading = { archive, batch, named };
  *batch = (WsSyncBatch){ .after = after,
                          .count = after,
                          .rows = json_array (),
                          .records = json_array (),
                          .quantities = json_array (),
                          .proof = g_string_new (NULL),
                          .pictures = g_ptr_array_new_with_free_func (g_free),
                          .files = g_array_new (FALSE, FALSE, sizeof (WsSyncFile)) };
  g_strlcpy (batch->before, hash, sizeof batch->before);
  g_strlcpy (batch->hash, hash, sizeof batch->hash);
  if (!wsi_store_each_row_after (archive, after, MIN (last - after, MOST_ROWS), take_row, &reading,
                                 error))
    return FALSE;
  if (batch->count > after || after >= last)
    return TRUE;
  const WsInspection gone = { .place = after + 1 };
  return refuse_row (&reading, &gone, "it was removed", error);
}

/* ---- Writing --------------------------------------------------------------------------------- */

#define COLUMNS                                                                                    \
  "place, id, time, tool, kind, view, verdict, reason, image_name, image, annotated, settings, "   \
  "station, grinder, reground, pictures, previous, hash, imported, clock, about"

#define TYPED                                                                                      \
  "(place bigint, id text, time text, tool text, kind text, view text, verdict text, "             \
  "reason text, image_name text, image text, annotated text, settings text, station text, "        \
  "grinder text, reground integer, pictures integer, previous text, hash text, imported text, "    \
  "clock text, about text)"

/* All rows by one statement, which takes them as JSON; in their order, since each has to follow
 * from the one before. */
static const char insert_rows[] = "INSERT INTO inspection (bench, " COLUMNS ") SELECT ?2, " COLUMNS
                                  " FROM json_to_recordset (?1::json) AS sent " TYPED;
static const char insert_records[] =
  "INSERT INTO record (number, month, record) SELECT number, month, record"
  " FROM json_to_recordset (?1::json) AS sent (place bigint, record text)"
  " JOIN inspection USING (place) WHERE bench = ?2";
static const char insert_quantities[] =
  "INSERT INTO quantity (number, month, name, value, u, lower, upper, verdict)"
  " SELECT number, month, name, value, u, lower, upper, sent.verdict"
  " FROM json_to_recordset (?1::json) AS sent (place bigint, name text, value double precision,"
  " u double precision, lower double precision, upper double precision, verdict text)"
  " JOIN inspection USING (place) WHERE bench = ?2";

static gboolean
run (WsArchive *centre, const char *sql, const json_t *values, GError **error)
{
  char *text = json_dumps (values, JSON_COMPACT);
  WsQuery *query = wsi_query_new (centre->engine, sql, WS_QUERY_ONCE);
  wsi_bind_text (query, 1, text);
  wsi_bind_bench (query, 2, NULL);
  const gboolean done = wsi_step (query) == WS_QUERY_DONE || wsi_statement_refuse (centre, error);
  wsi_query_free (query);
  free (text);
  return done;
}

/* A line a row of what its hash is of, as append_proof() has it, and how many quantities there are.
 * The head follows the rows by itself. */
static const char read_proof[] =
  "SELECT coalesce (string_agg (place || ' ' || previous || ' ' || hash || ' ' ||"
  " encode (sha256 (convert_to (record, 'UTF8')), 'hex') || ' ' || reground || ' ' || pictures ||"
  " ' ' || concat_ws (' ', coalesce (settings, '-'), coalesce (station, '-'),"
  " coalesce (grinder, '-'), coalesce (annotated, '-'), coalesce (imported, '-'),"
  " coalesce (clock, '-')) || chr (10), '' ORDER BY place), ''),"
  " (SELECT count (*) FROM inspection JOIN quantity USING (number, month) WHERE bench = ?1 AND"
  " place > ?2)"
  " FROM inspection JOIN record USING (number, month) WHERE bench = ?1 AND place > ?2";

/* Before anybody is told that it is there. */
static gboolean
read_back (WsArchive *centre, const WsSyncBatch *batch, GError **error)
{
  WsQuery *query = wsi_query_new (centre->engine, read_proof, WS_QUERY_ONCE);
  wsi_bind_bench (query, 1, NULL);
  wsi_bind_count (query, 2, batch->after);
  const gboolean read = wsi_step (query) == WS_QUERY_ROW;
  const gboolean same = read &&
                        g_str_equal (wsi_column_text_or (query, 0, ""), batch->proof->str) &&
                        wsi_column_count (query, 1) == json_array_size (batch->quantities);
  if (!read)
    wsi_statement_refuse (centre, error);
  else if (!same)
    g_set_error (error, WS_ERROR, WS_ERROR_CANT_WRITE,
                 "archive %s: what was sent can't be read back as it was, so it isn't kept; "
                 "whetsight archive verify tells more",
                 ws_archive_folder (centre));
  wsi_query_free (query);
  return same;
}

static gboolean
enter_files (WsArchive *centre, const WsSyncBatch *batch, GError **error)
{
  for (guint i = 0; i < batch->files->len; i++)
  {
    const WsSyncFile *file = &g_array_index (batch->files, WsSyncFile, i);
    if (!wsi_store_enter_file (centre, file->sha256, file->size, error))
      return FALSE;
  }
  return TRUE;
}

static gboolean
write_rows (WsArchive *centre, const WsSyncBatch *batch, gboolean *moved, GError **error)
{
  WsHead head;
  if (!wsi_store_head_to_go_on (centre, &head, error))
    return FALSE;
  *moved = head.count != batch->after || !g_str_equal (head.hash, batch->before);
  if (*moved)
    return FALSE;
  return run (centre, insert_rows, batch->rows, error) &&
         run (centre, insert_records, batch->records, error) &&
         run (centre, insert_quantities, batch->quantities, error) &&
         enter_files (centre, batch, error) && read_back (centre, batch, error);
}

gboolean
wsi_sync_batch_write (WsArchive *centre, const WsSyncBatch *batch, gboolean *moved, GError **error)
{
  *moved = FALSE;
  if (!wsi_transaction_begin_writing (centre, error))
    return FALSE;
  if (write_rows (centre, batch, moved, error) && wsi_transaction_commit (centre, error))
    return TRUE;
  wsi_transaction_roll_back (centre);
  return *moved;
}

gboolean
wsi_sync_batch_write_files (WsArchive *centre, const WsSyncBatch *batch, GError **error)
{
  if (batch->files->len == 0)
    return TRUE;
  if (!wsi_transaction_begin_writing (centre, error))
    return FALSE;
  if (enter_files (centre, batch, error) && wsi_transaction_commit (centre, error))
    return TRUE;
  wsi_transaction_roll_back (centre);
  return FALSE;
}

/* ---- Pictures -------------------------------------------------------------------------------- */

void
wsi_sync_batch_add_file (WsSyncBatch *batch, const char *sha256, gsize size)
{
  WsSyncFile file = { .size = size };
  g_strlcpy (file.sha256, sha256, sizeof file.sha256);
  g_array_append_val (batch->files, file);
}

static char *
names_json (const GPtrArray *names)
{
  json_t *array = json_array ();
  for (guint i = 0; i < names->len; i++)
    json_array_append_new (array, json_string (g_ptr_array_index (names, i)));
  char *text = json_dumps (array, JSON_COMPACT);
  json_decref (array);
  return text;
}

GPtrArray *
wsi_sync_batch_lacking (WsArchive *centre, const WsSyncBatch *batch, GError **error)
{
  WsQueryStep step;
  g_autoptr (GPtrArray) lacking = g_ptr_array_new_with_free_func (g_free);
  char *names = names_json (batch->pictures);
  WsQuery *query =
    wsi_query_new (centre->engine,
                   "SELECT name FROM json_array_elements_text (?1::json) AS named (name)"
                   " WHERE NOT EXISTS (SELECT 1 FROM file WHERE sha256 = name)",
                   WS_QUERY_ONCE);
  wsi_bind_text (query, 1, names);
  while ((step = wsi_step (query)) == WS_QUERY_ROW)
    g_ptr_array_add (lacking, g_strdup (wsi_column_text_or (query, 0, "")));
  if (step != WS_QUERY_DONE)
    wsi_statement_refuse (centre, error);
  wsi_query_free (query);
  free (names);
  return step == WS_QUERY_DONE ? g_steal_pointer (&lacking) : NULL;
}
