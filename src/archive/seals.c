#include <string.h>

#include <whetsight/error.h>
#include <whetsight/seal.h>

#include "archive/seal_key.h"
#include "archive/stamp.h"
#include "archive/statements.h"
#include "archive/store.h"

#define SEAL "whetsight-seal/1"
#define SIGNED_SEAL "whetsight-seal/2"
#define STAMP "stamp "

/* Lines of a signed seal behind its first. */
enum
{
  LINE_TIME,
  LINE_COUNT,
  LINE_LAST,
  LINE_SEALS,
  LINE_KEY,
  LINE_SIGNATURE,
  N_LINES
};

static const char *const names[N_LINES] = { "time ",  "rows ", "last ",
                                            "seals ", "key ",  "signature " };

/* ---- Making -------------------------------------------------------------------------------- */

static gboolean
insert_seal (WsArchive *archive, const char *time, WsHead *head, GError **error)
{
  if (!wsi_store_head_to_go_on (archive, head, error))
    return FALSE;
  WsQuery *stmt = wsi_statement (archive, WS_SQL_INSERT_SEAL);
  wsi_bind_count (stmt, 1, ++head->seals);
  wsi_bind_text (stmt, 2, time);
  wsi_bind_count (stmt, 3, head->count);
  wsi_bind_text (stmt, 4, head->hash);
  wsi_head_add_seal (head->seals_hash, time, head->count, head->hash);
  return wsi_statement_finish (archive, stmt, error) && wsi_store_set_head (archive, head, error);
}

/* Of all benches at once: the server sees to what it says. */
static gboolean
insert_seal_on_heads (WsArchive *archive, const char *time, WsHead *head, GError **error)
{
  WsQuery *stmt = wsi_statement (archive, WS_SQL_MAKE_SEAL);
  wsi_bind_text (stmt, 1, time);
  const gboolean made = wsi_step (stmt) == WS_QUERY_ROW;
  *head = (WsHead){ 0 };
  if (made)
  {
    head->seals = wsi_column_count (stmt, 0);
    head->count = wsi_column_count (stmt, 1);
    g_strlcpy (head->hash, wsi_column_text_or (stmt, 2, ""), sizeof head->hash);
  }
  else
    wsi_statement_refuse (archive, error);
  wsi_reset (stmt);
  return made;
}

static void
seal_free (gpointer data)
{
  WsSeal *seal = data;
  g_free (seal->time);
  g_free (seal->hash);
  g_free (seal->key);
  g_free (seal->text);
  g_free (seal->stamp);
  g_free (seal);
}

/* Stores a seal; NULL with `error` set when that failed. */
static WsSeal *
make (WsArchive *archive, GError **error)
{
  WsHead head;
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();
  g_autofree char *time = g_date_time_format (now, "%Y-%m-%dT%H:%M:%SZ");
  if (!wsi_transaction_begin_writing (archive, error))
    return NULL;
  const gboolean made = archive->engine->bench != NULL
                          ? insert_seal_on_heads (archive, time, &head, error)
                          : insert_seal (archive, time, &head, error);
  if (!made || !wsi_transaction_commit (archive, error))
  {
    wsi_transaction_roll_back (archive);
    return NULL;
  }
  WsSeal *seal = g_new0 (WsSeal, 1);
  seal->time = g_steal_pointer (&time);
  seal->count = head.count;
  seal->hash = g_strdup (head.hash);
  seal->seals = head.seals;
  return seal;
}

static const char *
last_of (const WsSeal *seal)
{
  return seal->count > 0 ? seal->hash : "-";
}

char *
ws_archive_seal (WsArchive *archive, GError **error)
{
  WsSeal *seal = make (archive, error);
  if (seal == NULL)
    return NULL;
  char *line =
    g_strdup_printf (SEAL " %s %" G_GUINT64_FORMAT " %s", seal->time, seal->count, last_of (seal));
  seal_free (seal);
  return line;
}

