/*
 * Rows by what is looked for.
 */
#include <math.h>

#include <whetsight/error.h>

#include "archive/statements.h"

#define COLUMNS                                                                                    \
  "number, id, time, tool, kind, view, verdict, reason, image_name, image, annotated, settings, "  \
  "station, grinder, reground, pictures, previous, hash"
#define N_COLUMNS 18

/* From fixed parts alone; what the user wrote is bound. */
static void
append_conditions (GString *sql, const WsArchiveFilter *filter)
{
  const struct
  {
    gboolean used;
    const char *condition;
  } parts[] = {
    { filter->tool != NULL, " AND tool = :tool" },
    { filter->kind != NULL, " AND kind = :kind" },
    { filter->view != NULL, " AND view = :view" },
    { filter->verdict != NULL, " AND inspection.verdict = :verdict" },
    { filter->station != NULL, " AND station = :station" },
    { filter->grinder != NULL, " AND grinder = :grinder" },
    { filter->image != NULL, " AND image = :image" },
    { filter->settings != NULL, " AND settings = :settings" },
    { filter->from != NULL, " AND time >= :from" },
    { filter->to != NULL, " AND time <= :to || '~'" }, /* after everything that starts so */
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

static void
bind_filter (sqlite3_stmt *stmt, const WsArchiveFilter *filter)
{
  bind_named (stmt, ":tool", filter->tool);
  bind_named (stmt, ":kind", filter->kind);
  bind_named (stmt, ":view", filter->view);
  bind_named (stmt, ":verdict", filter->verdict);
  bind_named (stmt, ":station", filter->station);
  bind_named (stmt, ":grinder", filter->grinder);
  bind_named (stmt, ":image", filter->image);
  bind_named (stmt, ":settings", filter->settings);
  bind_named (stmt, ":from", filter->from);
  bind_named (stmt, ":to", filter->to);
  bind_named (stmt, ":quantity", filter->quantity);
  const int above = sqlite3_bind_parameter_index (stmt, ":above");
  const int below = sqlite3_bind_parameter_index (stmt, ":below");
  const int last = sqlite3_bind_parameter_index (stmt, ":last");
  if (above > 0)
    sqlite3_bind_double (stmt, above, filter->above);
  if (below > 0)
    sqlite3_bind_double (stmt, below, filter->below);
  if (last > 0)
    wsi_bind_count (stmt, last, filter->last);
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
  row->reground = sqlite3_column_int (stmt, 14) != 0;
  row->has_pictures = sqlite3_column_int (stmt, 15) != 0;
  row->previous = (char *)wsi_column_text_or (stmt, 16, "");
  row->hash = (char *)wsi_column_text_or (stmt, 17, "");
  row->record = (char *)wsi_column_text (stmt, N_COLUMNS);
}

static gboolean
visit_rows (WsArchive *archive, sqlite3_stmt *stmt, WsArchiveVisit visit, gpointer data,
            GError **error)
{
  int code;
  while ((code = sqlite3_step (stmt)) == SQLITE_ROW)
  {
    WsInspection row = { 0 };
    read_inspection (stmt, &row);
    if (!visit (&row, data, error))
      return FALSE;
  }
  return code == SQLITE_DONE || wsi_statement_refuse (archive, error);
}

static char *
selection (const WsArchiveFilter *filter, gboolean with_records)
{
  GString *sql = g_string_new ("SELECT " COLUMNS ", ");
  g_string_append (sql, with_records
                          ? "(SELECT record FROM record WHERE record.number = inspection.number)"
                          : "NULL");
  g_string_append (sql, " AS record FROM inspection WHERE 1");
  append_conditions (sql, filter);
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

gboolean
ws_archive_each (WsArchive *archive, const WsArchiveFilter *filter, gboolean with_records,
                 WsArchiveVisit visit, gpointer data, GError **error)
{
  sqlite3_stmt *stmt = NULL;
  g_autofree char *sql = selection (filter, with_records);
  if (sqlite3_prepare_v2 (archive->db, sql, -1, &stmt, NULL) != SQLITE_OK)
    return wsi_statement_refuse (archive, error);
  bind_filter (stmt, filter);
  const gboolean done = visit_rows (archive, stmt, visit, data, error);
  sqlite3_finalize (stmt);
  return done;
}

static WsInspection *
copy_inspection (const WsInspection *row)
{
  WsInspection *copy = g_new (WsInspection, 1);
  *copy = *row;
  char **const texts[] = { &copy->record, &copy->settings,  &copy->station,    &copy->grinder,
                           &copy->id,     &copy->annotated, &copy->time,       &copy->tool,
                           &copy->kind,   &copy->view,      &copy->verdict,    &copy->reason,
                           &copy->image,  &copy->previous,  &copy->image_name, &copy->hash };
  for (gsize i = 0; i < G_N_ELEMENTS (texts); i++)
    *texts[i] = g_strdup (*texts[i]);
  return copy;
}

WsInspection *
ws_archive_find (WsArchive *archive, const char *id, GError **error)
{
  sqlite3_stmt *stmt = NULL;
  WsInspection *found = NULL;
  static const char sql[] = "SELECT " COLUMNS ", (SELECT record FROM record WHERE record.number ="
                            " inspection.number) FROM inspection WHERE id = ?1";
  if (sqlite3_prepare_v2 (archive->db, sql, -1, &stmt, NULL) != SQLITE_OK)
  {
    wsi_statement_refuse (archive, error);
    return NULL;
  }
  wsi_bind_text (stmt, 1, id);
  const int code = sqlite3_step (stmt);
  if (code == SQLITE_ROW)
  {
    WsInspection row = { 0 };
    read_inspection (stmt, &row);
    found = copy_inspection (&row);
  }
  else if (code == SQLITE_DONE)
    g_set_error (error, WS_ERROR, WS_ERROR_NO_INPUT,
                 "archive %s: no inspection \"%s\"; whetsight archive list shows them",
                 archive->folder, id);
  else
    wsi_statement_refuse (archive, error);
  sqlite3_finalize (stmt);
  return found;
}

static void
value_free (gpointer data)
{
  WsArchiveValue *value = data;
  g_free (value->id);
  g_free (value->time);
  g_free (value->tool);
  g_free (value->grinder);
  g_free (value);
}

static WsArchiveValue *
read_value (sqlite3_stmt *stmt)
{
  WsArchiveValue *value = g_new0 (WsArchiveValue, 1);
  value->id = g_strdup (wsi_column_text (stmt, 0));
  value->time = g_strdup (wsi_column_text (stmt, 1));
  value->tool = g_strdup (wsi_column_text (stmt, 2));
  value->grinder = g_strdup (wsi_column_text (stmt, 3));
  value->reground = sqlite3_column_int (stmt, 4) != 0;
  value->value = sqlite3_column_double (stmt, 5);
  value->U = wsi_column_number (stmt, 6);
  value->lower = isnan (wsi_column_number (stmt, 7)) ? -INFINITY : wsi_column_number (stmt, 7);
  value->upper = isnan (wsi_column_number (stmt, 8)) ? INFINITY : wsi_column_number (stmt, 8);
  return value;
}

GPtrArray *
ws_archive_values (WsArchive *archive, const WsArchiveFilter *filter, GError **error)
{
  sqlite3_stmt *stmt = NULL;
  int code;
  g_autoptr (GPtrArray) values = g_ptr_array_new_with_free_func (value_free);
  GString *sql = g_string_new ("SELECT id, time, tool, grinder, reground, q.value, q.U, q.lower,"
                               " q.upper FROM inspection JOIN quantity q USING (number) WHERE");
  append_quantity_conditions (sql, filter);
  append_conditions (sql, filter);
  g_string_append (sql, " ORDER BY time, number");
  g_autofree char *text = g_string_free (sql, FALSE);
  if (sqlite3_prepare_v2 (archive->db, text, -1, &stmt, NULL) != SQLITE_OK)
  {
    wsi_statement_refuse (archive, error);
    return NULL;
  }
  bind_filter (stmt, filter);
  while ((code = sqlite3_step (stmt)) == SQLITE_ROW)
    g_ptr_array_add (values, read_value (stmt));
  if (code != SQLITE_DONE)
    wsi_statement_refuse (archive, error);
  sqlite3_finalize (stmt);
  return code == SQLITE_DONE ? g_steal_pointer (&values) : NULL;
}
