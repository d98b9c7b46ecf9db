/*
 * Is the archive as it was written?  Rows by their hashes and the chain, what rows say twice by
 * the record, pictures by theirs, and nothing that doesn't belong.
 */
#include <math.h>
#include <string.h>

#include <whetsight/archive.h>
#include <whetsight/error.h>

#include "archive/database.h"
#include "archive/files.h"
#include "archive/store.h"

#define PART_SUFFIX ".part"
#define PROGRESS_US 200000

/* Edited rows compared with each other to tell swapped contents: pairs grow with the square. */
#define MAX_SWAPS 200

typedef struct
{
  WsArchive *archive;
  const WsVerifier *verifier;
  WsVerification *result;
  GHashTable *by_hash;   /* a row's hash -> Link */
  GPtrArray *links;      /* of Link, in the order of their numbers */
  GPtrArray *edited;     /* of Edited */
  GHashTable *known;     /* SHA-256 of pictures in the table -> NULL */
  GHashTable *used;      /* SHA-256 of pictures that rows name -> Link */
  GHashTable *announced; /* SHA-256 */
  GPtrArray *unknown;    /* of char *, "1f/1f0c…": files that weren't in the table */
  guint64 all_bytes, done_bytes;
} Check;

/* A row's place in the chain. */
typedef struct
{
  guint64 number;
  gsize index;
  char *id, *previous, *hash;
  gboolean told;
} Link;

/* A row whose content isn't what its hash says. */
typedef struct
{
  Link *link;
  WsInspection *row;
} Edited;

static void
link_free (gpointer data)
{
  Link *link = data;
  g_free (link->id);
  g_free (link->previous);
  g_free (link->hash);
  g_free (link);
}

static void
edited_free (gpointer data)
{
  Edited *edited = data;
  ws_inspection_free (edited->row);
  g_free (edited);
}

static void tell (Check *check, const char *format, ...) G_GNUC_PRINTF (2, 3);

static void
tell (Check *check, const char *format, ...)
{
  va_list arguments;
  va_start (arguments, format);
  g_autofree char *what = g_strdup_vprintf (format, arguments);
  va_end (arguments);
  /* A damaged row may hold anything. */
  g_autofree char *valid = g_utf8_make_valid (what, -1);
  check->result->wrong++;
  check->verifier->tell (valid, check->verifier->data);
}

static void tell_row (Check *check, Link *link, const char *format, ...) G_GNUC_PRINTF (3, 4);

static void
tell_row (Check *check, Link *link, const char *format, ...)
{
  va_list arguments;
  va_start (arguments, format);
  g_autofree char *what = g_strdup_vprintf (format, arguments);
  va_end (arguments);
  link->told = TRUE;
  tell (check, "row %" G_GUINT64_FORMAT " (%s): %s", link->number, link->id, what);
}

static void
show_progress (Check *check)
{
  if (check->verifier->progress != NULL)
    check->verifier->progress (__atomic_load_n (&check->done_bytes, __ATOMIC_RELAXED),
                               check->all_bytes, check->verifier->data);
}

/* ---- What rows say twice ----------------------------------------------------------- */

typedef struct
{
  GHashTable *by_name; /* name -> the row's numbers and verdict as one text */
  const char *wrong;   /* name of a quantity that isn't as recorded */
  guint n;
} Twice;

static char *
row_text (const WsRow *row)
{
  /* As bits, so that NAN equals NAN. */
  const double numbers[] = { row->value, row->U, row->lower, row->upper };
  GString *text = g_string_new (row->verdict != NULL ? row->verdict : "-");
  for (gsize i = 0; i < G_N_ELEMENTS (numbers); i++)
    if (isnan (numbers[i]))
      g_string_append (text, " null");
    else
      g_string_append_printf (text, " %a", numbers[i]);
  return g_string_free (text, FALSE);
}

static void
note_quantity (const WsRow *row, gpointer data)
{
  Twice *twice = data;
  g_hash_table_insert (twice->by_name, g_strdup (row->name), row_text (row));
}

static void
compare_quantity (const WsRow *row, gpointer data)
{
  Twice *twice = data;
  g_autofree char *text = row_text (row);
  const char *recorded = g_hash_table_lookup (twice->by_name, row->name);
  twice->n++;
  if (recorded == NULL || !g_str_equal (recorded, text))
    twice->wrong = g_intern_string (row->name);
}

