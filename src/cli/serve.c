/*
 * serve: the bench page.
 */
#include <math.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <termios.h>
#include <time.h>
#include <unistd.h>

#include <glib/gstdio.h>
#include <whetsight/whetsight.h>

#include "archive/account.h"
#include "base/file.h"
#include "base/language.h"
#include "bench/demo.h"
#include "bench/listen.h"
#include "bench/tls.h"
#include "camera/bench.h"
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
  gboolean lan;
  char *certificate, *key, *host;
  char *account, *role;
  gboolean demo;
  char *samples;
  char *camera, *bench;
  double rate;
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
  if (asked->length_mm > 0)
  {
    task->job.length_mm = asked->length_mm;
    task->job.u_length_mm = WSI_U_LENGTH;
  }
  if (asked->check_due && task->job.use.calibration != NULL)
    ws_job_hold_until_checked (&task->job);
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

/* ---- Accounts ---------------------------------------------------------------------------------
 */

/* A line of standard input; at a terminal it isn't shown.  Free with g_free(). */
static char *
read_password (void)
{
  struct termios shown, hidden;
  char *line = NULL;
  size_t room = 0;
  const gboolean terminal = isatty (STDIN_FILENO) && tcgetattr (STDIN_FILENO, &shown) == 0;
  if (terminal)
  {
    hidden = shown;
    hidden.c_lflag &= ~(tcflag_t)ECHO;
    wsi_say_aside ("Password, 10 characters or more: ");
    tcsetattr (STDIN_FILENO, TCSAFLUSH, &hidden);
  }
  char *password = getline (&line, &room, stdin) > 0 ? g_strdup (g_strchomp (line)) : NULL;
  if (terminal)
    tcsetattr (STDIN_FILENO, TCSAFLUSH, &shown);
  if (terminal)
    wsi_say_aside ("\n");
  free (line);
  return password;
}

static int
set_account (const Options *options)
{
  GError *error = NULL;
  WsPasswords passwords = { 0 };
  g_autofree char *password = read_password ();
  const WsAccountChange change = {
    .name = options->account,
    .role = options->role != NULL ? options->role : "operator",
    .password = password != NULL ? password : "",
    .by = g_get_user_name (),
    .login = g_get_user_name (),
    .reason = "set by whetsight serve --account",
  };
  g_autoptr (WsArchive) archive = wsi_passwords_init (&passwords, &error)
                                    ? ws_archive_open (options->archive, WS_ARCHIVE_WRITE, &error)
                                    : NULL;
  const gboolean set =
    archive != NULL && wsi_accounts_change (&passwords, archive, &change, &error);
  wsi_passwords_clear (&passwords);
  if (!set)
    return wsi_fail (error);
  wsi_say ("Account %s, %s: set.\n", change.name, change.role);
  return WS_EXIT_ACCEPT;
}

/* ---- Certificates -----------------------------------------------------------------------------
 */

typedef struct
{
  char *certificate, *key; /* NULL without TLS */
  char **hosts;
} Network;

static void
network_clear (Network *network)
{
  g_free (network->certificate);
  g_free (network->key);
  g_strfreev (network->hosts);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Network, network_clear)

/* Made once and kept, when neither is there: browsers that were told to trust it go on. */
static gboolean
make_certificate (const Options *options, Network *network, GError **error)
{
  if (!wsi_tls_make ((const char *const *)network->hosts, &network->certificate, &network->key,
                     error))
    return FALSE;
  if (options->certificate == NULL)
    return TRUE;
  const mode_t before = umask (0077);
  const gboolean kept = wsi_file_save (options->key, network->key, strlen (network->key), error) &&
                        wsi_file_save (options->certificate, network->certificate,
                                       strlen (network->certificate), error);
  umask (before);
  return kept;
}

