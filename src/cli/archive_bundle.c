#include "base/language.h"
#include "cli/archive.h"
#include "cli/fail.h"
#include "cli/say.h"

#define BYTES_PER_MB 1e6

/* ---- bundle ---------------------------------------------------------------------------- */

typedef struct
{
  char *name, *key;
  int after;
} BundleOptions;

static int
bundle (gpointer data, char **words)
{
  const BundleOptions *options = data;
  const WsBundleOptions how = { options->name != NULL ? options->name : g_get_host_name (),
                                (guint64)MAX (options->after, 0), options->key };
  GError *error = NULL;
  WsBundle made = { 0 };
  g_autoptr (WsArchive) archive =
    wsi_archive_command_open (words, 1, _ ("a folder and a new folder"), WS_ARCHIVE_READ, &error);
  /* A seal is noted in the archive. */
  if (archive != NULL && how.key != NULL)
  {
    ws_archive_free (archive);
    archive = ws_archive_open (words[1], WS_ARCHIVE_WRITE, &error);
  }
  if (archive == NULL || !ws_archive_bundle (archive, words[2], &how, &made, &error))
    return wsi_fail (error);
  wsi_say ("%u rows, %u pictures, %.1f MB, from %s%s\n", (guint)made.rows, (guint)made.pictures,
           (double)made.bytes / BYTES_PER_MB, made.name, how.key != NULL ? _ (", signed") : "");
  g_free (made.name);
  return WS_EXIT_ACCEPT;
}

static const WsOptionCheck is_number = {
  .phrase = "expected a row's number", .least = 1.0, .most = G_MAXINT, .whole = TRUE
};

static const WsOption bundle_options[] = {
  { WS_OPTION_COUNT, "after", 0, G_STRUCT_OFFSET (BundleOptions, after), "N",
    "Rows behind number N; archive show tells an inspection's", &is_number },
  { WS_OPTION_TEXT, "name", 0, G_STRUCT_OFFSET (BundleOptions, name), "NAME",
    "What this archive is called where it is merged; by default the computer's name", NULL },
  { WS_OPTION_FILE, "key", 0, G_STRUCT_OFFSET (BundleOptions, key), "FILE",
    "Sign it with this key of archive key", NULL },
  WS_OPTIONS_END
};

const WsCommand wsi_archive_bundle = {
  .name = "bundle",
  .summary = "pack inspections with their pictures for another archive",
  .arguments = "DIR TO",
  .about = "Writes rows, pictures and the chain that they stand in to the new folder TO, which "
           "archive merge\ntakes in elsewhere. One that was stopped is none: make it again, into "
           "the same folder.",
  .groups = { { bundle_options, 0 } },
  .size = sizeof (BundleOptions),
  .run = bundle,
};

/* ---- merge ----------------------------------------------------------------------------- */

typedef struct
{
  char *key;
} MergeOptions;

static int
merge (gpointer data, char **words)
{
  const MergeOptions *options = data;
  GError *error = NULL;
  WsBundle taken = { 0 };
  g_autoptr (WsArchive) archive =
    wsi_archive_command_open (words, 1, _ ("a folder and a bundle"), WS_ARCHIVE_WRITE, &error);
  if (archive == NULL)
    return wsi_fail (error);
  const gboolean merged = ws_archive_merge (archive, words[2], options->key, &taken, &error);
  g_autofree char *name = taken.name;
  g_autofree char *signer = taken.signer;
  if (!merged)
    return wsi_fail (error);
  wsi_say ("from %s: %u rows merged, %u there already%s%s\n", name, (guint)taken.stored,
           (guint)taken.known, signer != NULL ? _ ("; signed by ") : _ ("; not signed"),
           signer != NULL ? (options->key != NULL ? _ ("this key") : signer) : "");
  return WS_EXIT_ACCEPT;
}

static const WsOption merge_options[] = {
  { WS_OPTION_FILE, "key", 0, G_STRUCT_OFFSET (MergeOptions, key), "FILE",
    "Take what this key signed alone; its public half does", NULL },
  WS_OPTIONS_END
};

const WsCommand wsi_archive_merge = {
  .name = "merge",
  .summary = "take in a bundle of another archive",
  .arguments = "DIR BUNDLE",
  .about = "Takes in what archive bundle wrote, all of it or nothing, with its pictures. Every "
           "hash of the chain\nthat it comes from is worked out anew. Inspections are marked as "
           "from there; what is here already\nis passed by.",
  .groups = { { merge_options, 0 } },
  .size = sizeof (MergeOptions),
  .run = merge,
};
