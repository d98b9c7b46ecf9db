/* Shows pictures of anything to every view.  See shown.h. */
#include "shown.h"

#include <glib/gstdio.h>
#include <math.h>
#include <string.h>

#include "trial.h"

/* A tool of each view, its size as the view tells it, and its card. */
typedef struct
{
  const char *view, *quantity;
  double size;
  const char *card;
} Shown;

static const Shown shown[] = {
  { "drill-side", "diameter_mm", 6.49, "kind = twist-drill\ndiameter_mm = 6.5\n" },
  { "form-plan", NULL, 8.0,
    "kind = form-tool\nnominal_profile = nominal.profile\n[limits]\n"
    "profile_deviation_max_mm = .. 0.05\nprofile_deviation_min_mm = -0.05 ..\n" },
  { "form-side", "tip_height_mm", 12.0,
    "kind = form-tool\n[limits]\nfront_relief_deg = 0 .. 25\n" },
  { "blade-plan", "edge_width_mm", 3.0,
    "kind = cutoff-blade\nwidth_mm = 3\npart_has_centre_hole = yes\n" },
  { "blade-side", "tip_height_mm", 12.0,
    "kind = cutoff-blade\nwidth_mm = 3\npart_has_centre_hole = yes\n" },
  { "blade-face", NULL, 3.0, "kind = cutoff-blade\nwidth_mm = 3\npart_has_centre_hole = yes\n" },
  { "form-face", NULL, 8.0, "kind = form-tool\nnominal_profile = nominal.profile\n" },
  { "drill-end", "diameter_mm", 6.5, "kind = twist-drill\ndiameter_mm = 6.5\n" },
  { "drill-relief", NULL, 6.5, "kind = twist-drill\ndiameter_mm = 6.5\n" },
};

#define N_SHOWN G_N_ELEMENTS (shown)

/* A V of 90 degrees between flats. */
static const char nominal[] = "unit mm\nstart 0 0\nline 2 0\nline 4 2\nline 6 0\nline 8 0\n";

/* The size fills so much of the shorter side. */
static const double shares[] = { 0.35, 0.7, 0.15 };

typedef struct
{
  const char *program, *folder;
  char *only_view;
  gint jobs;
  GMutex lock;
  guint runs[N_SHOWN], retakes[N_SHOWN], undecided[N_SHOWN], judged[N_SHOWN], pictures, unread;
} Show;

static TrialRun *
measure (const Show *show, const Shown *tool, const char *picture, double mm_per_px)
{
  g_autofree char *name = g_strconcat (tool->view, ".tool", NULL);
  g_autofree char *card = g_build_filename (show->folder, name, NULL);
  char scale[G_ASCII_DTOSTR_BUF_SIZE];
  const char *const options[] = {
    "--jobs=1", "--tool", card, "--scale", g_ascii_dtostr (scale, sizeof scale, mm_per_px), NULL
  };
  return trial_measure_with (show->program, tool->view, picture, options);
}

/* Counts it, and says what was judged. */
static void
count (Show *show, gsize view, const TrialRun *run, const char *picture, double mm_per_px)
{
  const char *verdict = trial_text (run->record, "verdict");
  const gboolean judged = g_strcmp0 (verdict, "accept") == 0 || g_strcmp0 (verdict, "reject") == 0;
  g_mutex_lock (&show->lock);
  show->runs[view]++;
  show->retakes[view] += trial_is_retake (run) ? 1 : 0;
  show->undecided[view] += g_strcmp0 (verdict, "undecided") == 0 ? 1 : 0;
  show->judged[view] += judged ? 1 : 0;
  if (judged)
    g_print ("JUDGED: %s --view %s --scale %.6g: %s\n", picture, shown[view].view, mm_per_px,
             verdict);
  g_mutex_unlock (&show->lock);
}

/* FALSE when it was a retake: other scales would hardly change that. */
static gboolean
show_at (Show *show, gsize view, const char *picture, double mm_per_px)
{
  g_autoptr (TrialRun) run = measure (show, &shown[view], picture, mm_per_px);
  count (show, view, run, picture, mm_per_px);
  if (trial_is_retake (run))
    return FALSE;
  if (shown[view].quantity == NULL)
    return TRUE;
  const double size = trial_value (run->record, shown[view].quantity);
  if (!(size > 0.0) || fabs (size / shown[view].size - 1.0) < 1e-3)
    return TRUE;
  const double fitting = mm_per_px * shown[view].size / size;
  g_autoptr (TrialRun) again = measure (show, &shown[view], picture, fitting);
  count (show, view, again, picture, fitting);
  return TRUE;
}

static double
shorter_side (const TrialRun *run)
{
  const json_t *image = json_object_get (run->record, "image");
  return MIN (json_number_value (json_object_get (image, "width")),
              json_number_value (json_object_get (image, "height")));
}

static gboolean
is_wanted (const Show *show, const char *view)
{
  static const char *const front_lit[] = { "blade-face", "form-face", "drill-end", "drill-relief",
                                           NULL };
  const gboolean is_front_lit = g_strv_contains (front_lit, view);
  if (show->only_view == NULL || g_str_equal (show->only_view, view))
    return TRUE;
  return g_str_equal (show->only_view, is_front_lit ? "front-lit" : "silhouettes");
}

