#include "cli/batch.h"

#include <stdio.h>
#include <string.h>

#include "cli/fail.h"
#include "cli/progress.h"

/* Results that wait for their turn hold their pictures; so many a worker keep all of them busy. */
#define AHEAD 4

/* Fewer pictures than this are seen at a glance. */
#define SUMMARY_FROM 5

static const char *const endings[] = { ".png", ".jpg", ".jpeg", ".tif", ".tiff", ".bmp" };

/* ---- Which pictures ---------------------------------------------------------------- */

static gboolean
is_picture_name (const char *name)
{
  g_autofree char *lower = g_ascii_strdown (name, -1);
  if (g_str_has_suffix (lower, ".annotated.png"))
    return FALSE;
  for (gsize i = 0; i < G_N_ELEMENTS (endings); i++)
    if (g_str_has_suffix (lower, endings[i]))
      return TRUE;
  return FALSE;
}

static gint
compare_names (gconstpointer a, gconstpointer b)
{
  return strcmp (*(const char *const *)a, *(const char *const *)b);
}

static GPtrArray *
names_in (const char *folder, GError **error)
{
  g_autoptr (GError) cause = NULL;
  GDir *dir = g_dir_open (folder, 0, &cause);
  if (dir == NULL)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_NO_INPUT, "%s: can't be read: %s", folder,
                 cause->message);
    return NULL;
  }
  GPtrArray *names = g_ptr_array_new_with_free_func (g_free);
  for (const char *name; (name = g_dir_read_name (dir)) != NULL;)
    if (*name != '.')
      g_ptr_array_add (names, g_strdup (name));
  g_dir_close (dir);
  g_ptr_array_sort (names, compare_names);
  return names;
}

/* A link to a folder isn't followed: it might lead back. */
static gboolean
add_folder (GPtrArray *images, const char *folder, GError **error)
{
  g_autoptr (GPtrArray) names = names_in (folder, error);
  for (guint i = 0; names != NULL && i < names->len; i++)
  {
    const char *name = g_ptr_array_index (names, i);
    g_autofree char *path = g_build_filename (folder, name, NULL);
    if (!g_file_test (path, G_FILE_TEST_IS_DIR))
    {
      if (is_picture_name (name))
        g_ptr_array_add (images, g_steal_pointer (&path));
    }
    else if (!g_file_test (path, G_FILE_TEST_IS_SYMLINK) && !add_folder (images, path, error))
      return FALSE;
  }
  return names != NULL;
}

char **
ws_batch_expand (char **paths, gboolean *has_folders, GError **error)
{
  g_autoptr (GPtrArray) images = g_ptr_array_new_with_free_func (g_free);
  for (gsize i = 0; paths[i] != NULL; i++)
  {
    const guint before = images->len;
    if (!g_file_test (paths[i], G_FILE_TEST_IS_DIR))
    {
      g_ptr_array_add (images, g_strdup (paths[i]));
      continue;
    }
    *has_folders = TRUE;
    if (!add_folder (images, paths[i], error))
      return NULL;
    if (images->len == before)
    {
      g_set_error (error, WS_ERROR, WS_ERROR_NO_INPUT,
                   "%s: no pictures in this folder (.png, .jpg, .tif, .bmp)", paths[i]);
      return NULL;
    }
  }
  g_ptr_array_add (images, NULL);
  return (char **)g_ptr_array_steal (images, NULL);
}

/* ---- Workers ------------------------------------------------------------------------ */

typedef struct
{
  const WsJob *job;
  char **images;
  guint n;
  guint n_workers;
  GMutex mutex;
  GCond done;
  WsOutcome **outcomes;
} Batch;

static void
work (gpointer item, gpointer data)
{
  Batch *batch = data;
  const guint i = GPOINTER_TO_UINT (item) - 1;
  WsOutcome *outcome = ws_job_measure (batch->job, batch->images[i]);
  g_mutex_lock (&batch->mutex);
  batch->outcomes[i] = outcome;
  g_cond_signal (&batch->done);
  g_mutex_unlock (&batch->mutex);
}

