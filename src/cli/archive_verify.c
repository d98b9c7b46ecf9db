#include <stdio.h>

#include "cli/archive.h"

#include "cli/fail.h"
#include "cli/progress.h"
#include "cli/say.h"

#define BYTES_PER_MB 1e6

/* Of archive verify. */
enum
{
  EXIT_AS_WRITTEN = 0,
  EXIT_CHANGED = 1
};

static void
tell (const char *what, gpointer data)
{
  wsi_progress_clear (data);
  wsi_say ("%s\n", what);
}

static void
show (guint64 done, guint64 all, gpointer data)
{
  WsProgress *progress = data;
  progress->all = (double)all / BYTES_PER_MB;
  wsi_progress_show (progress, (double)done / BYTES_PER_MB);
}

static void
print_summary (const WsVerification *found)
{
  if (found->left_over > 0)
    wsi_say ("%" G_GUINT64_FORMAT " files left over from interrupted writes; harmless\n",
             found->left_over);
  wsi_say ("%" G_GUINT64_FORMAT " inspections, ", found->rows - found->notes);
  if (found->notes > 0)
    wsi_say ("%" G_GUINT64_FORMAT " notes on them, ", found->notes);
  wsi_say ("%" G_GUINT64_FORMAT " pictures, %.1f MB: ", found->files,
           (double)found->bytes / BYTES_PER_MB);
  if (found->wrong == 0)
    wsi_say ("all as written\n");
  else
    wsi_say ("%" G_GUINT64_FORMAT " things WRONG\n", found->wrong);
}

typedef struct
{
  char *seal;
} Options;

static int
verify (gpointer data, char **words)
{
  const Options *options = data;
  g_autoptr (WsArchive) archive = NULL;
  GError *error = NULL;
  WsProgress progress;
  WsVerification found;
  archive = wsi_archive_command_open (words, 0, "one folder", WS_ARCHIVE_READ, &error);
  if (archive == NULL)
    return wsi_fail (error);
  wsi_progress_start (&progress, "verified", "MB", 0.0);
  const WsVerifier verifier = { tell, show, &progress };
  const gboolean done = ws_archive_verify (archive, options->seal, &verifier, &found, &error);
  wsi_progress_clear (&progress);
  if (!done)
    return wsi_fail (error);
  print_summary (&found);
  return found.wrong == 0 ? EXIT_AS_WRITTEN : EXIT_CHANGED;
}

static const WsOption options[] = {
  { WS_OPTION_TEXT, "seal", 0, G_STRUCT_OFFSET (Options, seal), "LINE",
    "Hold the archive against this line of archive seal, too", NULL },
  WS_OPTIONS_END
};

const WsCommand wsi_archive_check = {
  .name = "verify",
  .summary = "recompute every hash and tell what was changed",
  .arguments = "DIR",
  .about =
    "Recomputes the hash of every row and picture and names what is missing, extra, altered, "
    "edited,\nremoved, inserted or swapped.",
  .exits = "Exit status: 0 all is as written, 1 something was changed; 64 wrong call, 65 the "
           "database is\ndamaged or no archive, 66 no archive there.",
  .groups = { { options, 0 } },
  .size = sizeof (Options),
  .run = verify,
};

static int
seal (gpointer data, char **words)
{
  GError *error = NULL;
  (void)data;
  g_autoptr (WsArchive) archive =
    wsi_archive_command_open (words, 0, "one folder", WS_ARCHIVE_READ, &error);
  if (archive == NULL)
    return wsi_fail (error);
  g_autofree char *line = ws_archive_seal (archive, &error);
  if (line == NULL)
    return wsi_fail (error);
  wsi_say ("%s\n", line);
  return WS_EXIT_ACCEPT;
}

const WsCommand wsi_archive_sealing = {
  .name = "seal",
  .summary = "print a line that later proves what the archive holds now",
  .arguments = "DIR",
  .about =
    "Prints date, number of inspections and the hash of the last, which depends on all before "
    "it, and\nstores the same. Keep the line elsewhere: archive verify --seal LINE then "
    "finds even a change by\nsomebody who computed all hashes anew.",
  .run = seal,
};
