#include "bench/crew.h"

#include <errno.h>
#include <jansson.h>
#include <math.h>
#include <poll.h>
#include <signal.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include <whetsight/error.h>

/* What can't be known to have leaked nothing is made anew now and then. */
#define MOST_TASKS 1000

/* Until one that is to end has. */
#define END_STEPS 200
#define END_STEP_US 5000

typedef struct
{
  GPid pid; /* 0: not started */
  int to, from;
  gboolean busy;
  guint n_done;
} Worker;

struct WsCrew
{
  WsCrewSettings settings;
  GMutex lock;
  GCond freed;
  Worker *workers;
  guint n_waiting;
  double seconds; /* that a picture takes, smoothed */
};

WsCrew *
wsi_crew_new (const WsCrewSettings *settings)
{
  WsCrew *crew = g_new0 (WsCrew, 1);
  crew->settings = *settings;
  crew->settings.command = g_strdupv (settings->command);
  crew->workers = g_new0 (Worker, settings->size);
  crew->seconds = 0.3;
  g_mutex_init (&crew->lock);
  g_cond_init (&crew->freed);
  return crew;
}

/* ---- One of them ---------------------------------------------------------------------------- */

static void
end_worker (Worker *worker)
{
  if (worker->pid == 0)
    return;
  if (worker->to >= 0)
    close (worker->to);
  close (worker->from);
  kill (worker->pid, SIGKILL);
  while (waitpid (worker->pid, NULL, 0) < 0 && errno == EINTR)
    ;
  worker->pid = 0;
  worker->n_done = 0;
}

/* One that is idle ends by itself when nothing more can come. */
static void
dismiss_worker (Worker *worker)
{
  if (worker->pid == 0)
    return;
  close (worker->to);
  worker->to = -1;
  for (guint i = 0; i < END_STEPS; i++)
  {
    if (waitpid (worker->pid, NULL, WNOHANG) == worker->pid)
    {
      close (worker->from);
      worker->pid = 0;
      return;
    }
    g_usleep (END_STEP_US);
  }
  end_worker (worker);
}

static gboolean
start_worker (const WsCrew *crew, Worker *worker, GError **error)
{
  if (worker->n_done >= MOST_TASKS)
    end_worker (worker);
  if (worker->pid != 0)
    return TRUE;
  GError *cause = NULL;
  if (g_spawn_async_with_pipes (NULL, crew->settings.command, NULL,
                                G_SPAWN_DO_NOT_REAP_CHILD | G_SPAWN_CLOEXEC_PIPES, NULL, NULL,
                                &worker->pid, &worker->to, &worker->from, NULL, &cause))
    return TRUE;
  g_set_error (error, WS_ERROR, WS_ERROR_INTERNAL, "no process to measure in: %s", cause->message);
  g_error_free (cause);
  worker->pid = 0;
  return FALSE;
}

void
wsi_crew_free (WsCrew *crew)
{
  if (crew == NULL)
    return;
  for (guint i = 0; i < crew->settings.size; i++)
    dismiss_worker (&crew->workers[i]);
  g_free (crew->workers);
  g_strfreev (crew->settings.command);
  g_mutex_clear (&crew->lock);
  g_cond_clear (&crew->freed);
  g_free (crew);
}

static Worker *
free_worker (const WsCrew *crew)
{
  for (guint i = 0; i < crew->settings.size; i++)
    if (!crew->workers[i].busy)
      return &crew->workers[i];
  return NULL;
}

/* NULL when too many wait already, or none is free for too long. */
static Worker *
take_worker (WsCrew *crew)
{
  const gint64 end = g_get_monotonic_time () + crew->settings.wait_s * G_USEC_PER_SEC;
  g_mutex_lock (&crew->lock);
  Worker *worker = free_worker (crew);
  if (worker == NULL && crew->n_waiting < crew->settings.most_waiting)
  {
    crew->n_waiting++;
    while ((worker = free_worker (crew)) == NULL)
      if (!g_cond_wait_until (&crew->freed, &crew->lock, end))
        break;
    crew->n_waiting--;
  }
  if (worker != NULL)
    worker->busy = TRUE;
  g_mutex_unlock (&crew->lock);
  return worker;
}