static gboolean
read_network (const Options *options, Network *network, GError **error)
{
  if (!options->lan)
    return options->certificate == NULL && options->key == NULL && options->host == NULL
             ? TRUE
             : wsi_refuse_usage (error, "--cert, --key and --host make sense with --lan only");
  if ((options->certificate == NULL) != (options->key == NULL))
    return wsi_refuse_usage (error, "give --cert and --key, or neither");
  g_auto (GStrv) own = wsi_tls_own_names ();
  g_autoptr (GStrvBuilder) hosts = g_strv_builder_new ();
  g_strv_builder_addv (hosts, (const char **)own);
  if (options->host != NULL)
  {
    g_autofree char *small = g_ascii_strdown (options->host, -1);
    g_strv_builder_add (hosts, small);
  }
  network->hosts = g_strv_builder_end (hosts);
  if (options->certificate == NULL || (!g_file_test (options->certificate, G_FILE_TEST_EXISTS) &&
                                       !g_file_test (options->key, G_FILE_TEST_EXISTS)))
    return make_certificate (options, network, error);
  network->certificate = wsi_file_read_text (options->certificate, "certificate", 1 << 20, error);
  network->key =
    network->certificate != NULL ? wsi_file_read_text (options->key, "key", 1 << 20, error) : NULL;
  return network->key != NULL;
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

/* While its shop is still being measured, the demo may be ended. */
static gboolean
is_not_ended (void)
{
  sigset_t pending;
  return sigpending (&pending) == 0 && !sigismember (&pending, SIGINT) &&
         !sigismember (&pending, SIGTERM);
}

static void
tell_where (const WsListener *listener, const Network *network)
{
  const guint port = wsi_listener_port (listener);
  if (network->certificate == NULL)
  {
    wsi_say ("Open http://127.0.0.1:%u/ in a browser on this computer; Ctrl-C ends.\n", port);
    return;
  }
  g_autofree char *print = wsi_tls_fingerprint (network->certificate);
  wsi_say (
    "Open https://%s:%u/ in a browser; Ctrl-C ends.\nThe certificate's fingerprint (SHA-256) "
    "is %s: compare it with what the browser shows before you trust it.\n",
    network->hosts[0], port, print != NULL ? print : _ ("unknown"));
}

static gboolean
somebody_may (WsServe *serve, GError **error)
{
  g_autoptr (GPtrArray) accounts = wsi_serve_accounts (serve, error);
  return accounts != NULL &&
         (accounts->len > 0 ||
          wsi_refuse_usage (error,
                            "--lan needs sign-in, and there is no account yet; make one with "
                            "whetsight serve --archive DIR --account NAME --role quality"));
}

static int
listen_until_told (const Options *options, const WsServeSettings *settings, const Network *network)
{
  GError *error = NULL;
  sigset_t ends;
  const WsListenTls tls = { network->certificate, network->key };
  keep_signals (&ends);
  g_autoptr (WsServe) serve = wsi_serve_new (settings, &error);
  g_autoptr (WsListener) listener = NULL;
  if (serve != NULL && (!options->lan || somebody_may (serve, &error)))
    listener = wsi_listener_new (serve, &tls, &error);
  if (listener == NULL)
    return wsi_fail (error);
  tell_where (listener, network);
  fflush (stdout);
  /* The page is there at once; its history follows. */
  if (options->demo && !wsi_demo_fill (serve, is_not_ended, &error))
    wsi_fail (g_steal_pointer (&error));
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

static gboolean
prepare_folders (const Options *options, const WsServeSettings *settings, GError **error)
{
  return make_folder (settings->archive, error) && make_folder (settings->cards, error) &&
         (!options->demo || wsi_demo_prepare (settings->samples, settings->cards, error));
}

/* The demo's archive and cards live as long as the page does. */
static int
run_page (const Options *options)
{
  GError *error = NULL;
  g_auto (Network) network = { 0 };
  g_autofree char *self = g_file_read_link ("/proc/self/exe", NULL);
  g_autofree char *spool = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  if (self == NULL || spool == NULL)
  {
    wsi_refuse (&error, WS_ERROR_CANT_WRITE, "serve: no folder for what comes in, or no /proc");
    return wsi_fail (error);
  }
  g_autofree char *demo_archive = g_build_filename (spool, "archive", NULL);
  g_autofree char *demo_cards = g_build_filename (spool, "cards", NULL);
  char *const worker[] = { self, (char *)"serve", (char *)"--worker", NULL };
  int status = WS_EXIT_ACCEPT;
  if (!read_network (options, &network, &error))
    status = wsi_fail (error);
  const WsServeSettings settings = {
    .archive = options->demo ? demo_archive : options->archive,
    .cards = options->demo ? demo_cards : options->cards,
    .spool = spool,
    .worker = worker,
    .n_workers = options->jobs > 0 ? (guint)options->jobs : g_get_num_processors (),
    .lan = options->lan,
    .hosts = network.hosts,
    .port = options->port > 0 ? (guint)options->port : USUAL_PORT,
    .login = g_get_user_name (),
    .samples = !options->demo             ? NULL
               : options->samples != NULL ? options->samples
                                          : "images",
    .camera = options->camera,
    .bench = options->bench,
    .rate = options->rate > 0 ? options->rate : NAN,
  };
  if (status == WS_EXIT_ACCEPT && !prepare_folders (options, &settings, &error))
    status = wsi_fail (error);
  if (status == WS_EXIT_ACCEPT)
    status = listen_until_told (options, &settings, &network);
  remove_folder (spool);
  return status;
}

/* Told before anybody looks through it. */
static gboolean
bench_is_there (const Options *options, GError **error)
{
  g_auto (WsBench) bench = { 0 };
  return options->bench == NULL || (wsi_bench_load (options->bench, &bench, error) &&
                                    wsi_bench_check_calibration (&bench, error));
}

static gboolean
check (const Options *options, GError **error)
{
  if (options->demo && (options->archive != NULL || options->cards != NULL || options->lan ||
                        options->account != NULL))
    return wsi_refuse_usage (error,
                             "--demo makes an archive and cards of its own, for this computer "
                             "alone; give no --archive, --cards, --lan or --account beside it");
  if (options->camera != NULL && options->bench != NULL)
    return wsi_refuse_usage (error, "give --camera, or --bench, which names its camera, not both");
  if (options->role != NULL && options->account == NULL)
    return wsi_refuse_usage (error, "--role makes sense with --account only");
  if (options->demo || (options->account != NULL && options->archive != NULL))
    return TRUE;
  return (options->archive != NULL && options->cards != NULL) ||
         wsi_refuse_usage (error,
                           "name the archive with --archive and the folder of tool cards with "
                           "--cards, or look around with --demo; see whetsight serve --help");
}

static int
serve (gpointer data, char **words)
{
  const Options *options = data;
  GError *error = NULL;
  (void)words;
  if (options->worker)
    return work ();
  if (!check (options, &error) || !bench_is_there (options, &error))
    return wsi_fail (error);
  if (options->account != NULL)
    return set_account (options);
  /* Before any folder is made. */
  return wsi_listener_can (&error) ? run_page (options) : wsi_fail (error);
}

static const char *
role (guint i)
{
  return i + WS_ROLE_OPERATOR < WS_N_ROLES ? wsi_role_name ((WsServeRole)(i + WS_ROLE_OPERATOR))
                                           : NULL;
}

static const WsOptionCheck is_role = { .word = role };
static const WsOptionCheck is_port = {
  .phrase = "expected a port, 1 to 65535", .least = 1, .most = 65535, .whole = TRUE
};

static const WsOptionCheck is_rate = { .phrase = "expected frames a second, 0.1 to 1000",
                                       .least = 0.1,
                                       .most = 1000 };

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
  { WS_OPTION_FLAG, "lan", 0, G_STRUCT_OFFSET (Options, lan), NULL,
    "Serve the network, over TLS and with sign-in; this computer alone by default", NULL },
  { WS_OPTION_FILE, "cert", 0, G_STRUCT_OFFSET (Options, certificate), "FILE",
    "Certificate, PEM; one that signs itself is made where there is none", NULL },
  { WS_OPTION_FILE, "key", 0, G_STRUCT_OFFSET (Options, key), "FILE", "Its key, PEM", NULL },
  { WS_OPTION_TEXT, "host", 0, G_STRUCT_OFFSET (Options, host), "NAME",
    "A further name that this computer is asked by", NULL },
  { WS_OPTION_TEXT, "account", 0, G_STRUCT_OFFSET (Options, account), "NAME",
    "Make or change this account, its password read from standard input, and end", NULL },
  { WS_OPTION_WORD, "role", 0, G_STRUCT_OFFSET (Options, role), "ROLE",
    "Its role: operator (measures, comments), toolroom (also grinds, keeps cards), quality (also "
    "limits, releases, accounts)",
    &is_role },
  { WS_OPTION_FLAG, "demo", 0, G_STRUCT_OFFSET (Options, demo), NULL,
    "Serve an archive of the demo's shop, thrown away at the end", NULL },
  { WS_OPTION_FILE, "demo-pictures", 0, G_STRUCT_OFFSET (Options, samples), "DIR",
    "Folder of the demo's pictures and cards, images by default", NULL },
  { WS_OPTION_TEXT, "camera", 0, G_STRUCT_OFFSET (Options, camera), "CAMERA",
    "The bench's camera, looked through in the browser; see whetsight capture --help", NULL },
  { WS_OPTION_FILE, "bench", 'b', G_STRUCT_OFFSET (Options, bench), "FILE.conf",
    "The bench whose camera that is, with its settings, calibration and check; see whetsight "
    "capture --keep",
    NULL },
  { WS_OPTION_NUMBER, "rate", 0, G_STRUCT_OFFSET (Options, rate), "N",
    "Frames a second of a camera that is a folder of pictures, files:DIR", &is_rate },
  { WS_OPTION_FLAG, "worker", 0, G_STRUCT_OFFSET (Options, worker), NULL,
    "Measure what standard input names; the page starts the program so for itself", NULL },
  WS_OPTIONS_END
};

const WsCommand wsi_verb_serve = {
  .name = "serve",
  .summary = "serve the bench page: photograph and verdict in a browser",
  .about =
    "Serves a page for the browser: choose the tool, send its picture, see the verdict and what "
    "to do.\nPictures are measured and archived as whetsight measure --archive does.",
  .groups = { { options, 0 } },
  .size = sizeof (Options),
  .run = serve,
};
