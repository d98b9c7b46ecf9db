/*
 * serve: the bench page.
 */
#include <math.h>
#include <signal.h>
#include <string.h>
#include <time.h>

#include <glib/gstdio.h>
#include <whetsight/whetsight.h>

#include "bench/listen.h"
#include "cli/fail.h"
#include "cli/say.h"
#include "cli/task.h"
#include "cli/verbs.h"

#define USUAL_PORT 8417
#define MODE_PRIVATE 0700

typedef struct
{
  char *archive, *cards;
  int port, jobs;
  gboolean worker;
} Options;

/* ---- Measuring for the page -------------------------------------------------------------------
 */

static gboolean
prepare (const WsCrewTask *asked, WsJob *job, char **settings, gpointer *data, GError **error)
{
  const WsTaskSpec said = {
    .tool = (char *)asked->card,
    .view = (char *)asked->view,
    .calib = (char *)asked->calibration,
    .scale = asked->scale,
    .scale_u = asked->scale_u,
    .known_diameter = NAN,
    .known_diameter_u = NAN,
    .known_width = NAN,
    .known_width_u = NAN,
    .lens_distortion = NAN,
    .lean_max = NAN,
    .fixture = NAN,
    .fixture_u = NAN,
  };
  WsTask *task = wsi_task_new (&said, error);
  if (task == NULL)
    return FALSE;
  const WsImageLimits limits = WS_IMAGE_LIMITS_DEFAULT;
  task->job.limits = limits;
  task->job.wants = WS_JOB_PICTURE;
  task->job.measured_by = asked->measured_by;
  task->job.confined = TRUE;
  *settings = ws_job_settings (&task->job, task->card_path);
  *job = task->job;
  *data = task;
  return TRUE;
}

static void
done (gpointer data)
{
  wsi_task_free (data);
}

static int
work (void)
{
  const WsCrewTools tools = { prepare, done };
  return wsi_crew_work (&tools);
}

/* ---- Serving ----------------------------------------------------------------------------------
 */

static void
remove_folder (const char *path)
{
  GDir *dir = g_dir_open (path, 0, NULL);
  for (const char *name; dir != NULL && (name = g_dir_read_name (dir)) != NULL;)
  {
    g_autofree char *inner = g_build_filename (path, name, NULL);
    if (g_file_test (inner, G_FILE_TEST_IS_DIR) && !g_file_test (inner, G_FILE_TEST_IS_SYMLINK))
      remove_folder (inner);
    else
      g_unlink (inner);
  }
  if (dir != NULL)
    g_dir_close (dir);
  g_rmdir (path);
}

/* Threads that are made later don't get these: they come to wait_for_end(). */
static void
keep_signals (sigset_t *ends)
{
  sigemptyset (ends);
  sigaddset (ends, SIGINT);
  sigaddset (ends, SIGTERM);
  pthread_sigmask (SIG_BLOCK, ends, NULL);
  signal (SIGPIPE, SIG_IGN);
}

static void
wait_for_end (WsListener *listener, const sigset_t *ends)
{
  const struct timespec second = { .tv_sec = 1 };
  while (sigtimedwait (ends, NULL, &second) < 0)
    wsi_listener_cut_slow (listener);
}

static int
listen_until_told (const WsServeSettings *settings)
{
  GError *error = NULL;
  sigset_t ends;
  const WsListenTls tls = { 0 };
  keep_signals (&ends);
  g_autoptr (WsServe) serve = wsi_serve_new (settings, &error);
  g_autoptr (WsListener) listener = serve != NULL ? wsi_listener_new (serve, &tls, &error) : NULL;
  if (listener == NULL)
    return wsi_fail (error);
  wsi_say ("Open http://127.0.0.1:%u/ in a browser on this computer; Ctrl-C ends.\n",
           wsi_listener_port (listener));
  fflush (stdout);
  wait_for_end (listener, &ends);
  g_clear_pointer (&listener, wsi_listener_free);
  return WS_EXIT_ACCEPT;
}

static gboolean
make_folder (const char *path, GError **error)
{
  if (g_mkdir_with_parents (path, MODE_PRIVATE) == 0)
    return TRUE;
  return wsi_refuse (error, WS_ERROR_CANT_WRITE, "%s: can't make the folder", path);
}

static int
run_page (const Options *options)
{
  GError *error = NULL;
  g_autofree char *self = g_file_read_link ("/proc/self/exe", NULL);
  g_autofree char *spool = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  char *const worker[] = { self, (char *)"serve", (char *)"--worker", NULL };
  const WsServeSettings settings = {
    .archive = options->archive,
    .cards = options->cards,
    .spool = spool,
    .worker = worker,
    .n_workers = options->jobs > 0 ? (guint)options->jobs : g_get_num_processors (),
    .port = options->port > 0 ? (guint)options->port : USUAL_PORT,
    .login = g_get_user_name (),
  };
  if (self == NULL || spool == NULL)
    wsi_refuse (&error, WS_ERROR_CANT_WRITE, "serve: no folder for what comes in, or no /proc");
  if (error != NULL || !make_folder (options->archive, &error) ||
      !make_folder (options->cards, &error))
    return wsi_fail (error);
  const int status = listen_until_told (&settings);
  remove_folder (spool);
  return status;
}

static int
serve (gpointer data, char **words)
{
  const Options *options = data;
  GError *error = NULL;
  (void)words;
  if (options->worker)
    return work ();
  if (options->archive == NULL || options->cards == NULL)
  {
    wsi_refuse_usage (&error, "name the archive with --archive and the folder of tool cards with "
                              "--cards; see whetsight serve --help");
    return wsi_fail (error);
  }
  return run_page (options);
}

static const WsOptionCheck is_port = {
  .phrase = "expected a port, 1 to 65535", .least = 1, .most = 65535, .whole = TRUE
};

static const WsOption options[] = {
  { WS_OPTION_FILE, "archive", 'a', G_STRUCT_OFFSET (Options, archive), "DIR",
    "The archive; made when it isn't there", NULL },
  { WS_OPTION_FILE, "cards", 0, G_STRUCT_OFFSET (Options, cards), "DIR",
    "Folder of tool cards, and of setup.conf, which says by what scale each view is measured",
    NULL },
  { WS_OPTION_COUNT, "port", 'p', G_STRUCT_OFFSET (Options, port), "N", "Port, 8417 by default",
    &is_port },
  { WS_OPTION_COUNT, "jobs", 'j', G_STRUCT_OFFSET (Options, jobs), "N",
    "Measure so many pictures at once, as many as there are processors by default", NULL },
  { WS_OPTION_FLAG, "worker", 0, G_STRUCT_OFFSET (Options, worker), NULL,
    "Measure what standard input names; the page starts the program so for itself", NULL },
  WS_OPTIONS_END
};

const WsCommand wsi_verb_serve = {
  .name = "serve",
  .summary = "serve the bench page: photograph and verdict in a browser",
  .about = "Serves a page for the browser on this computer: choose the tool, send its picture, see "
           "the verdict\nand what to do. Pictures are measured and archived as whetsight measure "
           "--archive does.",
  .groups = { { options, 0 } },
  .size = sizeof (Options),
  .run = serve,
};
