#include "archive/store.h"

#include <math.h>
#include <string.h>

#include <whetsight/error.h>

#include "archive/database.h"
#include "archive/files.h"

#define APPLICATION_ID 0x57734172 /* "WsAr" */
#define SCHEMA_VERSION 1
#define SEAL "whetsight-seal/1"

/* From version i to i + 1. */
static const char *const migrations[SCHEMA_VERSION] = {
  ("CREATE TABLE inspection ("
   "  number INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, time TEXT NOT NULL, tool TEXT,"
   "  kind TEXT NOT NULL, view TEXT NOT NULL, verdict TEXT, reason TEXT, image_name TEXT,"
   "  image TEXT, annotated TEXT, settings TEXT, station TEXT, grinder TEXT,"
   "  reground INTEGER NOT NULL, pictures INTEGER NOT NULL, previous TEXT NOT NULL,"
   "  hash TEXT NOT NULL) STRICT;"
   "CREATE INDEX inspection_tool ON inspection (tool);"
   "CREATE INDEX inspection_time ON inspection (time);"
   "CREATE INDEX inspection_image ON inspection (image);"
   "CREATE TABLE record (number INTEGER PRIMARY KEY REFERENCES inspection (number)"
   "  DEFERRABLE INITIALLY DEFERRED, record TEXT NOT NULL) STRICT;"
   "CREATE TABLE quantity (number INTEGER NOT NULL REFERENCES inspection (number)"
   "  DEFERRABLE INITIALLY DEFERRED, name TEXT NOT NULL, value REAL, U REAL, lower REAL,"
   "  upper REAL, verdict TEXT, PRIMARY KEY (number, name)) STRICT, WITHOUT ROWID;"
   "CREATE TABLE file (sha256 TEXT PRIMARY KEY, size INTEGER NOT NULL) STRICT, WITHOUT ROWID;"
   "CREATE TABLE pending (sha256 TEXT PRIMARY KEY) STRICT, WITHOUT ROWID;"
   "CREATE TABLE seal (number INTEGER PRIMARY KEY, time TEXT NOT NULL, count INTEGER NOT NULL,"
   "  hash TEXT NOT NULL) STRICT;"
   "CREATE TABLE head (one INTEGER PRIMARY KEY CHECK (one = 1), count INTEGER NOT NULL,"
   "  hash TEXT NOT NULL, seals INTEGER NOT NULL) STRICT;"
   "INSERT INTO head VALUES (1, 0, '', 0);"
   "PRAGMA application_id = 1467171186;" /* APPLICATION_ID */
   "PRAGMA user_version = 1;"),
};

typedef enum
{
  READ_HEAD,
  WRITE_HEAD,
  INSERT_INSPECTION,
  INSERT_RECORD,
  INSERT_QUANTITY,
  INSERT_FILE,
  ANNOUNCE,
  CONFIRM,
  HAS_FILE,
  EACH_FILE,
  EACH_PENDING,
  EACH_QUANTITY,
  INSERT_SEAL,
  EACH_SEAL,
  COUNT_STRAYS,
  CHECK_PAGES,
  COUNT_BYTES,
  ID_TAKEN,
  N_STATEMENTS
} Statement;

