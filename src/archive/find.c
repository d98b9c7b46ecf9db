/*
 * Rows by what is looked for.
 */
#include <math.h>

#include <whetsight/error.h>

#include "archive/note.h"
#include "archive/notes.h"
#include "archive/row_check.h"
#include "archive/schema.h"
#include "archive/statements.h"
#include "archive/store.h"

#define N_COLUMNS 18
#define MOST_AT_ONCE 500 /* rows that a query may bring at once */
#define N_LATER 5        /* `imported` and what else the first versions knew nothing of */

static const char *
later_columns (const WsEngine *engine)
{
  static const char *const by_version[] = { "NULL, NULL, NULL, NULL, number, ",
                                            "imported, NULL, NULL, NULL, number, ",
                                            "imported, clock, NULL, NULL, number, ",
                                            "imported, clock, about, NULL, number, " };
  if (engine->bench != NULL)
    return "imported, clock, about, bench, place, ";
  return by_version[CLAMP (engine->version, 1, (int)G_N_ELEMENTS (by_version)) - 1];
}

/* SQL that is put together, and what is bound to it. */
typedef struct
{
  const WsEngine *engine;
  GString *sql;
  GArray *values; /* of Value */
} Search;

typedef struct
{
  enum
  {
    TEXT,
    COUNT,
    NUMBER
  } kind;
  char *text;
  guint64 count;
  double number;
} Value;

static void
value_clear (gpointer data)
{
  g_free (((Value *)data)->text);
}

static Search
search_new (const WsEngine *engine)
{
  const Search search = { engine, g_string_new (NULL), g_array_new (FALSE, TRUE, sizeof (Value)) };
  g_array_set_clear_func (search.values, value_clear);
  return search;
}

static void
search_clear (Search *search)
{
  g_string_free (search->sql, TRUE);
  g_array_unref (search->values);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Search, search_clear)

/* " AND tool = ?3", and its value. */
static void
append_value (Search *search, const char *condition, Value value)
{
  g_array_append_val (search->values, value);
  g_string_append_printf (search->sql, "%s?%u", condition, search->values->len);
}

static void
append_text (Search *search, const char *condition, const char *text)
{
  if (text != NULL)
    append_value (search, condition, (Value){ .kind = TEXT, .text = g_strdup (text) });
}

static void
append_count (Search *search, const char *condition, guint64 count)
{
  if (count > 0)
    append_value (search, condition, (Value){ .kind = COUNT, .count = count });
}

static void
append_number (Search *search, const char *condition, double number)
{
  if (isfinite (number))
    append_value (search, condition, (Value){ .kind = NUMBER, .number = number });
}

static void
append_name (Search *search, const char *column, const char *text, gboolean wild)
{
  g_autofree char *pattern =
    wild && text != NULL ? wsi_engine_pattern (search->engine, text) : NULL;
  g_autofree char *condition =
    g_strdup_printf (" AND %s %s ", column, wild ? search->engine->like : "=");
  append_text (search, condition, wild ? pattern : text);
}

/* From fixed parts alone; what the user wrote is bound. */
static void
append_conditions (Search *search, const WsArchiveFilter *filter)
{
  append_name (search, "tool", filter->tool, filter->wild);
  append_text (search, " AND kind = ", filter->kind);
  append_text (search, " AND view = ", filter->view);
  append_text (search, " AND inspection.verdict = ", filter->verdict);
  append_name (search, "station", filter->station, filter->wild);
  append_name (search, "grinder", filter->grinder, filter->wild);
  append_text (search, " AND image = ", filter->image);
  append_text (search, " AND settings = ", filter->settings);
  append_text (search, " AND time >= ", filter->from);
  /* After everything that starts so. */
  g_autofree char *to = filter->to != NULL ? g_strconcat (filter->to, "~", NULL) : NULL;
  append_text (search, " AND time <= ", to);
  append_count (search, " AND number < ", filter->before);
}

static void
append_bounds (Search *search, const WsArchiveFilter *filter)
{
  append_text (search, " AND q.name = ", filter->quantity);
  g_string_append (search->sql, " AND q.value IS NOT NULL");
  append_number (search, " AND q.value > ", filter->above);
  append_number (search, " AND q.value < ", filter->below);
}

static void
append_quantity (Search *search, const WsArchiveFilter *filter)
{
  if (filter->quantity == NULL || search->engine->bench != NULL)
    return;
  g_string_append (search->sql, " AND EXISTS (SELECT 1 FROM quantity q WHERE"
                                " q.number = inspection.number");
  append_bounds (search, filter);
  g_string_append (search->sql, ")");
}