static WsOutcome *
wait_for (Batch *batch, guint i)
{
  g_mutex_lock (&batch->mutex);
  while (batch->outcomes[i] == NULL)
    g_cond_wait (&batch->done, &batch->mutex);
  WsOutcome *outcome = batch->outcomes[i];
  batch->outcomes[i] = NULL;
  g_mutex_unlock (&batch->mutex);
  return outcome;
}

/* How bad a status is: accept, undecided, reject, retake, then the errors. */
static int
badness (int status)
{
  switch (status)
  {
  case WS_EXIT_UNDECIDED:
    return 1;
  case WS_EXIT_REJECT:
    return 2;
  default:
    return status;
  }
}

static int
worse (int a, int b)
{
  return badness (a) >= badness (b) ? a : b;
}

typedef struct
{
  guint counts[WS_EXIT_RETAKE + 1]; /* by status */
  guint errors, skipped;
  int worst;
} Tally;

static void
count (Tally *tally, const WsOutcome *outcome, int status)
{
  tally->worst = worse (tally->worst, status);
  if (status <= WS_EXIT_RETAKE)
    tally->counts[status]++;
  else
    tally->errors++;
  if (outcome->skipped != NULL)
    tally->skipped++;
}

static void
print_summary (const Batch *batch, const Tally *tally, double seconds)
{
  fprintf (stderr, "%u pictures: %u accept, %u undecided, %u reject, %u retake, %u with errors",
           batch->n, tally->counts[WS_EXIT_ACCEPT], tally->counts[WS_EXIT_UNDECIDED],
           tally->counts[WS_EXIT_REJECT], tally->counts[WS_EXIT_RETAKE], tally->errors);
  if (tally->skipped > 0)
    fprintf (stderr, "; %u of them measured already", tally->skipped);
  fprintf (stderr, "; %.1f s, %.1f a second\n", seconds, batch->n / MAX (seconds, 1e-3));
}

/* With one worker everything is done in this thread. */
static void
run_all (Batch *batch, GThreadPool *pool, WsProgress *progress, Tally *tally)
{
  guint pushed = 0;
  for (guint i = 0; i < batch->n; i++)
  {
    for (; pool != NULL && pushed < batch->n && pushed < i + AHEAD * batch->n_workers; pushed++)
      g_thread_pool_push (pool, GUINT_TO_POINTER (pushed + 1), NULL);
    g_autoptr (WsOutcome) outcome =
      pool != NULL ? wait_for (batch, i) : ws_job_measure (batch->job, batch->images[i]);
    ws_progress_clear (progress);
    count (tally, outcome, ws_job_deliver (batch->job, batch->images[i], outcome));
    ws_progress_show (progress, i + 1);
  }
  ws_progress_clear (progress);
}

int
ws_batch_run (const WsJob *job, char **images, guint jobs, gboolean summary)
{
  WsProgress progress;
  Tally tally = { 0 };
  Batch batch = { .job = job, .images = images, .n = g_strv_length (images) };
  batch.n_workers = MIN (jobs > 0 ? jobs : g_get_num_processors (), batch.n);
  batch.outcomes = g_new0 (WsOutcome *, batch.n);
  g_mutex_init (&batch.mutex);
  g_cond_init (&batch.done);
  GThreadPool *pool = batch.n_workers > 1
                        ? g_thread_pool_new (work, &batch, (int)batch.n_workers, FALSE, NULL)
                        : NULL;
  ws_progress_start (&progress, "measured", "", batch.n);
  run_all (&batch, pool, &progress, &tally);
  if (summary || batch.n >= SUMMARY_FROM)
    print_summary (&batch, &tally, ws_progress_seconds (&progress));
  if (pool != NULL)
    g_thread_pool_free (pool, FALSE, TRUE);
  g_mutex_clear (&batch.mutex);
  g_cond_clear (&batch.done);
  g_free (batch.outcomes);
  return tally.worst;
}