static const char *const statements[N_STATEMENTS] = {
  [READ_HEAD] = "SELECT count, hash, seals FROM head",
  [WRITE_HEAD] = "UPDATE head SET count = ?1, hash = ?2, seals = ?3",
  [INSERT_INSPECTION] = "INSERT INTO inspection VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10,"
                        " ?11, ?12, ?13, ?14, ?15, ?16, ?17, ?18)",
  [INSERT_RECORD] = "INSERT INTO record VALUES (?1, ?2)",
  [INSERT_QUANTITY] = "INSERT INTO quantity VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
  [INSERT_FILE] = "INSERT OR IGNORE INTO file VALUES (?1, ?2)",
  [ANNOUNCE] = "INSERT OR IGNORE INTO pending VALUES (?1)",
  [CONFIRM] = "DELETE FROM pending WHERE sha256 = ?1",
  [HAS_FILE] = "SELECT 1 FROM file WHERE sha256 = ?1",
  [EACH_FILE] = "SELECT sha256, size FROM file ORDER BY sha256",
  [EACH_PENDING] = "SELECT sha256, 0 FROM pending ORDER BY sha256",
  [EACH_QUANTITY] = "SELECT name, value, U, lower, upper, verdict FROM quantity"
                    " WHERE number = ?1 ORDER BY name",
  [INSERT_SEAL] = "INSERT INTO seal VALUES (?1, ?2, ?3, ?4)",
  [EACH_SEAL] = "SELECT number, time, count, hash FROM seal ORDER BY number",
  [COUNT_STRAYS] = "SELECT (SELECT count (*) FROM record WHERE number NOT IN"
                   " (SELECT number FROM inspection)) + (SELECT count (DISTINCT number) FROM"
                   " quantity WHERE number NOT IN (SELECT number FROM inspection))",
  [CHECK_PAGES] = "PRAGMA integrity_check (10)",
  [COUNT_BYTES] = "SELECT page_count * page_size FROM pragma_page_count, pragma_page_size",
  [ID_TAKEN] = "SELECT 1 FROM inspection WHERE id = ?1",
};

struct WsArchive
{
  char *folder;
  sqlite3 *db;
  sqlite3_stmt *prepared[N_STATEMENTS];
  gboolean in_batch;
};

/* ---- Statements ------------------------------------------------------------------ */

static gboolean
refuse (WsArchive *archive, GError **error)
{
  return ws_database_refuse (archive->db, archive->folder, error);
}

static gboolean
run (WsArchive *archive, const char *sql, GError **error)
{
  return ws_database_run (archive->db, archive->folder, sql, error);
}

/* Ready to bind; owned by the archive.  NULL when it can't be prepared. */
static sqlite3_stmt *
statement (WsArchive *archive, Statement which)
{
  sqlite3_stmt **prepared = &archive->prepared[which];
  if (*prepared == NULL)
    sqlite3_prepare_v3 (archive->db, statements[which], -1, SQLITE_PREPARE_PERSISTENT, prepared,
                        NULL);
  else
    sqlite3_reset (*prepared);
  return *prepared;
}

/* The text outlives the step in every use here. */
static void
bind_text (sqlite3_stmt *stmt, int at, const char *text)
{
  sqlite3_bind_text (stmt, at, text, -1, SQLITE_STATIC);
}

static void
bind_count (sqlite3_stmt *stmt, int at, guint64 count)
{
  sqlite3_bind_int64 (stmt, at, (sqlite3_int64)count);
}

/* For statements without rows. */
static gboolean
finish (WsArchive *archive, sqlite3_stmt *stmt, GError **error)
{
  const gboolean done = stmt != NULL && sqlite3_step (stmt) == SQLITE_DONE;
  if (!done)
    refuse (archive, error);
  sqlite3_reset (stmt);
  return done;
}

static const char *
text_of (sqlite3_stmt *stmt, int column)
{
  return (const char *)sqlite3_column_text (stmt, column);
}

/* A damaged database may hold nothing where something must be. */
static const char *
text_or (sqlite3_stmt *stmt, int column, const char *otherwise)
{
  const char *text = text_of (stmt, column);
  return text != NULL ? text : otherwise;
}

static double
number_of (sqlite3_stmt *stmt, int column)
{
  return sqlite3_column_type (stmt, column) == SQLITE_NULL ? NAN
                                                           : sqlite3_column_double (stmt, column);
}

/* ---- Opening --------------------------------------------------------------------- */