static void
show_picture (gpointer data, gpointer user_data)
{
  Show *show = user_data;
  g_autofree char *picture = data;
  g_autoptr (TrialRun) first = trial_measure_view (show->program, "drill-side", picture, NAN);
  const double side = first->record != NULL ? shorter_side (first) : 0.0;
  const gboolean readable = side > 0.0;
  const guint first_share = g_str_hash (picture);
  for (gsize view = 0; readable && view < N_SHOWN; view++)
  {
    if (!is_wanted (show, shown[view].view))
      continue;
    gboolean go_on = TRUE;
    for (gsize k = 0; go_on && k < G_N_ELEMENTS (shares); k++)
    {
      const double share = shares[(first_share + k) % G_N_ELEMENTS (shares)];
      go_on = show_at (show, view, picture, shown[view].size / (share * side));
    }
  }
  g_mutex_lock (&show->lock);
  show->pictures++;
  show->unread += readable ? 0 : 1;
  g_mutex_unlock (&show->lock);
}

/* ---- The verb ---------------------------------------------------------------------------------
 */

static gboolean
is_picture (const char *name)
{
  static const char *const endings[] = { ".png", ".jpg", ".jpeg", ".tif", ".tiff", ".bmp", NULL };
  g_autofree char *small = g_ascii_strdown (name, -1);
  for (gsize i = 0; endings[i] != NULL; i++)
    if (g_str_has_suffix (small, endings[i]))
      return TRUE;
  return FALSE;
}

static int
by_name (gconstpointer a, gconstpointer b)
{
  return strcmp (*(const char *const *)a, *(const char *const *)b);
}

static void
find (const char *path, GPtrArray *pictures)
{
  g_autoptr (GDir) dir = g_dir_open (path, 0, NULL);
  if (dir == NULL && is_picture (path))
    g_ptr_array_add (pictures, g_strdup (path));
  const char *name;
  while (dir != NULL && (name = g_dir_read_name (dir)) != NULL)
  {
    g_autofree char *inside = g_build_filename (path, name, NULL);
    if (!g_file_test (inside, G_FILE_TEST_IS_SYMLINK))
      find (inside, pictures);
  }
}

static gboolean
save_cards (const Show *show)
{
  g_autofree char *profile = g_build_filename (show->folder, "nominal.profile", NULL);
  gboolean saved = g_file_set_contents (profile, nominal, -1, NULL);
  for (gsize i = 0; i < N_SHOWN; i++)
  {
    g_autofree char *text = g_strconcat ("[tool]\nid = QT-X-0001\n", shown[i].card, NULL);
    g_autofree char *name = g_strconcat (shown[i].view, ".tool", NULL);
    g_autofree char *path = g_build_filename (show->folder, name, NULL);
    saved = saved && g_file_set_contents (path, text, -1, NULL);
  }
  return saved;
}

static void
remove_cards (const Show *show)
{
  g_autofree char *profile = g_build_filename (show->folder, "nominal.profile", NULL);
  g_remove (profile);
  for (gsize i = 0; i < N_SHOWN; i++)
  {
    g_autofree char *name = g_strconcat (shown[i].view, ".tool", NULL);
    g_autofree char *path = g_build_filename (show->folder, name, NULL);
    g_remove (path);
  }
  g_rmdir (show->folder);
}

static int
show_all (Show *show, GPtrArray *pictures)
{
  guint judged = 0;
  g_ptr_array_sort (pictures, by_name);
  g_mutex_init (&show->lock);
  GThreadPool *pool = g_thread_pool_new (show_picture, show, MAX (1, show->jobs), FALSE, NULL);
  for (guint i = 0; i < pictures->len; i++)
    g_thread_pool_push (pool, pictures->pdata[i], NULL);
  g_thread_pool_free (pool, FALSE, TRUE);
  g_mutex_clear (&show->lock);
  g_print ("%u pictures, %u not readable\n%-14s %6s %7s %9s %6s\n", show->pictures, show->unread,
           "view", "runs", "retake", "undecided", "JUDGED");
  for (gsize i = 0; i < N_SHOWN; i++)
  {
    judged += show->judged[i];
    g_print ("%-14s %6u %7u %9u %6u\n", shown[i].view, show->runs[i], show->retakes[i],
             show->undecided[i], show->judged[i]);
  }
  return judged == 0 ? 0 : 1;
}

int
shown_main (int argc, char **argv)
{
  Show show = { .jobs = 1 };
  const GOptionEntry entries[] = {
    { "view", 0, 0, G_OPTION_ARG_STRING, &show.only_view,
      "This view alone; silhouettes, front-lit: all of them", "VIEW" },
    { "jobs", 0, 0, G_OPTION_ARG_INT, &show.jobs, "So many at once, 1 by default", "N" },
    { NULL, 0, 0, G_OPTION_ARG_NONE, NULL, NULL, NULL }
  };
  g_autoptr (GError) error = NULL;
  GOptionContext *context = g_option_context_new ("PROGRAM FOLDER|PICTURE…");
  g_option_context_add_main_entries (context, entries, NULL);
  const gboolean parsed = g_option_context_parse (context, &argc, &argv, &error);
  g_option_context_free (context);
  g_autoptr (GPtrArray) pictures = g_ptr_array_new ();
  for (int i = 2; parsed && i < argc; i++)
    find (argv[i], pictures);
  g_autofree char *folder = g_dir_make_tmp ("whetsight-shown-XXXXXX", NULL);
  show.folder = folder;
  int status = 64;
  if (!parsed || pictures->len == 0)
    g_printerr ("trial shown: %s\n", parsed ? "give the program and pictures" : error->message);
  else if (folder == NULL || !save_cards (&show))
    status = 73;
  else
  {
    show.program = argv[1];
    status = show_all (&show, pictures);
  }
  if (folder != NULL)
    remove_cards (&show);
  g_free (show.only_view);
  return status;
}
