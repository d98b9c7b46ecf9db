/*
 * Is the archive as it was written?  Rows by their hashes and the chain, what rows say twice by
 * the record, pictures by theirs, and nothing that doesn't belong.
 */
#include "archive/account.h"
#include "archive/check.h"
#include "archive/statements.h"

static void
link_free (gpointer data)
{
  WsLink *link = data;
  g_free (link->id);
  g_free (link->previous);
  g_free (link->hash);
  g_free (link);
}

static void
chain_free (gpointer data)
{
  WsChain *chain = data;
  g_hash_table_unref (chain->by_hash);
  g_ptr_array_unref (chain->links);
  g_free (chain->bench);
  g_free (chain);
}

WsChain *
wsi_check_chain_of (WsCheck *check, const char *bench)
{
  const char *name = bench != NULL ? bench : "";
  WsChain *chain = g_hash_table_lookup (check->chains, name);
  if (chain != NULL)
    return chain;
  chain = g_new0 (WsChain, 1);
  chain->bench = g_strdup (bench);
  chain->by_hash = g_hash_table_new (g_str_hash, g_str_equal);
  chain->links = g_ptr_array_new_with_free_func (link_free);
  g_hash_table_insert (check->chains, bench != NULL ? chain->bench : "", chain);
  return chain;
}

static void
edited_free (gpointer data)
{
  WsEdited *edited = data;
  ws_inspection_free (edited->row);
  g_free (edited);
}

static gboolean
tell_page (const char *line, gint64 unused, gpointer data)
{
  (void)unused;
  if (!g_str_equal (line, "ok"))
    wsi_check_tell (data, "database: %s", line);
  return TRUE;
}

static void
tell_object (const char *what, gpointer data)
{
  wsi_check_tell (data, "database: %s", what);
}

static void
tell_account (const char *what, gpointer data)
{
  wsi_check_tell (data, "%s", what);
}

static gboolean
check_all_rows (WsCheck *check, const char *seal, GError **error)
{
  guint64 strays;
  if (!wsi_store_check_pages (check->archive, tell_page, check, error) ||
      !wsi_store_check_tables (check->archive, tell_object, check, error) ||
      !wsi_check_rows (check, error) || !wsi_store_strays (check->archive, &strays, error) ||
      !wsi_check_chains (check, error) ||
      !wsi_accounts_check (check->archive, tell_account, check, error))
    return FALSE;
  if (strays > 0)
    wsi_check_tell (
      check, "%" G_GUINT64_FORMAT " records or sets of quantities belong to rows that were removed",
      strays);
  return wsi_check_seals (check, seal, error);
}

static gboolean
check_all (WsCheck *check, const char *seal, GError **error)
{
  guint64 database;
  if (!wsi_store_bytes (check->archive, &database, error))
    return FALSE;
  check->all_bytes += database;
  WsPictureCheck *pictures = wsi_picture_check_start (check, error);
  if (pictures == NULL)
    return FALSE;
  const gboolean done = check_all_rows (check, seal, error);
  wsi_picture_check_finish (pictures, done);
  check->result->bytes = check->done_bytes;
  return done;
}

static void
check_init (WsCheck *check, WsArchive *archive, const WsVerifier *verifier,
            WsVerification *verification)
{
  *check = (WsCheck){
    .archive = archive,
    .verifier = verifier,
    .result = verification,
    .chains = g_hash_table_new_full (g_str_hash, g_str_equal, NULL, chain_free),
    .edited = g_ptr_array_new_with_free_func (edited_free),
    .known = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL),
    .used = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL),
    .uses = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL),
    .removals = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL),
    .announced = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL),
    .unknown = g_ptr_array_new_with_free_func (g_free),
  };
  *verification = (WsVerification){ 0 };
}

static void
check_clear (WsCheck *check)
{
  GHashTable *const tables[] = { check->chains, check->known,    check->used,
                                 check->uses,   check->removals, check->announced };
  GPtrArray *const arrays[] = { check->edited, check->unknown };
  for (gsize i = 0; i < G_N_ELEMENTS (tables); i++)
    g_hash_table_unref (tables[i]);
  for (gsize i = 0; i < G_N_ELEMENTS (arrays); i++)
    g_ptr_array_unref (arrays[i]);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (WsCheck, check_clear)

static gboolean
verify (WsCheck *check, const char *seal, GError **error)
{
  if (!wsi_store_begin_reading (check->archive, error))
    return FALSE;
  const gboolean done = check_all (check, seal, error);
  wsi_store_end_reading (check->archive);
  return done && wsi_archive_expect_still (check->archive, error) &&
         wsi_check_extras (check, error);
}

gboolean
ws_archive_verify (WsArchive *archive, const char *seal, const WsVerifier *verifier,
                   WsVerification *verification, GError **error)
{
  g_auto (WsCheck) check;
  check_init (&check, archive, verifier, verification);
  return verify (&check, seal, error);
}

gboolean
wsi_verify_but_pictures (WsArchive *archive, const WsVerifier *verifier,
                         WsVerification *verification, GError **error)
{
  g_auto (WsCheck) check;
  check_init (&check, archive, verifier, verification);
  check.pictures_were_read = TRUE;
  return verify (&check, NULL, error);
}

gboolean
wsi_verify_rows (WsArchive *archive, const WsVerifier *verifier, WsVerification *verification,
                 GError **error)
{
  g_auto (WsCheck) check;
  const WsVerifier without_progress = { verifier->tell, NULL, verifier->data };
  check_init (&check, archive, &without_progress, verification);
  return check_all_rows (&check, NULL, error);
}