static gboolean
read_pragma (WsArchive *archive, const char *sql, int *value, GError **error)
{
  sqlite3_stmt *stmt = NULL;
  const gboolean done = sqlite3_prepare_v2 (archive->db, sql, -1, &stmt, NULL) == SQLITE_OK &&
                        sqlite3_step (stmt) == SQLITE_ROW;
  if (done)
    *value = sqlite3_column_int (stmt, 0);
  else
    refuse (archive, error);
  sqlite3_finalize (stmt);
  return done;
}

static gboolean
check_kind (WsArchive *archive, int *version, GError **error)
{
  int application, tables;
  if (!read_pragma (archive, "PRAGMA application_id", &application, error) ||
      !read_pragma (archive, "PRAGMA user_version", version, error) ||
      !read_pragma (archive, "SELECT count (*) FROM sqlite_schema", &tables, error))
    return FALSE;
  const gboolean is_new = application == 0 && *version == 0 && tables == 0;
  if (!is_new && application != APPLICATION_ID)
    g_set_error (error, WS_ERROR, WS_ERROR_DATA,
                 "archive %s: " WS_DATABASE_NAME " is another program's database", archive->folder);
  else if (*version > SCHEMA_VERSION)
    g_set_error (error, WS_ERROR, WS_ERROR_DATA,
                 "archive %s: made by a newer version of this program (form %d); use that",
                 archive->folder, *version);
  else
    return TRUE;
  return FALSE;
}

/* Others may be at the same: the version is looked at again once nobody else can write. */
static gboolean
migrate (WsArchive *archive, GError **error)
{
  int version;
  if (!check_kind (archive, &version, error))
    return FALSE;
  if (version == SCHEMA_VERSION)
    return TRUE;
  if (!run (archive, "BEGIN IMMEDIATE", error))
    return FALSE;
  gboolean done = check_kind (archive, &version, error);
  for (; done && version < SCHEMA_VERSION; version++)
    done = run (archive, migrations[version], error);
  done = done && run (archive, "COMMIT", error);
  if (!done)
    sqlite3_exec (archive->db, "ROLLBACK", NULL, NULL, NULL);
  return done;
}

WsArchive *
ws_archive_open (const char *folder, WsArchiveMode mode, GError **error)
{
  g_autoptr (WsArchive) archive = g_new0 (WsArchive, 1);
  archive->folder = g_strdup (folder);
  archive->db = ws_database_open (folder, mode, error);
  if (archive->db == NULL || !migrate (archive, error))
    return NULL;
  return g_steal_pointer (&archive);
}

void
ws_archive_free (WsArchive *archive)
{
  if (archive == NULL)
    return;
  for (int i = 0; i < N_STATEMENTS; i++)
    sqlite3_finalize (archive->prepared[i]);
  sqlite3_close (archive->db);
  g_free (archive->folder);
  g_free (archive);
}

const char *
ws_archive_folder (const WsArchive *archive)
{
  return archive->folder;
}

char *
ws_archive_picture_path (const WsArchive *archive, const char *sha256)
{
  return ws_files_path (archive->folder, sha256);
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
  };
  for (gsize i = 0; i < G_N_ELEMENTS (texts); i++)
    g_free (texts[i]);
  g_free (inspection);
}

/* ---- Storing --------------------------------------------------------------------- */

gboolean
ws_store_head (WsArchive *archive, WsHead *head, GError **error)
{
  sqlite3_stmt *stmt = statement (archive, READ_HEAD);
  const int code = stmt != NULL ? sqlite3_step (stmt) : SQLITE_ERROR;
  *head = (WsHead){ 0 };
  if (code == SQLITE_ROW)
  {
    head->count = (guint64)sqlite3_column_int64 (stmt, 0);
    g_strlcpy (head->hash, text_or (stmt, 1, ""), sizeof head->hash);
    head->seals = (guint64)sqlite3_column_int64 (stmt, 2);
  }
  else if (code == SQLITE_DONE)
    g_set_error (error, WS_ERROR, WS_ERROR_DATA, "archive %s: the head row was removed",
                 archive->folder);
  else
    refuse (archive, error);
  sqlite3_reset (stmt);
  return code == SQLITE_ROW;
}

