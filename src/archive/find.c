/*
 * Rows by what is looked for.
 */
#include <math.h>

#include <whetsight/error.h>

#include "archive/note.h"
#include "archive/notes.h"
#include "archive/row_check.h"
#include "archive/statements.h"
#include "archive/store.h"

#define N_COLUMNS 18
#define N_LATER 3 /* `imported` and what else the first versions knew nothing of */

static const char *
later_columns (const WsArchive *archive)
{
  static const char *const by_version[] = { "NULL, NULL, NULL, ", "imported, NULL, NULL, ",
                                            "imported, clock, NULL, ", "imported, clock, about, " };
  return by_version[CLAMP (archive->version, 1, (int)G_N_ELEMENTS (by_version)) - 1];
}

/* From fixed parts alone; what the user wrote is bound. */
static void
append_conditions (GString *sql, const WsArchiveFilter *filter)
{
  const struct
  {
    gboolean used;
    const char *condition;
  } parts[] = {
    { filter->tool != NULL, filter->wild ? " AND tool GLOB :tool" : " AND tool = :tool" },
    { filter->kind != NULL, " AND kind = :kind" },
    { filter->view != NULL, " AND view = :view" },
    { filter->verdict != NULL, " AND inspection.verdict = :verdict" },
    { filter->station != NULL,
      filter->wild ? " AND station GLOB :station" : " AND station = :station" },
    { filter->grinder != NULL,
      filter->wild ? " AND grinder GLOB :grinder" : " AND grinder = :grinder" },
    { filter->image != NULL, " AND image = :image" },
    { filter->settings != NULL, " AND settings = :settings" },
    { filter->from != NULL, " AND time >= :from" },
    { filter->to != NULL, " AND time <= :to || '~'" }, /* after everything that starts so */
    { filter->before > 0, " AND number < :before" },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (parts); i++)
    if (parts[i].used)
      g_string_append (sql, parts[i].condition);
}

static void
append_quantity_conditions (GString *sql, const WsArchiveFilter *filter)
{
  g_string_append (sql, " q.name = :quantity AND q.value IS NOT NULL");
  if (isfinite (filter->above))
    g_string_append (sql, " AND q.value > :above");
  if (isfinite (filter->below))
    g_string_append (sql, " AND q.value < :below");
}

static void
bind_named (sqlite3_stmt *stmt, const char *name, const char *text)
{
  const int at = sqlite3_bind_parameter_index (stmt, name);
  if (at > 0)
    wsi_bind_text (stmt, at, text);
}

/* SQLite's patterns have sets in brackets, too; a bracket in a name is none. */
static void
bind_name (sqlite3_stmt *stmt, const char *name, const char *text, gboolean wild)
{
  const int at = sqlite3_bind_parameter_index (stmt, name);
  if (at == 0 || text == NULL)
    return;
  GString *pattern = g_string_new (text);
  if (wild)
    g_string_replace (pattern, "[", "[[]", 0);
  sqlite3_bind_text (stmt, at, pattern->str, -1, SQLITE_TRANSIENT);
  g_string_free (pattern, TRUE);
}

static void
bind_filter (sqlite3_stmt *stmt, const WsArchiveFilter *filter)
{
  bind_name (stmt, ":tool", filter->tool, filter->wild);
  bind_named (stmt, ":kind", filter->kind);
  bind_named (stmt, ":view", filter->view);
  bind_named (stmt, ":verdict", filter->verdict);
  bind_name (stmt, ":station", filter->station, filter->wild);
  bind_name (stmt, ":grinder", filter->grinder, filter->wild);
  bind_named (stmt, ":image", filter->image);
  bind_named (stmt, ":settings", filter->settings);
  bind_named (stmt, ":from", filter->from);
  bind_named (stmt, ":to", filter->to);
  bind_named (stmt, ":quantity", filter->quantity);
  const int above = sqlite3_bind_parameter_index (stmt, ":above");
  const int below = sqlite3_bind_parameter_index (stmt, ":below");
  const int last = sqlite3_bind_parameter_index (stmt, ":last");
  const int before = sqlite3_bind_parameter_index (stmt, ":before");
  if (above > 0)
    sqlite3_bind_double (stmt, above, filter->above);
  if (below > 0)
    sqlite3_bind_double (stmt, below, filter->below);
  if (last > 0)
    wsi_bind_count (stmt, last, filter->last);
  if (before > 0)
    wsi_bind_count (stmt, before, filter->before);
}