static const char *
differing_column (const WsInspection *row, const WsInspection *recorded)
{
  const struct
  {
    const char *name, *a, *b;
  } columns[] = {
    { "id", row->id, recorded->id },
    { "time", row->time, recorded->time },
    { "tool", row->tool, recorded->tool },
    { "kind", row->kind, recorded->kind },
    { "view", row->view, recorded->view },
    { "verdict", row->verdict, recorded->verdict },
    { "reason", row->reason, recorded->reason },
    { "image_name", row->image_name, recorded->image_name },
    { "image", row->image, recorded->image },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (columns); i++)
    if (g_strcmp0 (columns[i].a, columns[i].b) != 0)
      return columns[i].name;
  return NULL;
}

static gboolean
compare_with_record (Check *check, Link *link, const WsInspection *row, GError **error)
{
  g_autoptr (WsInspection) recorded = g_new0 (WsInspection, 1);
  g_autoptr (GHashTable) by_name = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, g_free);
  Twice twice = { by_name, NULL, 0 };
  recorded->record = g_strdup (row->record);
  if (!ws_columns_fill (recorded, note_quantity, &twice, NULL))
  {
    tell_row (check, link, "holds no record");
    return TRUE;
  }
  const char *column = differing_column (row, recorded);
  if (column != NULL)
    tell_row (check, link, "edited: %s is not what the record says", column);
  if (!ws_store_each_quantity (check->archive, row->number, compare_quantity, &twice, error))
    return FALSE;
  if (twice.wrong != NULL)
    tell_row (check, link, "edited: quantity %s is not what the record says", twice.wrong);
  else if (twice.n != g_hash_table_size (by_name))
    tell_row (check, link, "edited: a quantity was removed from the table");
  return TRUE;
}

/* ---- Rows --------------------------------------------------------------------------- */

static Link *
add_link (Check *check, const WsInspection *row)
{
  Link *link = g_new0 (Link, 1);
  link->number = row->number;
  link->index = check->links->len;
  link->id = g_strdup (row->id != NULL ? row->id : "?");
  link->previous = g_strdup (row->previous);
  link->hash = g_strdup (row->hash);
  g_ptr_array_add (check->links, link);
  if (!g_hash_table_contains (check->by_hash, link->hash))
    g_hash_table_insert (check->by_hash, link->hash, link);
  return link;
}

static void
note_use (Check *check, const WsInspection *row, Link *link)
{
  if (!row->has_pictures)
    return;
  if (row->image != NULL)
    g_hash_table_insert (check->used, g_strdup (row->image), link);
  if (row->annotated != NULL)
    g_hash_table_insert (check->used, g_strdup (row->annotated), link);
}

/* What the hash covers. */
static WsInspection *
copy_content (const WsInspection *row)
{
  WsInspection *copy = g_new0 (WsInspection, 1);
  copy->record = g_strdup (row->record);
  copy->settings = g_strdup (row->settings);
  copy->station = g_strdup (row->station);
  copy->grinder = g_strdup (row->grinder);
  copy->reground = row->reground;
  copy->annotated = g_strdup (row->annotated);
  copy->has_pictures = row->has_pictures;
  return copy;
}

static gboolean
check_row (const WsInspection *row, gpointer data, GError **error)
{
  Check *check = data;
  char hash[WS_SHA256_HEX_SIZE];
  Link *link = add_link (check, row);
  check->result->rows++;
  note_use (check, row, link);
  if (row->record != NULL)
    __atomic_fetch_add (&check->done_bytes, (guint64)strlen (row->record), __ATOMIC_RELAXED);
  show_progress (check);
  if (row->record == NULL)
  {
    tell_row (check, link, "its record was removed");
    return TRUE;
  }
  ws_columns_hash (row, hash);
  if (g_str_equal (hash, row->hash))
    return compare_with_record (check, link, row, error);
  if (check->edited->len >= MAX_SWAPS)
  {
    tell_row (check, link, "edited");
    return TRUE;
  }
  Edited *edited = g_new0 (Edited, 1);
  edited->link = link;
  edited->row = copy_content (row);
  g_ptr_array_add (check->edited, edited);
  return TRUE;
}