static gboolean
write_head (WsArchive *archive, const WsHead *head, GError **error)
{
  sqlite3_stmt *stmt = statement (archive, WRITE_HEAD);
  bind_count (stmt, 1, head->count);
  bind_text (stmt, 2, head->hash);
  bind_count (stmt, 3, head->seals);
  return finish (archive, stmt, error);
}

static gboolean
insert_inspection (WsArchive *archive, const WsInspection *inspection, GError **error)
{
  sqlite3_stmt *stmt = statement (archive, INSERT_INSPECTION);
  const char *const texts[] = { inspection->id,        inspection->time,       inspection->tool,
                                inspection->kind,      inspection->view,       inspection->verdict,
                                inspection->reason,    inspection->image_name, inspection->image,
                                inspection->annotated, inspection->settings,   inspection->station,
                                inspection->grinder };
  bind_count (stmt, 1, inspection->number);
  for (int i = 0; i < (int)G_N_ELEMENTS (texts); i++)
    bind_text (stmt, 2 + i, texts[i]);
  sqlite3_bind_int (stmt, 15, inspection->reground);
  sqlite3_bind_int (stmt, 16, inspection->has_pictures);
  bind_text (stmt, 17, inspection->previous);
  bind_text (stmt, 18, inspection->hash);
  if (!finish (archive, stmt, error))
    return FALSE;
  stmt = statement (archive, INSERT_RECORD);
  bind_count (stmt, 1, inspection->number);
  bind_text (stmt, 2, inspection->record);
  return finish (archive, stmt, error);
}

/* A record's quantities, kept while the row is stored. */
typedef struct
{
  GArray *rows; /* of WsRow */
  GStringChunk *texts;
} Quantities;

static void
quantities_clear (Quantities *quantities)
{
  g_array_unref (quantities->rows);
  g_string_chunk_free (quantities->texts);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Quantities, quantities_clear)

static void
keep_quantity (const WsRow *row, gpointer data)
{
  Quantities *quantities = data;
  WsRow kept = *row;
  kept.name = g_string_chunk_insert (quantities->texts, row->name);
  if (row->verdict != NULL)
    kept.verdict = g_string_chunk_insert (quantities->texts, row->verdict);
  g_array_append_val (quantities->rows, kept);
}

static gboolean
insert_quantity (WsArchive *archive, guint64 number, const WsRow *row, GError **error)
{
  sqlite3_stmt *stmt = statement (archive, INSERT_QUANTITY);
  bind_count (stmt, 1, number);
  bind_text (stmt, 2, row->name);
  sqlite3_bind_double (stmt, 3, row->value); /* NAN becomes NULL */
  sqlite3_bind_double (stmt, 4, row->U);
  sqlite3_bind_double (stmt, 5, row->lower);
  sqlite3_bind_double (stmt, 6, row->upper);
  bind_text (stmt, 7, row->verdict);
  return finish (archive, stmt, error);
}

static gboolean
insert_quantities (WsArchive *archive, guint64 number, const Quantities *quantities, GError **error)
{
  for (guint i = 0; i < quantities->rows->len; i++)
    if (!insert_quantity (archive, number, &g_array_index (quantities->rows, WsRow, i), error))
      return FALSE;
  return TRUE;
}

static gboolean
insert_file (WsArchive *archive, const char *sha256, gsize size, GError **error)
{
  sqlite3_stmt *stmt = statement (archive, INSERT_FILE);
  bind_text (stmt, 1, sha256);
  bind_count (stmt, 2, size);
  if (!finish (archive, stmt, error))
    return FALSE;
  stmt = statement (archive, CONFIRM);
  bind_text (stmt, 1, sha256);
  return finish (archive, stmt, error);
}