static void
read_inspection (sqlite3_stmt *stmt, WsInspection *row)
{
  const char **const texts[] = { (const char **)&row->id,       (const char **)&row->time,
                                 (const char **)&row->tool,     (const char **)&row->kind,
                                 (const char **)&row->view,     (const char **)&row->verdict,
                                 (const char **)&row->reason,   (const char **)&row->image_name,
                                 (const char **)&row->image,    (const char **)&row->annotated,
                                 (const char **)&row->settings, (const char **)&row->station,
                                 (const char **)&row->grinder };
  row->number = (guint64)sqlite3_column_int64 (stmt, 0);
  for (int i = 0; i < (int)G_N_ELEMENTS (texts); i++)
    *texts[i] = wsi_column_text (stmt, 1 + i);
  row->reground = sqlite3_column_int (stmt, 14);
  row->has_pictures = sqlite3_column_int (stmt, 15);
  row->previous = (char *)wsi_column_text_or (stmt, 16, "");
  row->hash = (char *)wsi_column_text_or (stmt, 17, "");
  row->imported = (char *)wsi_column_text (stmt, N_COLUMNS);
  row->clock = (char *)wsi_column_text (stmt, N_COLUMNS + 1);
  row->about = (char *)wsi_column_text (stmt, N_COLUMNS + 2);
  row->record = (char *)wsi_column_text (stmt, N_COLUMNS + N_LATER);
}

typedef enum
{
  COLUMNS_ALONE,
  RECORDS_AS_THEY_ARE,
  RECORDS_CHECKED
} Reading;

/* A note has none itself. */
static gboolean
gather_notes (WsArchive *archive, WsInspection *row, GError **error)
{
  return row->about != NULL || row->id == NULL || archive->version < WS_VERSION_OF_NOTES ||
         wsi_notes_gather (archive, row, error);
}

/* A visit, and the record as it was parsed to be checked. */
typedef struct
{
  WsArchiveVisit visit;
  WsRecordVisit visit_record; /* in its place, or NULL */
  gpointer data;
} Visitor;

static gboolean
show (const Visitor *visitor, const WsInspection *row, json_t *record, GError **error)
{
  return visitor->visit_record != NULL ? visitor->visit_record (row, record, visitor->data, error)
                                       : visitor->visit (row, visitor->data, error);
}

static gboolean
visit_checked (WsArchive *archive, WsInspection *row, const Visitor *visitor, GError **error)
{
  json_t *record = row->record != NULL ? wsi_columns_parse (row->record, NULL) : NULL;
  const gboolean done = wsi_row_check (archive, row, record, &row->wrong, error) &&
                        gather_notes (archive, row, error) && show (visitor, row, record, error);
  json_decref (record);
  g_free (row->wrong);
  if (row->notes != NULL)
    g_ptr_array_unref (row->notes);
  return done;
}

static gboolean
visit_row (WsArchive *archive, sqlite3_stmt *stmt, Reading reading, const Visitor *visitor,
           GError **error)
{
  WsInspection row = { 0 };
  read_inspection (stmt, &row);
  return reading == RECORDS_CHECKED ? visit_checked (archive, &row, visitor, error)
                                    : show (visitor, &row, NULL, error);
}

static char *
selection (const WsArchive *archive, const WsArchiveFilter *filter, Reading reading)
{
  GString *sql = g_string_new ("SELECT " WS_ROW_COLUMNS ", ");
  g_string_append (sql, later_columns (archive));
  g_string_append (sql, reading != COLUMNS_ALONE
                          ? "(SELECT record FROM record WHERE record.number = inspection.number)"
                          : "NULL");
  g_string_append (sql, " AS record FROM inspection WHERE 1");
  append_conditions (sql, filter);
  /* The plus keeps SQLite from going by the index of `about`, which leads to nearly every row, one
   * at a time, where a filter finds none. */
  if (reading != RECORDS_AS_THEY_ARE && archive->version >= WS_VERSION_OF_NOTES)
    g_string_append (sql, " AND +about IS NULL");
  if (filter->quantity != NULL)
  {
    g_string_append (sql, " AND EXISTS (SELECT 1 FROM quantity q WHERE"
                          " q.number = inspection.number AND");
    append_quantity_conditions (sql, filter);
    g_string_append (sql, ")");
  }
  g_string_append (sql, " ORDER BY number");
  if (filter->last > 0)
  {
    g_string_append (sql, " DESC LIMIT :last) ORDER BY number");
    g_string_prepend (sql, "SELECT * FROM (");
  }
  return g_string_free (sql, FALSE);
}