/* The same, as PostgreSQL's planner knows how to begin with the rarer of both.  A number is one
 * inspection's; joined by its month as well, it would expect to find next to none. */
static void
join_quantity (Search *search, const WsArchiveFilter *filter)
{
  if (filter->quantity == NULL || search->engine->bench == NULL)
    return;
  g_string_append (search->sql, " JOIN (SELECT q.number AS owner FROM quantity q WHERE 1 = 1");
  append_bounds (search, filter);
  g_string_append (search->sql, ") AS q ON q.owner = inspection.number");
}

static WsQuery *
search_start (WsArchive *archive, const Search *search, WsQueryKind kind)
{
  WsQuery *query = wsi_query_new (archive->engine, search->sql->str, kind);
  for (guint i = 0; i < search->values->len; i++)
  {
    const Value *value = &g_array_index (search->values, Value, i);
    const int at = (int)i + 1;
    if (value->kind == TEXT)
      wsi_bind_text (query, at, value->text);
    else if (value->kind == COUNT)
      wsi_bind_count (query, at, value->count);
    else
      wsi_bind_number (query, at, value->number);
  }
  return query;
}

static void
read_inspection (WsQuery *stmt, WsInspection *row)
{
  const char **const texts[] = { (const char **)&row->id,       (const char **)&row->time,
                                 (const char **)&row->tool,     (const char **)&row->kind,
                                 (const char **)&row->view,     (const char **)&row->verdict,
                                 (const char **)&row->reason,   (const char **)&row->image_name,
                                 (const char **)&row->image,    (const char **)&row->annotated,
                                 (const char **)&row->settings, (const char **)&row->station,
                                 (const char **)&row->grinder };
  row->number = wsi_column_count (stmt, 0);
  for (int i = 0; i < (int)G_N_ELEMENTS (texts); i++)
    *texts[i] = wsi_column_text (stmt, 1 + i);
  row->reground = (gboolean)wsi_column_integer (stmt, 14);
  row->has_pictures = (gboolean)wsi_column_integer (stmt, 15);
  row->previous = (char *)wsi_column_text_or (stmt, 16, "");
  row->hash = (char *)wsi_column_text_or (stmt, 17, "");
  row->imported = (char *)wsi_column_text (stmt, N_COLUMNS);
  row->clock = (char *)wsi_column_text (stmt, N_COLUMNS + 1);
  row->about = (char *)wsi_column_text (stmt, N_COLUMNS + 2);
  row->bench = (char *)wsi_column_text (stmt, N_COLUMNS + 3);
  row->place = wsi_column_count (stmt, N_COLUMNS + 4);
  row->record = (char *)wsi_column_text (stmt, N_COLUMNS + N_LATER);
}

typedef enum
{
  COLUMNS_ALONE,
  RECORDS_AS_THEY_ARE,
  RECORDS_CHECKED
} Reading;

/* ---- What a row is checked against ---------------------------------------------------------- */

/* In the order of these. */
#define BESIDE                                                                                     \
  "(SELECT b.hash FROM inspection b WHERE b.bench = inspection.bench AND"                          \
  " b.place = inspection.place - 1),"                                                              \
  " (SELECT a.previous FROM inspection a WHERE a.bench = inspection.bench AND"                     \
  " a.place = inspection.place + 1),"                                                              \
  " head.rows, head.last,"                                                                         \
  " (SELECT json_agg (json_build_array (q.name, q.value, q.u, q.lower, q.upper, q.verdict)"        \
  " ORDER BY q.name) FROM quantity q WHERE q.number = inspection.number AND"                       \
  " q.month = inspection.month),"                                                                  \
  " (SELECT 1 FROM inspection n WHERE n.about = inspection.id LIMIT 1)"

enum
{
  BESIDE_BEFORE,
  BESIDE_AFTER,
  BESIDE_COUNT,
  BESIDE_HASH,
  BESIDE_QUANTITIES,
  BESIDE_NOTES
};

static void
read_beside (WsQuery *stmt, const WsInspection *row, WsBeside *beside)
{
  const int first = N_COLUMNS + N_LATER + 1;
  const char *quantities = wsi_column_text (stmt, first + BESIDE_QUANTITIES);
  *beside = (WsBeside){
    .number = row->number,
    .before = wsi_column_text (stmt, first + BESIDE_BEFORE),
    .after = wsi_column_text (stmt, first + BESIDE_AFTER),
    .head_count = wsi_column_count (stmt, first + BESIDE_COUNT),
    .head_hash = wsi_column_text_or (stmt, first + BESIDE_HASH, ""),
    .quantities = quantities != NULL ? json_loads (quantities, 0, NULL) : NULL,
    .has_notes = wsi_column_text (stmt, first + BESIDE_NOTES) != NULL,
  };
}