static gboolean
has_row (WsArchive *archive, Statement which, const char *key)
{
  sqlite3_stmt *stmt = statement (archive, which);
  bind_text (stmt, 1, key);
  const gboolean has = stmt != NULL && sqlite3_step (stmt) == SQLITE_ROW;
  sqlite3_reset (stmt);
  return has;
}

/* Announced first: should this process be killed before the row commits, everybody knows where
 * the file came from. */
static gboolean
save_picture (WsArchive *archive, GBytes *bytes, const char *sha256, GError **error)
{
  if (!has_row (archive, HAS_FILE, sha256))
  {
    sqlite3_stmt *stmt = statement (archive, ANNOUNCE);
    bind_text (stmt, 1, sha256);
    if (!finish (archive, stmt, error))
      return FALSE;
  }
  return ws_files_save (archive->folder, sha256, bytes, error);
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
    ws_sha256_hex (bytes, size, hex);
    if (g_strcmp0 (hex, inspection->image) != 0)
    {
      g_set_error (error, WS_ERROR, WS_ERROR_DATA,
                   "%s: changed while it was measured, not archived; measure it again",
                   inspection->image_name);
      return FALSE;
    }
    if (!save_picture (archive, pictures->original, hex, error))
      return FALSE;
  }
  if (pictures->annotated == NULL)
    return TRUE;
  const void *bytes = g_bytes_get_data (pictures->annotated, &size);
  ws_sha256_hex (bytes, size, hex);
  inspection->annotated = g_strdup (hex);
  return save_picture (archive, pictures->annotated, hex, error);
}

static gboolean
insert_files (WsArchive *archive, const WsInspection *inspection, const WsPictures *pictures,
              GError **error)
{
  if (pictures == NULL)
    return TRUE;
  return (pictures->original == NULL ||
          insert_file (archive, inspection->image, g_bytes_get_size (pictures->original), error)) &&
         (pictures->annotated == NULL ||
          insert_file (archive, inspection->annotated, g_bytes_get_size (pictures->annotated),
                       error));
}

/* Inside a transaction: number and hash follow from the head, which nobody else can move. */
static gboolean
append (WsArchive *archive, WsInspection *inspection, const Quantities *quantities,
        const WsPictures *pictures, GError **error)
{
  WsHead head;
  if (!ws_store_head (archive, &head, error))
    return FALSE;
  inspection->number = ++head.count;
  g_free (inspection->previous);
  inspection->previous = g_strdup (head.hash);
  ws_columns_hash (inspection, head.hash);
  g_free (inspection->hash);
  inspection->hash = g_strdup (head.hash);

  return insert_inspection (archive, inspection, error) &&
         insert_quantities (archive, inspection->number, quantities, error) &&
         insert_files (archive, inspection, pictures, error) && write_head (archive, &head, error);
}

static gboolean
check_id (WsArchive *archive, const WsInspection *inspection, GError **error)
{
  if (!has_row (archive, ID_TAKEN, inspection->id))
    return TRUE;
  g_set_error (error, WS_ERROR, WS_ERROR_DATA, "archive %s: holds another record %s already",
               archive->folder, inspection->id);
  return FALSE;
}

gboolean
ws_archive_store (WsArchive *archive, WsInspection *inspection, const WsPictures *pictures,
                  GError **error)
{
  g_return_val_if_fail (pictures == NULL || !archive->in_batch, FALSE);
  g_auto (Quantities)
    quantities = { g_array_new (FALSE, FALSE, sizeof (WsRow)), g_string_chunk_new (1024) };
  if (!ws_columns_fill (inspection, keep_quantity, &quantities, error) ||
      (pictures != NULL && !save_pictures (archive, inspection, pictures, error)))
    return FALSE;
  if (archive->in_batch)
    return check_id (archive, inspection, error) &&
           append (archive, inspection, &quantities, pictures, error);
  if (!run (archive, "BEGIN IMMEDIATE", error))
    return FALSE;
  if (check_id (archive, inspection, error) &&
      append (archive, inspection, &quantities, pictures, error) && run (archive, "COMMIT", error))
    return TRUE;
  ws_archive_roll_back (archive);
  return FALSE;
}

