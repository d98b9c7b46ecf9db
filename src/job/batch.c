#include <whetsight/batch.h>

#include <string.h>

#include <whetsight/error.h>

#include "base/language.h"

/* Results that wait for their turn hold their pictures; so many a worker keep all of them busy. */
#define AHEAD 4

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
ws_batch_expand (char *const *paths, gboolean *has_folders, GError **error)
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
  const WsJob *const *jobs; /* one a picture */
  char *const *images;
  guint n;
  guint n_workers;
  const char *language; /* of whoever asked: workers speak as this thread does */
  GMutex mutex;
  GCond done;
  WsOutcome **outcomes;
} Batch;

static void
work (gpointer item, gpointer data)
{
  Batch *batch = data;
  const guint i = GPOINTER_TO_UINT (item) - 1;
  wsi_language_use (batch->language);
  WsOutcome *outcome = ws_job_measure (batch->jobs[i], batch->images[i]);
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

/* With one worker everything is done in this thread. */
static gboolean
run_all (Batch *batch, GThreadPool *pool, WsBatchFunc deliver, gpointer data)
{
  guint pushed = 0;
  for (guint i = 0; i < batch->n; i++)
  {
    for (; pool != NULL && pushed < batch->n && pushed < i + AHEAD * batch->n_workers; pushed++)
      g_thread_pool_push (pool, GUINT_TO_POINTER (pushed + 1), NULL);
    g_autoptr (WsOutcome) outcome =
      pool != NULL ? wait_for (batch, i) : ws_job_measure (batch->jobs[i], batch->images[i]);
    if (!deliver (i, outcome, data))
      return FALSE;
  }
  return TRUE;
}

gboolean
ws_batch_run_each (const WsJob *const *jobs, char *const *images, guint n_workers,
                   WsBatchFunc deliver, gpointer data)
{
  Batch batch = { .jobs = jobs,
                  .images = images,
                  .n = g_strv_length ((char **)images),
                  .language = wsi_language_code () };
  batch.n_workers = MIN (n_workers > 0 ? n_workers : g_get_num_processors (), batch.n);
  batch.outcomes = g_new0 (WsOutcome *, batch.n);
  g_mutex_init (&batch.mutex);
  g_cond_init (&batch.done);
  GThreadPool *pool = batch.n_workers > 1
                        ? g_thread_pool_new (work, &batch, (int)batch.n_workers, FALSE, NULL)
                        : NULL;
  const gboolean done = run_all (&batch, pool, deliver, data);
  if (pool != NULL)
    g_thread_pool_free (pool, TRUE, TRUE);
  for (guint i = 0; i < batch.n; i++)
    ws_outcome_free (batch.outcomes[i]);
  g_mutex_clear (&batch.mutex);
  g_cond_clear (&batch.done);
  g_free (batch.outcomes);
  return done;
}

gboolean
ws_batch_run (const WsJob *job, char *const *images, guint n_workers, WsBatchFunc deliver,
              gpointer data)
{
  const guint n = g_strv_length ((char **)images);
  g_autofree const WsJob **jobs = g_new (const WsJob *, n + 1);
  for (guint i = 0; i < n; i++)
    jobs[i] = job;
  return ws_batch_run_each (jobs, images, n_workers, deliver, data);
}