/* The row whose place in the chain this content was written for. */
static const Edited *
true_place (const Check *check, const Edited *edited)
{
  char hash[WS_SHA256_HEX_SIZE];
  for (guint i = 0; i < check->edited->len; i++)
  {
    const Edited *other = g_ptr_array_index (check->edited, i);
    if (other == edited)
      continue;
    g_free (edited->row->previous);
    edited->row->previous = g_strdup (other->link->previous);
    ws_columns_hash (edited->row, hash);
    if (g_str_equal (hash, other->link->hash))
      return other;
  }
  return NULL;
}

static void
tell_edited (Check *check)
{
  for (guint i = 0; i < check->edited->len; i++)
  {
    const Edited *edited = g_ptr_array_index (check->edited, i);
    const Edited *other = true_place (check, edited);
    if (other != NULL)
      tell_row (check, edited->link, "swapped: holds the content of row %" G_GUINT64_FORMAT " (%s)",
                other->link->number, other->link->id);
    else
      tell_row (check, edited->link, "edited");
  }
}

static void
tell_inserted (Check *check, gsize from, gsize to)
{
  for (gsize i = from; i < to; i++)
  {
    Link *link = g_ptr_array_index (check->links, i);
    if (!link->told)
      tell_row (check, link, "inserted: the row after it doesn't follow from it");
  }
}

static void
tell_removed (Check *check, Link *link, guint64 after)
{
  if (link->number > after + 2)
    tell (check,
          "rows %" G_GUINT64_FORMAT " to %" G_GUINT64_FORMAT
          ": removed (before row %" G_GUINT64_FORMAT ", %s)",
          after + 1, link->number - 1, link->number, link->id);
  else if (link->number > after + 1)
    tell (check, "row %" G_GUINT64_FORMAT ": removed (before row %" G_GUINT64_FORMAT ", %s)",
          after + 1, link->number, link->id);
  else
    tell_row (check, link, "doesn't follow from the row before it: a row was removed or replaced");
}

static void
check_link (Check *check, Link *link, const Link *before)
{
  const Link *parent = g_hash_table_lookup (check->by_hash, link->previous);
  const char *expected = before != NULL ? before->hash : "";
  if (g_str_equal (link->previous, expected))
  {
    if (link->number != (before != NULL ? before->number : 0) + 1)
      tell_row (check, link, "has another number than its place in the chain");
  }
  else if (*link->previous == '\0')
    tell_inserted (check, 0, link->index);
  else if (parent == NULL)
    tell_removed (check, link, before != NULL ? before->number : 0);
  else if (parent->index > link->index)
    tell_row (check, link, "out of order: belongs after row %" G_GUINT64_FORMAT " (%s)",
              parent->number, parent->id);
  else
  {
    const guint wrong = (guint)check->result->wrong;
    tell_inserted (check, parent->index + 1, link->index);
    if (wrong == check->result->wrong && before != NULL && !before->told)
      tell_row (check, link, "out of order: belongs after row %" G_GUINT64_FORMAT " (%s)",
                parent->number, parent->id);
  }
}

/* When nothing is missing, each row's place in the chain is known.  FALSE when it isn't so. */
static gboolean
check_order (Check *check)
{
  g_autoptr (GHashTable) next = g_hash_table_new (g_str_hash, g_str_equal);
  g_autoptr (GPtrArray) chain = g_ptr_array_new ();
  const char *end = "";
  for (guint i = 0; i < check->links->len; i++)
  {
    Link *link = g_ptr_array_index (check->links, i);
    if (!g_hash_table_insert (next, link->previous, link))
      return FALSE;
  }
  for (Link *link; chain->len < check->links->len && (link = g_hash_table_lookup (next, end));
       end = link->hash)
    g_ptr_array_add (chain, link);
  if (chain->len < check->links->len)
    return FALSE;
  for (guint i = 0; i < chain->len; i++)
  {
    Link *link = g_ptr_array_index (chain, i);
    if (link->number != (guint64)i + 1)
      tell_row (check, link, "out of order: was written as number %u", i + 1);
  }
  return TRUE;
}

static void
check_head (Check *check, const WsHead *head)
{
  Link *last =
    check->links->len > 0 ? g_ptr_array_index (check->links, check->links->len - 1) : NULL;
  const Link *meant = g_hash_table_lookup (check->by_hash, head->hash);
  if (g_str_equal (head->hash, last != NULL ? last->hash : "") && head->count == check->links->len)
    return;
  if (meant != NULL && head->count < check->links->len)
    tell_inserted (check, meant->index + 1, check->links->len);
  else if (head->count > check->links->len)
    tell (check, "rows removed: %" G_GUINT64_FORMAT " were written, %u are there", head->count,
          check->links->len);
  else
    tell (check, "the head doesn't name the last row: rows were replaced or moved");
}