gboolean
ws_archive_begin (WsArchive *archive, GError **error)
{
  archive->in_batch = run (archive, "BEGIN IMMEDIATE", error);
  return archive->in_batch;
}

gboolean
ws_archive_commit (WsArchive *archive, GError **error)
{
  if (!run (archive, "COMMIT", error))
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
  sqlite3_exec (archive->db, "ROLLBACK", NULL, NULL, NULL);
  archive->in_batch = FALSE;
}

gboolean
ws_archive_head (WsArchive *archive, guint64 *count, char hash[WS_SHA256_HEX_SIZE], GError **error)
{
  WsHead head;
  if (!ws_store_head (archive, &head, error))
    return FALSE;
  *count = head.count;
  memcpy (hash, head.hash, sizeof head.hash);
  return TRUE;
}

static gboolean
insert_seal (WsArchive *archive, const char *time, WsHead *head, GError **error)
{
  if (!ws_store_head (archive, head, error))
    return FALSE;
  sqlite3_stmt *stmt = statement (archive, INSERT_SEAL);
  bind_count (stmt, 1, ++head->seals);
  bind_text (stmt, 2, time);
  bind_count (stmt, 3, head->count);
  bind_text (stmt, 4, head->hash);
  return finish (archive, stmt, error) && write_head (archive, head, error);
}

char *
ws_archive_seal (WsArchive *archive, GError **error)
{
  WsHead head;
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();
  g_autofree char *time = g_date_time_format (now, "%Y-%m-%dT%H:%M:%SZ");
  if (!run (archive, "BEGIN IMMEDIATE", error))
    return NULL;
  if (!insert_seal (archive, time, &head, error) || !run (archive, "COMMIT", error))
  {
    ws_archive_roll_back (archive);
    return NULL;
  }
  return g_strdup_printf (SEAL " %s %" G_GUINT64_FORMAT " %s", time, head.count,
                          head.count > 0 ? head.hash : "-");
}

/* ---- Finding --------------------------------------------------------------------- */

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
    bind_text (stmt, at, text);
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
    bind_count (stmt, last, filter->last);
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
    *texts[i] = text_of (stmt, 1 + i);
  row->reground = sqlite3_column_int (stmt, 14) != 0;
  row->has_pictures = sqlite3_column_int (stmt, 15) != 0;
  row->previous = (char *)text_or (stmt, 16, "");
  row->hash = (char *)text_or (stmt, 17, "");
  row->record = (char *)text_of (stmt, N_COLUMNS);
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
  return code == SQLITE_DONE || refuse (archive, error);
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
    return refuse (archive, error);
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
    refuse (archive, error);
    return NULL;
  }
  bind_text (stmt, 1, id);
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
    refuse (archive, error);
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
  value->id = g_strdup (text_of (stmt, 0));
  value->time = g_strdup (text_of (stmt, 1));
  value->tool = g_strdup (text_of (stmt, 2));
  value->grinder = g_strdup (text_of (stmt, 3));
  value->reground = sqlite3_column_int (stmt, 4) != 0;
  value->value = sqlite3_column_double (stmt, 5);
  value->U = number_of (stmt, 6);
  value->lower = isnan (number_of (stmt, 7)) ? -INFINITY : number_of (stmt, 7);
  value->upper = isnan (number_of (stmt, 8)) ? INFINITY : number_of (stmt, 8);
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
    refuse (archive, error);
    return NULL;
  }
  bind_filter (stmt, filter);
  while ((code = sqlite3_step (stmt)) == SQLITE_ROW)
    g_ptr_array_add (values, read_value (stmt));
  if (code != SQLITE_DONE)
    refuse (archive, error);
  sqlite3_finalize (stmt);
  return code == SQLITE_DONE ? g_steal_pointer (&values) : NULL;
}