/* What is signed: all lines but the signature's. */
static char *
statement (const WsSeal *seal)
{
  return g_strdup_printf (SIGNED_SEAL "\ntime %s\nrows %" G_GUINT64_FORMAT
                                      "\nlast %s\nseals %" G_GUINT64_FORMAT "\nkey %s\n",
                          seal->time, seal->count, last_of (seal), seal->seals, seal->key);
}

/* Kept beside it where many benches are, so that each of them finds the newest that was signed. */
static gboolean
keep_text (WsArchive *archive, const WsSeal *seal, const char *text, GError **error)
{
  if (archive->engine->bench == NULL)
    return TRUE;
  WsQuery *stmt = wsi_statement (archive, WS_SQL_INSERT_SEAL_TEXT);
  wsi_bind_count (stmt, 1, seal->seals);
  wsi_bind_text (stmt, 2, text);
  return wsi_statement_finish (archive, stmt, error);
}

char *
ws_archive_seal_signed (WsArchive *archive, const char *key_path, GError **error)
{
  char signature[WS_SIGNATURE_HEX_SIZE];
  g_autoptr (WsSealKey) key = wsi_seal_key_load (key_path, error);
  WsSeal *seal = key != NULL ? make (archive, error) : NULL;
  if (seal == NULL)
    return NULL;
  seal->key = g_strdup (wsi_seal_key_public (key));
  g_autofree char *text = statement (seal);
  wsi_seal_key_sign (key, text, signature);
  char *whole = g_strconcat (text, names[LINE_SIGNATURE], signature, "\n", NULL);
  if (!keep_text (archive, seal, whole, error))
    g_clear_pointer (&whole, g_free);
  seal_free (seal);
  return whole;
}

gboolean
ws_archive_seal_is_due (WsArchive *archive, guint64 n, gboolean *due, GError **error)
{
  guint64 count;
  char hash[WS_SHA256_HEX_SIZE];
  WsQuery *stmt = wsi_statement (archive, WS_SQL_SEALED_ROWS);
  const gboolean read = wsi_step (stmt) == WS_QUERY_ROW;
  const guint64 sealed = read ? wsi_column_count (stmt, 0) : 0;
  if (!read)
    wsi_statement_refuse (archive, error);
  wsi_reset (stmt);
  if (!read || !ws_archive_head (archive, &count, hash, error))
    return FALSE;
  *due = count > sealed && (count - sealed >= n || sealed == 0);
  return TRUE;
}

char *
ws_seal_stamp (const char *seal, const char *url, GError **error)
{
  g_autofree char *text =
    g_str_has_suffix (seal, "\n") ? g_strdup (seal) : g_strconcat (seal, "\n", NULL);
  g_autofree char *stamp = wsi_stamp_fetch (url, text, error);
  return stamp != NULL ? g_strconcat (text, STAMP, stamp, "\n", NULL) : NULL;
}

char *
ws_seal_stamp_time (const WsSeal *seal, const char *authority, GError **error)
{
  g_autofree char *time =
    seal->stamp != NULL ? wsi_stamp_check (seal->stamp, seal->text, authority, error) : NULL;
  if (seal->stamp == NULL)
    g_set_error (error, WS_ERROR, WS_ERROR_DATA, "it has no time stamp");
  if (time == NULL)
    g_prefix_error (error, "seal of %s: ", seal->time);
  return g_steal_pointer (&time);
}

/* ---- Reading ------------------------------------------------------------------------------- */

static gboolean
is_time (const char *text)
{
  g_autoptr (GDateTime) time = g_date_time_new_from_iso8601 (text, NULL);
  return time != NULL;
}

static gboolean
take_count (const char *text, guint64 *count)
{
  return g_ascii_string_to_unsigned (text, 10, 0, G_MAXINT64, count, NULL);
}

/* NULL when it is none. */
static WsSeal *
fill (const char *time, const char *count, const char *last)
{
  WsSeal *seal = g_new0 (WsSeal, 1);
  if (is_time (time) && take_count (count, &seal->count) &&
      (seal->count == 0 ? g_str_equal (last, "-") : wsi_sha256_is_hex (last)))
  {
    seal->time = g_strdup (time);
    seal->hash = g_strdup (seal->count > 0 ? last : "");
    return seal;
  }
  g_free (seal);
  return NULL;
}

