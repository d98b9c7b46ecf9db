/*
 * Verb `feed`: what is new in the archive goes to other programs.
 */
#include <stdio.h>

#include <whetsight/whetsight.h>

#include "archive/feed.h"
#include "base/language.h"
#include "cli/say.h"
#include "cli/verbs.h"

enum
{
  EXIT_ALL_SENT = 0,
  EXIT_SOME_WAIT = 1
};

typedef struct
{
  int every;
  char **files;
} Options;

/* What is said once for as long as it stays so. */
typedef struct
{
  char *agent, *drop, *error;
} Said;

static void
say_change (char **said, const char *now, const char *again)
{
  if (g_strcmp0 (*said, now) == 0)
    return;
  if (now != NULL)
    wsi_say_aside (_ ("%s; it is kept and tried again\n"), now);
  else
    wsi_say_aside ("%s\n", again);
  g_free (*said);
  *said = g_strdup (now);
}

static int
tell (const WsFed *fed, Said *said)
{
  say_change (&said->agent, fed->agent, _ ("the agent takes assets again"));
  say_change (&said->drop, fed->drop, _ ("the folder takes files again"));
  if (fed->n_assets > 0 || fed->n_files > 0)
    wsi_say (_ ("%u assets and %u files sent, %u assets wait\n"), fed->n_assets, fed->n_files,
             fed->n_waiting);
  if (fed->n_wrong > 0)
  {
    wsi_say_aside (_ ("%u inspections left out, not as they were written; whetsight archive verify "
                      "tells more\n"),
                   fed->n_wrong);
    return WS_ERROR_DATA;
  }
  return fed->n_waiting > 0 || fed->agent != NULL || fed->drop != NULL ? EXIT_SOME_WAIT
                                                                       : EXIT_ALL_SENT;
}

/* Returns its status. */
static int
fail (GError *error, Said *said)
{
  if (g_strcmp0 (said->error, error->message) != 0)
  {
    g_free (said->error);
    said->error = g_strdup (error->message);
    return wsi_fail (error);
  }
  const int status = error->code;
  g_error_free (error);
  return status;
}

static int
run_once (const char *path, Said *said)
{
  GError *error = NULL;
  g_auto (WsFed) fed = { 0 };
  g_autoptr (WsFeed) feed = wsi_feed_load (path, &error);
  if (feed == NULL || !wsi_feed_run (feed, ws_view_lookup, &fed, &error))
    return fail (error, said);
  g_clear_pointer (&said->error, g_free);
  const int status = tell (&fed, said);
  fflush (stdout);
  return status;
}

/* Every other error may go away by itself: a share that comes back, a disk with room again. */
static gboolean
is_final (int status)
{
  return status == WS_ERROR_USAGE || status == WS_ERROR_INTERNAL;
}

static int
feed (gpointer data, char **words)
{
  const Options *options = data;
  Said said = { NULL, NULL, NULL };
  GError *error = NULL;
  (void)words;
  if (options->files == NULL || g_strv_length (options->files) != 1)
  {
    wsi_refuse_usage (&error, "name one feed's file; see whetsight feed --help");
    return wsi_fail (error);
  }
  int status = run_once (options->files[0], &said);
  while (options->every > 0 && !is_final (status))
  {
    g_usleep ((gulong)options->every * G_USEC_PER_SEC);
    status = run_once (options->files[0], &said);
  }
  g_free (said.agent);
  g_free (said.drop);
  g_free (said.error);
  return status;
}

static const WsOptionCheck is_seconds = {
  .phrase = "expected seconds, 1 to 86400", .least = 1.0, .most = 86400.0, .whole = TRUE
};

static const WsOption options[] = {
  { WS_OPTION_COUNT, "every", 'e', G_STRUCT_OFFSET (Options, every), "SECONDS",
    "Go on, and look again so often", &is_seconds },
  { WS_OPTION_FILES, NULL, 0, G_STRUCT_OFFSET (Options, files), "FILE", NULL, NULL },
  WS_OPTIONS_END
};

const WsCommand wsi_verb_feed = {
  .name = "feed",
  .summary = "send what is new in the archive to other programs",
  .about =
    "Sends what is new in the archive: each tool that changed to an MTConnect agent, each "
    "inspection as\nfiles into a folder, as the feed's FILE says. What can't be sent is kept "
    "and tried again.",
  .notes = "FILE:\n  [feed]\n  archive = shop\n  since = 2026-11-29\n  [agent]\n  url = "
           "http://agent.local:5000\n  device "
           "= Grinder-2\n  [drop]\n  folder = /srv/erp/in\n  forms = csv, qif",
  .exits = "Exit status: 0 all was taken, 1 something waits; 64 wrong call, 65 FILE is none or "
           "something isn't as it\nwas written, 66 no archive, 73 can't write.",
  .groups = { { options, 0 } },
  .size = sizeof (Options),
  .run = feed,
};