static gboolean
check_rows (Check *check, GError **error)
{
  const WsArchiveFilter all = WS_ARCHIVE_ALL;
  WsHead head;
  guint64 strays;
  if (!ws_store_head (check->archive, &head, error) ||
      !ws_archive_each (check->archive, &all, TRUE, check_row, check, error) ||
      !ws_store_strays (check->archive, &strays, error))
    return FALSE;
  tell_edited (check);
  const gboolean complete = check_order (check);
  for (guint i = 0; !complete && i < check->links->len; i++)
    check_link (check, g_ptr_array_index (check->links, i),
                i > 0 ? g_ptr_array_index (check->links, i - 1) : NULL);
  check_head (check, &head);
  if (strays > 0)
    tell (check,
          "%" G_GUINT64_FORMAT " records or sets of quantities belong to rows that were removed",
          strays);
  return TRUE;
}

/* ---- Seals -------------------------------------------------------------------------- */

static void
check_seal (Check *check, const char *time, guint64 count, const char *hash)
{
  const Link *link = NULL;
  if (count == 0)
    return;
  if (count <= check->links->len)
    link = g_ptr_array_index (check->links, count - 1);
  if (link == NULL || !g_str_equal (link->hash, hash))
    tell (check,
          "seal of %s: row %" G_GUINT64_FORMAT " is not the one that was sealed; rows were changed "
          "since",
          time, count);
}

typedef struct
{
  Check *check;
  guint64 n;
} Seals;

static void
visit_seal (guint64 number, const char *time, guint64 count, const char *hash, gpointer data)
{
  Seals *seals = data;
  if (number != ++seals->n)
  {
    tell (seals->check, "seal %" G_GUINT64_FORMAT ": removed", seals->n);
    seals->n = number;
  }
  check_seal (seals->check, time, count, hash);
}

static gboolean
check_seals (Check *check, GError **error)
{
  WsHead head;
  Seals seals = { check, 0 };
  if (!ws_store_head (check->archive, &head, error) ||
      !ws_store_each_seal (check->archive, visit_seal, &seals, error))
    return FALSE;
  if (seals.n != head.seals)
    tell (check, "seals removed or inserted: %" G_GUINT64_FORMAT " were made", head.seals);
  return TRUE;
}

/* "whetsight-seal/1 TIME COUNT HASH" */
static gboolean
check_given_seal (Check *check, const char *seal, GError **error)
{
  guint64 count;
  if (seal == NULL)
    return TRUE;
  g_auto (GStrv) parts = g_strsplit (seal, " ", 4);
  if (g_strv_length (parts) == 4)
    g_strchomp (parts[3]);
  if (g_strv_length (parts) != 4 || !g_str_equal (parts[0], "whetsight-seal/1") ||
      !g_ascii_string_to_unsigned (parts[2], 10, 0, G_MAXINT64, &count, NULL) ||
      !(count == 0 ? g_str_equal (parts[3], "-") : ws_sha256_is_hex (parts[3])))
  {
    g_set_error (error, WS_ERROR, WS_ERROR_DATA,
                 "\"%s\" is no seal; give the whole line that archive seal printed", seal);
    return FALSE;
  }
  check_seal (check, parts[1], count, parts[3]);
  return TRUE;
}

/* ---- Pictures ------------------------------------------------------------------------ */

/* A picture to be hashed, and what came of it. */
typedef struct
{
  char *sha256;
  guint64 size;
  char found[WS_SHA256_HEX_SIZE];
  gboolean read;
} Picture;

static void
picture_free (gpointer data)
{
  Picture *picture = data;
  g_free (picture->sha256);
  g_free (picture);
}

typedef struct
{
  Check *check;
  GPtrArray *pictures; /* of Picture */
} Listing;

static gboolean
list_picture (const char *sha256, gint64 size, gpointer data)
{
  Listing *listing = data;
  Picture *picture = g_new0 (Picture, 1);
  picture->sha256 = g_strdup (sha256);
  picture->size = (guint64)size;
  g_ptr_array_add (listing->pictures, picture);
  g_hash_table_add (listing->check->known, g_strdup (sha256));
  listing->check->all_bytes += picture->size;
  return TRUE;
}

