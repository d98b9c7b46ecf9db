#include "base/language.h"
#include "cli/archive.h"
#include "cli/fail.h"
#include "cli/progress.h"
#include "cli/say.h"

#define BYTES_PER_MB 1e6

typedef struct
{
  char *keep, *name;
  gboolean dry;
} Options;

static gboolean
check_options (const Options *options, GError **error)
{
  if (options->keep != NULL && options->name == NULL)
    return wsi_refuse_usage (error, "archive clear --keep: say who, with --as NAME");
  return options->keep != NULL || options->name == NULL ||
         wsi_refuse_usage (error, "--as makes sense with --keep only");
}

static void
print_summary (const Options *options, const WsCleared *cleared)
{
  const char *would = options->dry ? _ ("would be ") : "";
  if (options->keep != NULL)
    wsi_say ("%u pictures of %u inspections, %.1f MB: %sremoved\n", (guint)cleared->pictures,
             (guint)cleared->inspections, (double)cleared->bytes / BYTES_PER_MB, would);
  wsi_say ("%u left-over files: %sremoved\n", (guint)cleared->left_over, would);
}

/* A mistyped folder isn't made. */
static WsArchive *
open_to_clear (char **words, GError **error)
{
  g_autoptr (WsArchive) there =
    wsi_archive_command_open (words, 0, _ ("one folder"), WS_ARCHIVE_READ, error);
  return there != NULL ? ws_archive_open (words[1], WS_ARCHIVE_WRITE, error) : NULL;
}

static int
clear (gpointer data, char **words)
{
  const Options *options = data;
  const WsClearRule rule = { options->keep, options->name, g_get_user_name () };
  GError *error = NULL;
  WsProgress progress;
  WsCleared cleared;
  g_autoptr (WsArchive) archive = NULL;
  if (!check_options (options, &error) || (archive = open_to_clear (words, &error)) == NULL)
    return wsi_fail (error);
  wsi_progress_start (&progress, "", "", 0.0);
  const WsVerifier verifier = { wsi_archive_tell, NULL, &progress };
  if (!ws_archive_clear (archive, options->keep != NULL ? &rule : NULL, options->dry, &verifier,
                         &cleared, &error))
    return wsi_fail (error);
  print_summary (options, &cleared);
  return cleared.wrong == 0 ? 0 : 1;
}

static const WsOption options[] = {
  { WS_OPTION_TEXT, "keep", 0, G_STRUCT_OFFSET (Options, keep), "TIME",
    "Remove pictures of inspections older than that: 10y, 18m, 6w, 90d", NULL },
  { WS_OPTION_TEXT, "as", 0, G_STRUCT_OFFSET (Options, name), "NAME", "Who says so", NULL },
  { WS_OPTION_FLAG, "dry-run", 0, G_STRUCT_OFFSET (Options, dry), NULL,
    "Say what would go, and let it stay", NULL },
  WS_OPTIONS_END
};

const WsCommand wsi_archive_clear = {
  .name = "clear",
  .summary = "remove pictures by age, and left-over files",
  .arguments = "DIR",
  .about =
    "Removes files that interrupted writes left over, and with --keep the pictures of older "
    "inspections.\nRecords stay, with the pictures' SHA-256, and a note in the chain says who "
    "removed them by which\nrule. Age counts up to the newest inspection.",
  .exits = "Exit status: 0 done; 1 done, but some pictures stay, since they aren't as they were "
           "stored, and were\nnamed; 64 wrong call, 65 no archive, 66 none there, 73 can't write.",
  .groups = { { options, 0 } },
  .size = sizeof (Options),
  .run = clear,
};
