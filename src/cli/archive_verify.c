#include <stdio.h>
#include <string.h>

#include "base/file.h"

#include "base/language.h"
#include "base/told_text.h"
#include "cli/archive.h"
#include "cli/fail.h"
#include "cli/progress.h"
#include "cli/say.h"

#define BYTES_PER_MB 1e6
#define SEAL_START "whetsight-seal/"
#define MAX_SEAL_BYTES 16777216 /* a few ten thousand seals */

/* Of archive verify. */
enum
{
  EXIT_AS_WRITTEN = 0,
  EXIT_CHANGED = 1
};

void
wsi_archive_tell (const char *what, gpointer data)
{
  wsi_progress_clear (data);
  const char *row = g_str_has_prefix (what, "row ") ? what + strlen ("row ") : NULL;
  const char *rest = row != NULL ? strstr (row, "): ") : NULL;
  g_autofree char *told = wsi_told_text (rest != NULL ? rest + strlen ("): ") : what);
  if (rest != NULL)
    wsi_say ("row %.*s): %s\n", (int)(rest - row), row, told);
  else
    wsi_say ("%s\n", told);
}

void
wsi_archive_show_bytes (guint64 done, guint64 all, gpointer data)
{
  WsProgress *progress = data;
  progress->all = (double)all / BYTES_PER_MB;
  wsi_progress_show (progress, (double)done / BYTES_PER_MB);
}

static void
print_summary (const WsVerification *found)
{
  if (found->removed > 0)
    wsi_say ("%u pictures removed by a rule, as notes say; their hashes stay\n",
             (guint)found->removed);
  if (found->left_over > 0)
    wsi_say ("%u files left over from interrupted writes; harmless\n", (guint)found->left_over);
  wsi_say ("%u inspections, ", (guint)(found->rows - found->notes - found->events));
  if (found->notes > 0)
    wsi_say ("%u notes on them, ", (guint)found->notes);
  if (found->events > 0)
    wsi_say ("%u entries on accounts, cards and regrinds, ", (guint)found->events);
  wsi_say ("%u pictures, %.1f MB: ", (guint)found->files, (double)found->bytes / BYTES_PER_MB);
  if (found->wrong == 0)
    wsi_say ("all as written\n");
  else
    wsi_say ("%u things WRONG\n", (guint)found->wrong);
}

typedef struct
{
  char *seal;
  char *key;
  char *authority;
} Options;

/* ---- Seals that were kept elsewhere --------------------------------------------------- */

/* The line itself, or what the file of that name holds. */
static gboolean
read_seal (const Options *options, char **text, GPtrArray **seals, GError **error)
{
  if (options->seal == NULL)
    return TRUE;
  *text = g_str_has_prefix (options->seal, SEAL_START)
            ? g_strdup (options->seal)
            : wsi_file_read_text (options->seal, "seal", MAX_SEAL_BYTES, error);
  *seals = *text != NULL ? ws_seals_read (*text, error) : NULL;
  return *seals != NULL;
}

/* Anybody can make a key and sign with it: whose it is has to come from elsewhere. */
static gboolean
check_signer (const Options *options, const GPtrArray *seals, GError **error)
{
  if (options->key == NULL)
    return TRUE;
  if (seals == NULL)
    return wsi_refuse_usage (error, "--key makes sense with --seal only");
  g_autofree char *key = ws_seal_key_public (options->key, error);
  for (guint i = 0; key != NULL && i < seals->len; i++)
  {
    const WsSeal *seal = g_ptr_array_index (seals, i);
    if (g_strcmp0 (seal->key, key) != 0)
      return wsi_refuse (error, WS_ERROR_DATA, "seal of %s: %s", seal->time,
                         seal->key != NULL ? _ ("signed by another key") : _ ("not signed"));
  }
  return key != NULL;
}