/* In a worker. */
static void
hash_picture (gpointer item, gpointer data)
{
  Picture *picture = item;
  Check *check = data;
  g_autofree char *path = ws_archive_picture_path (check->archive, picture->sha256);
  picture->read = ws_files_hash (path, &check->done_bytes, picture->found);
}

/* Pictures are hashed while rows are checked; free with await_pictures(). */
static GThreadPool *
start_hashing (Check *check, GPtrArray *pictures)
{
  GThreadPool *pool =
    g_thread_pool_new (hash_picture, check, (int)g_get_num_processors (), FALSE, NULL);
  for (guint i = 0; i < pictures->len; i++)
    if (ws_sha256_is_hex (((Picture *)g_ptr_array_index (pictures, i))->sha256))
      g_thread_pool_push (pool, g_ptr_array_index (pictures, i), NULL);
  return pool;
}

static void
await_pictures (Check *check, GThreadPool *pool)
{
  while (check->verifier->progress != NULL && g_thread_pool_unprocessed (pool) > 0)
  {
    show_progress (check);
    g_usleep (PROGRESS_US);
  }
  g_thread_pool_free (pool, FALSE, TRUE);
}

static void
judge_picture (Check *check, const Picture *picture)
{
  const Link *user = g_hash_table_lookup (check->used, picture->sha256);
  g_autofree char *owner = user != NULL ? g_strdup_printf (" (of %s)", user->id) : g_strdup ("");
  check->result->files++;
  if (user == NULL)
    tell (check, "picture %s: no row names it, inserted into the table", picture->sha256);
  if (!picture->read)
    tell (check, "picture %s%s: missing", picture->sha256, owner);
  else if (!g_str_equal (picture->found, picture->sha256))
    tell (check, "picture %s%s: altered", picture->sha256, owner);
}

static gboolean
note_announced (const char *sha256, gint64 size, gpointer data)
{
  Check *check = data;
  (void)size;
  g_hash_table_add (check->announced, g_strdup (sha256));
  return TRUE;
}

/* "SHA256" or "SHA256.0123abcd.part" of a picture that some writer has announced. */
static gboolean
is_left_over (const Check *check, const char *name)
{
  if (strlen (name) < WS_SHA256_HEX_SIZE - 1)
    return FALSE;
  g_autofree char *sha256 = g_strndup (name, WS_SHA256_HEX_SIZE - 1);
  const gboolean announced = g_hash_table_contains (check->announced, sha256);
  const gboolean part = name[WS_SHA256_HEX_SIZE - 1] == '.' && g_str_has_suffix (name, PART_SUFFIX);
  if (part)
    return announced || g_hash_table_contains (check->known, sha256);
  return announced && name[WS_SHA256_HEX_SIZE - 1] == '\0';
}

static void
check_name (Check *check, const char *fan, const char *name)
{
  const gboolean in_place = strncmp (name, fan, 2) == 0;
  if (in_place && g_hash_table_contains (check->known, name))
    return;
  if (in_place && is_left_over (check, name))
    check->result->left_over++;
  else
    tell (check, "file " WS_FILES_FOLDER "/%s/%s: extra, no row knows it", fan, name);
}

static void
check_fan (Check *check, const char *images, const char *fan)
{
  g_autofree char *path = g_build_filename (images, fan, NULL);
  GDir *dir = strlen (fan) == 2 ? g_dir_open (path, 0, NULL) : NULL;
  if (dir == NULL)
  {
    tell (check, "file " WS_FILES_FOLDER "/%s: extra, no row knows it", fan);
    return;
  }
  for (const char *name; (name = g_dir_read_name (dir)) != NULL;)
    if (!g_hash_table_contains (check->known, name) || strncmp (name, fan, 2) != 0)
      g_ptr_array_add (check->unknown, g_build_filename (fan, name, NULL));
  g_dir_close (dir);
}

static void
check_root (Check *check)
{
  static const char *const ours[] = { WS_DATABASE_NAME,        WS_DATABASE_NAME "-wal",
                                      WS_DATABASE_NAME "-shm", WS_DATABASE_NAME "-journal",
                                      WS_FILES_FOLDER,         NULL };
  GDir *dir = g_dir_open (ws_archive_folder (check->archive), 0, NULL);
  for (const char *name; dir != NULL && (name = g_dir_read_name (dir)) != NULL;)
    if (!g_strv_contains (ours, name))
      tell (check, "file %s: extra, not of the archive", name);
  if (dir != NULL)
    g_dir_close (dir);
}