static void
give_worker (WsCrew *crew, Worker *worker, double seconds)
{
  g_mutex_lock (&crew->lock);
  worker->busy = FALSE;
  worker->n_done++;
  crew->seconds += 0.1 * (seconds - crew->seconds);
  g_cond_signal (&crew->freed);
  g_mutex_unlock (&crew->lock);
}

guint
wsi_crew_retry_after (WsCrew *crew)
{
  g_mutex_lock (&crew->lock);
  const double seconds = crew->seconds * (crew->n_waiting + 1) / MAX (crew->settings.size, 1);
  g_mutex_unlock (&crew->lock);
  return (guint)CLAMP (ceil (seconds), 1, 60);
}

/* ---- A task --------------------------------------------------------------------------------- */

static gboolean
write_whole (int fd, const char *bytes, gsize n_bytes)
{
  while (n_bytes > 0)
  {
    const ssize_t n = write (fd, bytes, n_bytes);
    if (n < 0 && errno == EINTR)
      continue;
    if (n <= 0)
      return FALSE;
    bytes += n;
    n_bytes -= (gsize)n;
  }
  return TRUE;
}

/* FALSE when there is no more, or no more time. */
static gboolean
read_whole (int fd, char *bytes, gsize n_bytes, gint64 end)
{
  while (n_bytes > 0)
  {
    struct pollfd from = { .fd = fd, .events = POLLIN };
    const gint64 left = end - g_get_monotonic_time ();
    const int ready = left > 0 ? poll (&from, 1, (int)(left / 1000 + 1)) : 0;
    if (ready < 0 && errno == EINTR)
      continue;
    const ssize_t n = ready > 0 ? read (fd, bytes, n_bytes) : -1;
    if (n <= 0)
      return FALSE;
    bytes += n;
    n_bytes -= (gsize)n;
  }
  return TRUE;
}

static WsOutcome *
do_task (const WsCrew *crew, const Worker *worker, const char *line, char **settings,
         gboolean *broken, GError **error)
{
  const gint64 end = g_get_monotonic_time () + crew->settings.measure_s * G_USEC_PER_SEC;
  char head[WSI_CREW_HEAD];
  gsize n_json, n_picture;
  *broken = TRUE;
  if (!write_whole (worker->to, line, strlen (line)) ||
      !read_whole (worker->from, head, sizeof head, end) ||
      !wsi_crew_read_head (head, &n_json, &n_picture))
    return NULL;
  g_autofree char *json = g_try_malloc (n_json + 1);
  g_autofree char *picture = g_try_malloc (n_picture + 1);
  if (json == NULL || picture == NULL || !read_whole (worker->from, json, n_json, end) ||
      !read_whole (worker->from, picture, n_picture, end))
    return NULL;
  *broken = FALSE;
  g_autoptr (GBytes) bytes =
    n_picture > 0 ? g_bytes_new_take (g_steal_pointer (&picture), n_picture) : NULL;
  return wsi_crew_read_answer (json, n_json, bytes, settings, error);
}

WsOutcome *
wsi_crew_measure (WsCrew *crew, const WsCrewTask *task, char **settings, GError **error)
{
  gboolean broken = FALSE;
  g_autofree char *line = wsi_crew_write_task (task);
  Worker *worker = take_worker (crew);
  if (worker == NULL)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_CANCELLED, "busy; try again in %u s",
                 wsi_crew_retry_after (crew));
    return NULL;
  }
  WsOutcome *outcome = NULL;
  const gint64 begin = g_get_monotonic_time ();
  if (start_worker (crew, worker, error))
  {
    outcome = do_task (crew, worker, line, settings, &broken, error);
    if (broken)
    {
      end_worker (worker);
      g_set_error (error, WS_ERROR, WS_ERROR_DATA,
                   "the picture broke off what measured it, or took too long; take another one");
    }
  }
  give_worker (crew, worker, (double)(g_get_monotonic_time () - begin) / G_USEC_PER_SEC);
  return outcome;
}