static gboolean
check_stamps (const Options *options, const GPtrArray *seals, GError **error)
{
  if (options->authority != NULL && seals == NULL)
    return wsi_refuse_usage (error, "--stamp-ca makes sense with --seal only");
  for (guint i = 0; seals != NULL && i < seals->len; i++)
  {
    const WsSeal *seal = g_ptr_array_index (seals, i);
    if (seal->stamp == NULL && options->authority == NULL)
      continue;
    g_autofree char *time = ws_seal_stamp_time (seal, options->authority, error);
    if (time == NULL)
      return FALSE;
  }
  return TRUE;
}

static void
print_stamp (const Options *options, const WsSeal *seal)
{
  g_autofree char *time = ws_seal_stamp_time (seal, options->authority, NULL);
  if (time != NULL && options->authority != NULL)
    wsi_say ("stamped at %s by a service that these certificates vouch for\n", time);
  else if (time != NULL)
    wsi_say ("stamped at %s by a service that nobody vouches for; --stamp-ca FILE does\n", time);
}

static void
print_seals (const Options *options, const GPtrArray *seals)
{
  const WsSeal *newest = g_ptr_array_index (seals, 0);
  for (guint i = 1; i < seals->len; i++)
  {
    const WsSeal *seal = g_ptr_array_index (seals, i);
    if (seal->count >= newest->count)
      newest = seal;
  }
  wsi_say ("the first %u rows are those sealed at %s", (guint)newest->count, newest->time);
  if (newest->key == NULL)
    wsi_say (", without a signature\n");
  else if (options->key != NULL)
    wsi_say (", signed by this key\n");
  else
    wsi_say (", signed by key\n%s;\nis it yours? --key FILE compares it\n", newest->key);
  if (newest->stamp != NULL)
    print_stamp (options, newest);
}

/* ---- The command ------------------------------------------------------------------------ */

static int
verify (gpointer data, char **words)
{
  const Options *options = data;
  g_autoptr (WsArchive) archive = NULL;
  g_autofree char *seal = NULL;
  g_autoptr (GPtrArray) seals = NULL;
  GError *error = NULL;
  WsProgress progress;
  WsVerification found;
  if (!read_seal (options, &seal, &seals, &error) || !check_signer (options, seals, &error) ||
      !check_stamps (options, seals, &error) ||
      (archive = wsi_archive_command_open (words, 0, _ ("one folder"), WS_ARCHIVE_READ, &error)) ==
        NULL)
    return wsi_fail (error);
  wsi_progress_start (&progress, _ ("verified"), "MB", 0.0);
  const WsVerifier verifier = { wsi_archive_tell, wsi_archive_show_bytes, &progress };
  const gboolean done = ws_archive_verify (archive, seal, &verifier, &found, &error);
  wsi_progress_clear (&progress);
  if (!done)
    return wsi_fail (error);
  print_summary (&found);
  if (seals != NULL && found.wrong == 0)
    print_seals (options, seals);
  return found.wrong == 0 ? EXIT_AS_WRITTEN : EXIT_CHANGED;
}

static const WsOption options[] = {
  { WS_OPTION_FILE, "seal", 0, G_STRUCT_OFFSET (Options, seal), "FILE",
    "Hold the archive against what archive seal wrote, too; or the line it printed", NULL },
  { WS_OPTION_FILE, "key", 0, G_STRUCT_OFFSET (Options, key), "FILE",
    "and take seals by this key alone; its public half does", NULL },
  { WS_OPTION_FILE, "stamp-ca", 0, G_STRUCT_OFFSET (Options, authority), "FILE",
    "and seals alone that a service stamped whose certificate follows from these (PEM)", NULL },
  WS_OPTIONS_END
};

const WsCommand wsi_archive_check = {
  .name = "verify",
  .summary = "recompute every hash and tell what was changed",
  .arguments = "DIR",
  .about =
    "Recomputes the hash of every row and picture and names what is missing, extra, altered, "
    "edited,\nremoved, inserted or swapped. With a seal that was kept elsewhere it also finds rows "
    "cut off, a past\nthat was rewritten with all its hashes, and a folder put back to an older "
    "state.",
  .exits = "Exit status: 0 all is as written, 1 something was changed; 64 wrong call, 65 the "
           "database is\ndamaged or no archive, 66 no archive there.",
  .groups = { { options, 0 } },
  .size = sizeof (Options),
  .run = verify,
};