static void
check_folders (Check *check)
{
  g_autofree char *images =
    g_build_filename (ws_archive_folder (check->archive), WS_FILES_FOLDER, NULL);
  GDir *dir = g_dir_open (images, 0, NULL);
  for (const char *name; dir != NULL && (name = g_dir_read_name (dir)) != NULL;)
    check_fan (check, images, name);
  if (dir != NULL)
    g_dir_close (dir);
  check_root (check);
}

static void
check_uses (Check *check)
{
  GHashTableIter iter;
  gpointer sha256, link;
  g_hash_table_iter_init (&iter, check->used);
  while (g_hash_table_iter_next (&iter, &sha256, &link))
    if (!g_hash_table_contains (check->known, sha256))
      tell (check, "picture %s (of %s): removed from the table", (const char *)sha256,
            ((const Link *)link)->id);
}

/* ---- All of it ------------------------------------------------------------------------ */

static gboolean
tell_page (const char *line, gint64 unused, gpointer data)
{
  (void)unused;
  if (!g_str_equal (line, "ok"))
    tell (data, "database: %s", line);
  return TRUE;
}

static gboolean
check_all (Check *check, const char *seal, GError **error)
{
  guint64 database;
  g_autoptr (GPtrArray) pictures = g_ptr_array_new_with_free_func (picture_free);
  Listing listing = { check, pictures };
  if (!ws_store_bytes (check->archive, &database, error) ||
      !ws_store_each_file (check->archive, list_picture, &listing, error))
    return FALSE;
  check->all_bytes += database;
  GThreadPool *pool = start_hashing (check, pictures);
  const gboolean done = ws_store_check_pages (check->archive, tell_page, check, error) &&
                        check_rows (check, error) && check_seals (check, error) &&
                        check_given_seal (check, seal, error);
  await_pictures (check, pool);
  if (!done)
    return FALSE;
  for (guint i = 0; i < pictures->len; i++)
    judge_picture (check, g_ptr_array_index (pictures, i));
  check_uses (check);
  check->result->bytes = check->done_bytes;
  return TRUE;
}

static gboolean
note_known (const char *sha256, gint64 size, gpointer data)
{
  Check *check = data;
  (void)size;
  g_hash_table_add (check->known, g_strdup (sha256));
  return TRUE;
}

/* Writers may go on meanwhile.  What the folders were seen to hold was announced before, so it is
 * still announced, or stored by now. */
static gboolean
check_extras (Check *check, GError **error)
{
  check_folders (check);
  if (!ws_store_each_pending (check->archive, note_announced, check, error) ||
      !ws_store_each_file (check->archive, note_known, check, error))
    return FALSE;
  for (guint i = 0; i < check->unknown->len; i++)
  {
    g_autofree char *fan = g_path_get_dirname (g_ptr_array_index (check->unknown, i));
    g_autofree char *name = g_path_get_basename (g_ptr_array_index (check->unknown, i));
    check_name (check, fan, name);
  }
  return TRUE;
}

gboolean
ws_archive_verify (WsArchive *archive, const char *seal, const WsVerifier *verifier,
                   WsVerification *verification, GError **error)
{
  g_autoptr (GHashTable) by_hash = g_hash_table_new (g_str_hash, g_str_equal);
  g_autoptr (GPtrArray) links = g_ptr_array_new_with_free_func (link_free);
  g_autoptr (GPtrArray) edited = g_ptr_array_new_with_free_func (edited_free);
  g_autoptr (GHashTable) known = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL);
  g_autoptr (GHashTable) used = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL);
  g_autoptr (GHashTable) announced = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL);
  g_autoptr (GPtrArray) unknown = g_ptr_array_new_with_free_func (g_free);
  Check check = { .archive = archive,
                  .verifier = verifier,
                  .result = verification,
                  .by_hash = by_hash,
                  .links = links,
                  .edited = edited,
                  .known = known,
                  .used = used,
                  .announced = announced,
                  .unknown = unknown };
  *verification = (WsVerification){ 0 };
  if (!ws_store_begin_reading (archive, error))
    return FALSE;
  const gboolean done = check_all (&check, seal, error);
  ws_store_end_reading (archive);
  return done && check_extras (&check, error);
}