static gboolean
refuse (guint line, const char *what, GError **error)
{
  g_set_error (error, WS_ERROR, WS_ERROR_DATA, "seal, line %u: %s", line, what);
  return FALSE;
}

/* "whetsight-seal/1 TIME COUNT HASH" */
static gboolean
read_line (const char *line, guint number, GPtrArray *seals, GError **error)
{
  g_auto (GStrv) parts = g_strsplit (line, " ", 4);
  WsSeal *seal = g_strv_length (parts) == 4 && g_str_equal (parts[0], SEAL)
                   ? fill (parts[1], parts[2], parts[3])
                   : NULL;
  if (seal == NULL)
    return refuse (number, "no seal; give all that archive seal printed", error);
  seal->text = g_strconcat (line, "\n", NULL);
  g_ptr_array_add (seals, seal);
  return TRUE;
}

/* What stands in the lines, each by its name; FALSE when one is missing. */
static gboolean
split_members (char **lines, const char *members[N_LINES])
{
  for (int i = 0; i < N_LINES; i++)
  {
    if (lines[i] == NULL || !g_str_has_prefix (lines[i], names[i]))
      return FALSE;
    members[i] = lines[i] + strlen (names[i]);
  }
  return TRUE;
}

/* The text is put together anew, so that it holds however the lines were sent. */
static gboolean
read_signed (char **lines, guint number, GPtrArray *seals, GError **error)
{
  const char *members[N_LINES];
  guint64 n_seals;
  WsSeal *seal = split_members (lines, members)
                   ? fill (members[LINE_TIME], members[LINE_COUNT], members[LINE_LAST])
                   : NULL;
  if (seal == NULL)
    return refuse (number, "this seal isn't whole", error);
  g_ptr_array_add (seals, seal);
  seal->key = g_strdup (members[LINE_KEY]);
  if (!take_count (members[LINE_SEALS], &n_seals) || n_seals == 0)
    return refuse (number, "this seal isn't whole", error);
  seal->seals = n_seals;
  g_autofree char *text = statement (seal);
  seal->text = g_strconcat (text, names[LINE_SIGNATURE], members[LINE_SIGNATURE], "\n", NULL);
  return wsi_signature_holds (text, seal->key, members[LINE_SIGNATURE]) ||
         refuse (number, "the signature isn't of this seal: it was changed, and proves nothing",
                 error);
}

/* Of the seal before it. */
static gboolean
read_stamp (const char *line, guint number, GPtrArray *seals, GError **error)
{
  WsSeal *seal = seals->len > 0 ? g_ptr_array_index (seals, seals->len - 1) : NULL;
  if (seal == NULL || seal->stamp != NULL)
    return refuse (number, "a time stamp without its seal", error);
  seal->stamp = g_strdup (line + strlen (STAMP));
  return TRUE;
}

GPtrArray *
ws_seals_read (const char *text, GError **error)
{
  g_autoptr (GPtrArray) seals = g_ptr_array_new_with_free_func (seal_free);
  g_auto (GStrv) lines = g_strsplit (text, "\n", -1);
  const guint n = g_strv_length (lines);
  for (guint i = 0; i < n; i++)
    g_strchomp (lines[i]);
  for (guint i = 0; i < n; i++)
  {
    const gboolean is_signed = g_str_equal (lines[i], SIGNED_SEAL);
    if (*lines[i] == '\0')
      continue;
    if (g_str_has_prefix (lines[i], STAMP))
    {
      if (!read_stamp (lines[i], i + 1, seals, error))
        return NULL;
      continue;
    }
    if (!(is_signed ? read_signed (lines + i + 1, i + 1, seals, error)
                    : read_line (lines[i], i + 1, seals, error)))
      return NULL;
    i += is_signed ? N_LINES : 0;
  }
  if (seals->len > 0)
    return g_steal_pointer (&seals);
  g_set_error (error, WS_ERROR, WS_ERROR_DATA, "no seal there");
  return NULL;
}