static gboolean
each (WsArchive *archive, const WsArchiveFilter *filter, Reading reading, const Visitor *visitor,
      GError **error)
{
  sqlite3_stmt *stmt = NULL;
  int code = SQLITE_OK;
  gboolean done = TRUE;
  g_autofree char *sql = selection (archive, filter, reading);
  if (sqlite3_prepare_v2 (archive->db, sql, -1, &stmt, NULL) != SQLITE_OK)
    return wsi_statement_refuse (archive, error);
  bind_filter (stmt, filter);
  while (done && (code = sqlite3_step (stmt)) == SQLITE_ROW)
    done = visit_row (archive, stmt, reading, visitor, error);
  if (done && code != SQLITE_DONE)
    done = wsi_statement_refuse (archive, error);
  sqlite3_finalize (stmt);
  return done && wsi_archive_expect_still (archive, error);
}

gboolean
ws_archive_each (WsArchive *archive, const WsArchiveFilter *filter, gboolean with_records,
                 WsArchiveVisit visit, gpointer data, GError **error)
{
  const Visitor visitor = { visit, NULL, data };
  return each (archive, filter, with_records ? RECORDS_CHECKED : COLUMNS_ALONE, &visitor, error);
}

gboolean
wsi_store_each_record (WsArchive *archive, const WsArchiveFilter *filter, WsRecordVisit visit,
                       gpointer data, GError **error)
{
  const Visitor visitor = { NULL, visit, data };
  return each (archive, filter, RECORDS_CHECKED, &visitor, error);
}

gboolean
wsi_store_each_row (WsArchive *archive, WsArchiveVisit visit, gpointer data, GError **error)
{
  const WsArchiveFilter all = WS_ARCHIVE_ALL;
  const Visitor visitor = { visit, NULL, data };
  return each (archive, &all, RECORDS_AS_THEY_ARE, &visitor, error);
}

static WsInspection *
copy_inspection (const WsInspection *row)
{
  WsInspection *copy = g_new (WsInspection, 1);
  *copy = *row;
  char **const texts[] = { &copy->record, &copy->settings,  &copy->station,    &copy->grinder,
                           &copy->id,     &copy->annotated, &copy->time,       &copy->tool,
                           &copy->kind,   &copy->view,      &copy->verdict,    &copy->reason,
                           &copy->image,  &copy->previous,  &copy->image_name, &copy->hash,
                           &copy->wrong,  &copy->imported,  &copy->clock,      &copy->about };
  for (gsize i = 0; i < G_N_ELEMENTS (texts); i++)
    *texts[i] = g_strdup (*texts[i]);
  if (row->notes != NULL)
    copy->notes = wsi_notes_copy (row->notes);
  return copy;
}

static gboolean
keep (const WsInspection *row, gpointer data, GError **error)
{
  (void)error;
  *(WsInspection **)data = copy_inspection (row);
  return TRUE;
}

static gboolean
keep_all (const WsInspection *row, gpointer data, GError **error)
{
  (void)error;
  g_ptr_array_add (data, copy_inspection (row));
  return TRUE;
}

GPtrArray *
wsi_store_find_all (WsArchive *archive, const WsArchiveFilter *filter, GError **error)
{
  g_autoptr (GPtrArray) found = g_ptr_array_new_with_free_func ((GDestroyNotify)ws_inspection_free);
  const Visitor visitor = { keep_all, NULL, found };
  return each (archive, filter, RECORDS_CHECKED, &visitor, error) ? g_steal_pointer (&found) : NULL;
}

gboolean
wsi_store_each_note (WsArchive *archive, const char *about, WsArchiveVisit visit, gpointer data,
                     GError **error)
{
  const Visitor visitor = { visit, NULL, data };
  sqlite3_stmt *stmt = NULL;
  int code = SQLITE_OK;
  gboolean done = TRUE;
  g_autofree char *sql =
    g_strconcat ("SELECT " WS_ROW_COLUMNS ", ", later_columns (archive),
                 "(SELECT record FROM record WHERE record.number = inspection.number)"
                 " FROM inspection WHERE about = ?1 ORDER BY number",
                 NULL);
  if (sqlite3_prepare_v2 (archive->db, sql, -1, &stmt, NULL) != SQLITE_OK)
    return wsi_statement_refuse (archive, error);
  wsi_bind_text (stmt, 1, about);
  while (done && (code = sqlite3_step (stmt)) == SQLITE_ROW)
    done = visit_row (archive, stmt, RECORDS_CHECKED, &visitor, error);
  if (done && code != SQLITE_DONE)
    done = wsi_statement_refuse (archive, error);
  sqlite3_finalize (stmt);
  return done;
}

WsInspection *
ws_archive_find (WsArchive *archive, const char *id, GError **error)
{
  g_autoptr (WsInspection) found = wsi_store_find (archive, id, error);
  if (found == NULL || found->about == NULL)
    return g_steal_pointer (&found);
  g_set_error (error, WS_ERROR, WS_ERROR_NO_INPUT,
               "archive %s: %s is a note on inspection \"%s\"; give that", archive->folder, id,
               found->about);
  return NULL;
}