/* ---- Visiting ------------------------------------------------------------------------------- */

/* A note has none itself. */
static gboolean
gather_notes (WsArchive *archive, WsInspection *row, GError **error)
{
  return row->about != NULL || row->id == NULL || archive->engine->version < WS_VERSION_OF_NOTES ||
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
visit_row (WsArchive *archive, WsQuery *stmt, Reading reading, const Visitor *visitor,
           GError **error)
{
  WsInspection row = { 0 };
  WsBeside beside;
  const WsBeside *outer = archive->beside;
  read_inspection (stmt, &row);
  if (reading != RECORDS_CHECKED)
    return show (visitor, &row, NULL, error);
  if (archive->engine->bench == NULL)
    return visit_checked (archive, &row, visitor, error);
  read_beside (stmt, &row, &beside);
  archive->beside = &beside;
  const gboolean done = visit_checked (archive, &row, visitor, error);
  archive->beside = outer;
  json_decref (beside.quantities);
  return done;
}

/* What is selected of a row. */
static void
select_columns (Search *search, Reading reading)
{
  g_string_append (search->sql, "SELECT " WS_ROW_COLUMNS ", ");
  g_string_append (search->sql, later_columns (search->engine));
  const gboolean is_folder = search->engine->is_folder;
  g_string_append (search->sql, reading == COLUMNS_ALONE ? "NULL"
                                : is_folder              ? "kept.record"
                                                         : WS_ROW_RECORD);
  g_string_append (search->sql, " AS record");
  if (reading == RECORDS_CHECKED)
    g_string_append (search->sql, "{, " BESIDE "}");
  g_string_append (search->sql, " FROM inspection");
  if (reading != COLUMNS_ALONE && is_folder)
    g_string_append (search->sql, WS_KEPT_RECORD);
  if (reading == RECORDS_CHECKED)
    g_string_append (search->sql,
                     "{ JOIN (SELECT bench AS of, count AS rows, hash AS last FROM head)"
                     " AS head ON head.of = inspection.bench}");
}

static void
select_rows (Search *search, const WsArchiveFilter *filter, Reading reading)
{
  GString *sql = search->sql;
  select_columns (search, reading);
  join_quantity (search, filter);
  g_string_append (sql, " WHERE 1 = 1");
  append_conditions (search, filter);
  /* The plus keeps SQLite from going by the index of `about`, which leads to nearly every row, one
   * at a time, where a filter finds none. */
  if (reading != RECORDS_AS_THEY_ARE && search->engine->version >= WS_VERSION_OF_NOTES)
    g_string_append (sql, search->engine->is_folder ? " AND +about IS NULL" : " AND about IS NULL");
  append_quantity (search, filter);
  g_string_append (sql, " ORDER BY number");
  if (filter->last == 0)
    return;
  append_count (search, " DESC LIMIT ", filter->last);
  g_string_prepend (sql, "SELECT * FROM (");
  g_string_append (sql, ") AS found ORDER BY number");
}

/* Frees `query`. */
static gboolean
visit_rows (WsArchive *archive, WsQuery *query, Reading reading, const Visitor *visitor,
            GError **error)
{
  WsQueryStep step = WS_QUERY_FAILED;
  gboolean done = TRUE;
  while (done && (step = wsi_step (query)) == WS_QUERY_ROW)
    done = visit_row (archive, query, reading, visitor, error);
  if (done && step != WS_QUERY_DONE)
    done = wsi_statement_refuse (archive, error);
  wsi_query_free (query);
  return done;
}

static gboolean
each (WsArchive *archive, const WsArchiveFilter *filter, Reading reading, const Visitor *visitor,
      GError **error)
{
  g_auto (Search) search = search_new (archive->engine);
  select_rows (&search, filter, reading);
  /* A plan that is kept doesn't know how rare a value is. */
  const gboolean few = filter->last > 0 && filter->last <= MOST_AT_ONCE && filter->quantity == NULL;
  return visit_rows (archive, search_start (archive, &search, few ? WS_QUERY_ONCE : WS_QUERY_LONG),
                     reading, visitor, error) &&
         wsi_archive_expect_still (archive, error);
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
                           &copy->wrong,  &copy->imported,  &copy->clock,      &copy->about,
                           &copy->bench };
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

/* Rows by `text`, ?1 of the condition.  NULL when it can't be prepared. */
static WsQuery *
start_by (WsArchive *archive, const char *condition, const char *text)
{
  g_auto (Search) search = search_new (archive->engine);
  select_columns (&search, RECORDS_CHECKED);
  g_string_append_printf (search.sql, " WHERE %s", condition);
  WsQuery *query = wsi_query_new (archive->engine, search.sql->str, WS_QUERY_ONCE);
  wsi_bind_text (query, 1, text);
  return query;
}

gboolean
wsi_store_each_row_after (WsArchive *archive, guint64 place, guint64 most, WsArchiveVisit visit,
                          gpointer data, GError **error)
{
  const Visitor visitor = { visit, NULL, data };
  g_auto (Search) search = search_new (archive->engine);
  select_columns (&search, RECORDS_AS_THEY_ARE);
  g_string_append (search.sql, archive->engine->bench != NULL
                                 ? " WHERE place > ?1 AND bench = ?3 ORDER BY place LIMIT ?2"
                                 : " WHERE number > ?1 ORDER BY number LIMIT ?2");
  WsQuery *query = wsi_query_new (archive->engine, search.sql->str, WS_QUERY_LONG);
  wsi_bind_count (query, 1, place);
  wsi_bind_count (query, 2, most);
  wsi_bind_bench (query, 3, NULL);
  return visit_rows (archive, query, RECORDS_AS_THEY_ARE, &visitor, error);
}

gboolean
wsi_store_each_row_behind (WsArchive *archive, guint64 number, WsArchiveVisit visit, gpointer data,
                           GError **error)
{
  const Visitor visitor = { visit, NULL, data };
  g_auto (Search) search = search_new (archive->engine);
  select_columns (&search, COLUMNS_ALONE);
  g_string_append (search.sql, " WHERE number > ?1 ORDER BY number");
  WsQuery *query = wsi_query_new (archive->engine, search.sql->str, WS_QUERY_LONG);
  wsi_bind_count (query, 1, number);
  return visit_rows (archive, query, COLUMNS_ALONE, &visitor, error);
}

gboolean
wsi_store_each_note (WsArchive *archive, const char *about, WsArchiveVisit visit, gpointer data,
                     GError **error)
{
  const Visitor visitor = { visit, NULL, data };
  return visit_rows (archive, start_by (archive, "about = ?1 ORDER BY number", about),
                     RECORDS_CHECKED, &visitor, error);
}

WsInspection *
ws_archive_find (WsArchive *archive, const char *id, GError **error)
{
  g_autoptr (WsInspection) found = wsi_store_find (archive, id, error);
  if (found == NULL || found->about == NULL)
    return g_steal_pointer (&found);
  g_set_error (error, WS_ERROR, WS_ERROR_NO_INPUT,
               "archive %s: %s is a note on inspection \"%s\"; give that", archive->engine->name,
               id, found->about);
  return NULL;
}

WsInspection *
wsi_store_find (WsArchive *archive, const char *id, GError **error)
{
  WsInspection *found = NULL;
  const Visitor visitor = { keep, NULL, &found };
  /* Of one that was taken to another bench as well, the first is the one that was measured. */
  WsQuery *query = start_by (archive, "id = ?1 ORDER BY {imported IS NOT NULL, }number", id);
  const WsQueryStep step = wsi_step (query);
  if (step == WS_QUERY_ROW)
    visit_row (archive, query, RECORDS_CHECKED, &visitor, error);
  else if (step == WS_QUERY_DONE)
    g_set_error (error, WS_ERROR, WS_ERROR_NO_INPUT,
                 "archive %s: no inspection \"%s\"; whetsight archive list shows them",
                 archive->engine->name, id);
  else
    wsi_statement_refuse (archive, error);
  wsi_query_free (query);
  if (found != NULL && !wsi_archive_expect_still (archive, error))
    g_clear_pointer (&found, ws_inspection_free);
  return found;
}

gboolean
wsi_store_expect (WsArchive *archive, const WsInspection *written, GArray *quantities, char **what,
                  GError **error)
{
  WsInspection row = { 0 };
  WsQuery *stmt = wsi_statement (archive, WS_SQL_ROW_OF_ID);
  wsi_bind_text (stmt, 1, written->id);
  wsi_bind_bench (stmt, 2, NULL);
  const WsQueryStep step = wsi_step (stmt);
  gboolean done = step != WS_QUERY_FAILED || wsi_statement_refuse (archive, error);
  if (step == WS_QUERY_DONE)
    *what = g_strdup ("it isn't there");
  else if (done)
  {
    read_inspection (stmt, &row);
    done = wsi_row_check_written (archive, &row, written, quantities, what, error);
  }
  wsi_reset (stmt);
  return done;
}