/* ---- For verifying --------------------------------------------------------------- */

static gboolean
each_name (WsArchive *archive, Statement which, WsFileVisit visit, gpointer data, GError **error)
{
  int code = SQLITE_ERROR;
  sqlite3_stmt *stmt = statement (archive, which);
  while (stmt != NULL && (code = sqlite3_step (stmt)) == SQLITE_ROW)
    if (!visit (text_or (stmt, 0, ""), sqlite3_column_int64 (stmt, 1), data))
      break;
  const gboolean done = code == SQLITE_DONE || code == SQLITE_ROW || refuse (archive, error);
  sqlite3_reset (stmt);
  return done;
}

gboolean
ws_store_each_file (WsArchive *archive, WsFileVisit visit, gpointer data, GError **error)
{
  return each_name (archive, EACH_FILE, visit, data, error);
}

gboolean
ws_store_each_pending (WsArchive *archive, WsFileVisit visit, gpointer data, GError **error)
{
  return each_name (archive, EACH_PENDING, visit, data, error);
}

gboolean
ws_store_check_pages (WsArchive *archive, WsFileVisit visit, gpointer data, GError **error)
{
  return each_name (archive, CHECK_PAGES, visit, data, error);
}

gboolean
ws_store_each_quantity (WsArchive *archive, guint64 number, WsRowVisit visit, gpointer data,
                        GError **error)
{
  int code = SQLITE_ERROR;
  sqlite3_stmt *stmt = statement (archive, EACH_QUANTITY);
  bind_count (stmt, 1, number);
  while (stmt != NULL && (code = sqlite3_step (stmt)) == SQLITE_ROW)
  {
    const WsRow row = { .name = text_or (stmt, 0, ""),
                        .value = number_of (stmt, 1),
                        .U = number_of (stmt, 2),
                        .k = NAN,
                        .lower = number_of (stmt, 3),
                        .upper = number_of (stmt, 4),
                        .verdict = text_of (stmt, 5) };
    visit (&row, data);
  }
  const gboolean done = code == SQLITE_DONE || refuse (archive, error);
  sqlite3_reset (stmt);
  return done;
}

gboolean
ws_store_each_seal (WsArchive *archive, WsSealVisit visit, gpointer data, GError **error)
{
  int code = SQLITE_ERROR;
  sqlite3_stmt *stmt = statement (archive, EACH_SEAL);
  while (stmt != NULL && (code = sqlite3_step (stmt)) == SQLITE_ROW)
    visit ((guint64)sqlite3_column_int64 (stmt, 0), text_or (stmt, 1, ""),
           (guint64)sqlite3_column_int64 (stmt, 2), text_or (stmt, 3, ""), data);
  const gboolean done = code == SQLITE_DONE || refuse (archive, error);
  sqlite3_reset (stmt);
  return done;
}

static gboolean
read_count (WsArchive *archive, Statement which, guint64 *n, GError **error)
{
  sqlite3_stmt *stmt = statement (archive, which);
  const gboolean done = stmt != NULL && sqlite3_step (stmt) == SQLITE_ROW;
  if (done)
    *n = (guint64)sqlite3_column_int64 (stmt, 0);
  else
    refuse (archive, error);
  sqlite3_reset (stmt);
  return done;
}

gboolean
ws_store_strays (WsArchive *archive, guint64 *n, GError **error)
{
  return read_count (archive, COUNT_STRAYS, n, error);
}

gboolean
ws_store_bytes (WsArchive *archive, guint64 *n, GError **error)
{
  return read_count (archive, COUNT_BYTES, n, error);
}

gboolean
ws_store_begin_reading (WsArchive *archive, GError **error)
{
  return run (archive, "BEGIN", error);
}

void
ws_store_end_reading (WsArchive *archive)
{
  sqlite3_exec (archive->db, "COMMIT", NULL, NULL, NULL);
}