WsInspection *
wsi_store_find (WsArchive *archive, const char *id, GError **error)
{
  sqlite3_stmt *stmt = NULL;
  WsInspection *found = NULL;
  g_autofree char *sql =
    g_strconcat ("SELECT " WS_ROW_COLUMNS ", ", later_columns (archive),
                 "(SELECT record FROM record WHERE record.number = inspection.number)"
                 " FROM inspection WHERE id = ?1",
                 NULL);
  if (sqlite3_prepare_v2 (archive->db, sql, -1, &stmt, NULL) != SQLITE_OK)
  {
    wsi_statement_refuse (archive, error);
    return NULL;
  }
  wsi_bind_text (stmt, 1, id);
  const int code = sqlite3_step (stmt);
  const Visitor visitor = { keep, NULL, &found };
  if (code == SQLITE_ROW)
    visit_row (archive, stmt, RECORDS_CHECKED, &visitor, error);
  else if (code == SQLITE_DONE)
    g_set_error (error, WS_ERROR, WS_ERROR_NO_INPUT,
                 "archive %s: no inspection \"%s\"; whetsight archive list shows them",
                 archive->folder, id);
  else
    wsi_statement_refuse (archive, error);
  sqlite3_finalize (stmt);
  if (found != NULL && !wsi_archive_expect_still (archive, error))
    g_clear_pointer (&found, ws_inspection_free);
  return found;
}

gboolean
wsi_store_expect (WsArchive *archive, const WsInspection *written, json_t *record, char **what,
                  GError **error)
{
  WsInspection row = { 0 };
  sqlite3_stmt *stmt = wsi_statement (archive, WS_SQL_ROW_OF_ID);
  wsi_bind_text (stmt, 1, written->id);
  const int code = stmt != NULL ? sqlite3_step (stmt) : SQLITE_ERROR;
  gboolean done =
    code == SQLITE_ROW || code == SQLITE_DONE || wsi_statement_refuse (archive, error);
  if (code == SQLITE_DONE)
    *what = g_strdup ("it isn't there");
  else if (done)
  {
    read_inspection (stmt, &row);
    if (g_strcmp0 (row.record, written->record) != 0 || !g_str_equal (row.hash, written->hash))
      *what = g_strdup ("another row");
    else
      done = wsi_row_check (archive, &row, record, what, error);
  }
  sqlite3_reset (stmt);
  return done;
}

/* ---- Values ------------------------------------------------------------------------- */

typedef struct
{
  const char *quantity;
  GPtrArray *values;
} Gathering;

static void
value_free (gpointer data)
{
  WsArchiveValue *value = data;
  g_free (value->id);
  g_free (value->time);
  g_free (value->tool);
  g_free (value->grinder);
  g_free (value->wrong);
  g_free (value);
}

static void
take_numbers (WsArchiveValue *value, const WsRow *row)
{
  value->value = row->value;
  value->U = row->U;
  value->lower = isnan (row->lower) ? -INFINITY : row->lower;
  value->upper = isnan (row->upper) ? INFINITY : row->upper;
}

static gboolean
gather (const WsInspection *row, json_t *record, gpointer data, GError **error)
{
  const Gathering *gathering = data;
  WsArchiveValue *value = g_new0 (WsArchiveValue, 1);
  WsRow numbers = { .value = NAN, .U = NAN, .lower = NAN, .upper = NAN };
  (void)error;
  if (row->wrong == NULL)
    wsi_columns_quantity (record, gathering->quantity, &numbers);
  value->id = g_strdup (row->id);
  value->time = g_strdup (row->time);
  value->tool = g_strdup (row->tool);
  value->grinder = g_strdup (row->grinder);
  value->wrong = g_strdup (row->wrong);
  value->reground = row->reground;
  take_numbers (value, &numbers);
  g_ptr_array_add (gathering->values, value);
  return TRUE;
}

static gint
by_time (gconstpointer a, gconstpointer b)
{
  const WsArchiveValue *const *first = a, *const *second = b;
  return g_strcmp0 ((*first)->time, (*second)->time);
}

GPtrArray *
ws_archive_values (WsArchive *archive, const WsArchiveFilter *filter, GError **error)
{
  g_autoptr (GPtrArray) values = g_ptr_array_new_with_free_func (value_free);
  Gathering gathering = { filter->quantity, values };
  WsArchiveFilter any_number = *filter;
  any_number.last = 0;
  if (!wsi_store_each_record (archive, &any_number, gather, &gathering, error))
    return NULL;
  g_ptr_array_sort (values, by_time);
  return g_steal_pointer (&values);
}
