/* The campaign's verb: makes shots, has the program measure them, and sorts what it says. */
#include "hard.h"

#include <glib/gstdio.h>
#include <math.h>
#include <string.h>

#include "hard_judge.h"
#include "trial.h"

typedef struct
{
  char *only_kind, *only_view, *keep, *numbers;
  gint count, jobs;
  gint64 seed;
  const char *program;
  char *folder;
  HardCache *cache;
} HardOptions;

typedef struct
{
  const HardOptions *options;
  const HardKind *kind;
  guint64 seed;
  HardOutcome outcome;
  char *scene;
  double strength, bound_deg; /* of the point angle; NAN: not known */
  guint lip_px;
} Task;

/* ---- One picture --------------------------------------------------------------------------- */

static const char *const scene_names[HARD_N_SCENES] = {
  "drill-side", "form-plan",      "form-side", "blade-plan",  "blade-side",
  "blade-face", "drill-end-flat", "drill-end", "drill-relief"
};

static const char *
scene_name (HardScenes scene)
{
  for (guint i = 0; i < HARD_N_SCENES; i++)
    if ((guint)scene == 1u << i)
      return scene_names[i];
  return "";
}

static TrialRun *
measure (const HardShot *shot, const char *program, const char *picture, const char *card)
{
  char scale[G_ASCII_DTOSTR_BUF_SIZE];
  g_autoptr (GPtrArray) options = g_ptr_array_new ();
  g_ptr_array_add (options, (gpointer) "--jobs=1");
  if (shot->card->len > 0)
  {
    g_ptr_array_add (options, (gpointer) "--tool");
    g_ptr_array_add (options, (gpointer)card);
  }
  if (shot->mm_per_px > 0.0)
  {
    g_ptr_array_add (options, (gpointer) "--scale");
    g_ptr_array_add (options, g_ascii_dtostr (scale, sizeof scale, shot->mm_per_px));
  }
  for (guint i = 0; i < shot->options->len; i++)
    g_ptr_array_add (options, shot->options->pdata[i]);
  g_ptr_array_add (options, NULL);
  return trial_measure_with (program, shot->view, picture, (const char *const *)options->pdata);
}

static void
remove_folder (const char *folder)
{
  g_autoptr (GDir) dir = g_dir_open (folder, 0, NULL);
  const char *name;
  while (dir != NULL && (name = g_dir_read_name (dir)) != NULL)
  {
    g_autofree char *path = g_build_filename (folder, name, NULL);
    g_remove (path);
  }
  g_rmdir (folder);
}

static void
print_task (const Task *task)
{
  g_print ("%s: --kind %s --view %s --seed %" G_GUINT64_FORMAT " (strength %.1f): %s\n",
           task->outcome.sort == HARD_FAILED ? "FAILED" : "WRONG", task->kind->name, task->scene,
           task->seed, task->strength, task->outcome.what);
}

static void
run_task (gpointer data, gpointer unused)
{
  (void)unused;
  Task *task = data;
  const HardOptions *options = task->options;
  g_autoptr (HardShot) shot = hard_shot_new (task->kind, task->seed, options->cache);
  task->scene = g_strdup (scene_name (shot->scene));
  task->strength = shot->strength;
  task->bound_deg = hard_lip_bound_deg (shot, &task->lip_px);
  g_autofree char *name = g_strdup_printf ("%s-%" G_GUINT64_FORMAT, task->kind->name, task->seed);
  g_autofree char *folder = g_build_filename (options->folder, name, NULL);
  g_mkdir_with_parents (folder, 0777);
  g_autofree char *picture = hard_shot_save (shot, folder, name);
  if (picture == NULL)
  {
    task->outcome.sort = HARD_FAILED;
    task->outcome.what = g_strdup ("the picture can't be written");
    return;
  }
  g_autofree char *card_name = g_strconcat (name, ".tool", NULL);
  g_autofree char *card = g_build_filename (folder, card_name, NULL);
  g_autoptr (TrialRun) run = measure (shot, options->program, picture, card);
  task->outcome = hard_judge (shot, run);
  if (task->outcome.sort >= HARD_WRONG)
    print_task (task);
  if (options->keep == NULL || (task->outcome.sort < HARD_WRONG && options->count > 1))
    remove_folder (folder);
}

/* ---- What came of it ------------------------------------------------------------------------ */

typedef struct
{
  guint n, of[HARD_N_SORTS], needless, harmless, numbers, covered;
} Sums;

static void
add (Sums *sums, const Task *task)
{
  const HardOutcome *outcome = &task->outcome;
  const guint harmless = task->strength < 0.1 && task->kind->expected == HARD_TRUE ? 1 : 0;
  const guint refused = outcome->sort == HARD_REFUSED || outcome->held ? 1 : 0;
  sums->n++;
  sums->of[outcome->sort]++;
  sums->harmless += harmless;
  sums->needless += harmless * refused;
  sums->numbers += outcome->n;
  sums->covered += outcome->n_covered;
}

static void
print_sums (const char *name, const Sums *sums)
{
  g_print ("%-22s %5u %6u %6u %6u %6u %6u %4u of %-4u %7u", name, sums->n, sums->of[HARD_JUDGED],
           sums->of[HARD_UNDECIDED], sums->of[HARD_DOUBTFUL], sums->of[HARD_REFUSED],
           sums->of[HARD_WRONG] + sums->of[HARD_FAILED], sums->needless, sums->harmless,
           sums->numbers);
  if (sums->numbers > 0)
    g_print (" %6.1f%%\n", 100.0 * sums->covered / sums->numbers);
  else
    g_print (" %7s\n", "-");
}

/* Doubtful: undecided, beside a number that is wrong.  Needless: refused or held at strength 0. */
static guint
print_table (const GPtrArray *tasks)
{
  g_print ("%-22s %5s %6s %6s %6s %6s %6s %12s %7s %7s\n", "kind", "n", "judged", "undec.",
           "doubt.", "retake", "WRONG", "needless", "numbers", "in U");
  Sums all = { 0 };
  for (const HardKind *kind = hard_kinds (); kind->name != NULL; kind++)
  {
    Sums sums = { 0 };
    for (guint i = 0; i < tasks->len; i++)
    {
      const Task *task = tasks->pdata[i];
      if (task->kind != kind)
        continue;
      add (&sums, task);
      add (&all, task);
    }
    if (sums.n > 0)
      print_sums (kind->name, &sums);
  }
  print_sums ("all", &all);
  return all.of[HARD_WRONG] + all.of[HARD_FAILED];
}

/* ---- The verb ---------------------------------------------------------------------------------
 */

static void
task_free (gpointer data)
{
  Task *task = data;
  g_free (task->outcome.what);
  if (task->outcome.numbers != NULL)
    g_string_free (task->outcome.numbers, TRUE);
  g_free (task->scene);
  g_free (task);
}

static guint
scenes_of_view (const char *view)
{
  guint scenes = 0;
  if (g_strcmp0 (view, "silhouettes") == 0)
    return HARD_SILHOUETTES;
  if (g_strcmp0 (view, "front-lit") == 0)
    return HARD_FRONT_LIT;
  for (guint i = 0; i < HARD_N_SCENES; i++)
    if (view == NULL || g_str_equal (view, scene_names[i]))
      scenes |= 1u << i;
  return scenes;
}

/* Of one kind. */
static void
add_tasks (const HardOptions *options, const HardKind *kind, GPtrArray *tasks)
{
  const guint wanted = scenes_of_view (options->only_view);
  guint64 seed = (guint64)options->seed;
  for (gint made = 0; made < options->count && (kind->scenes & wanted) != 0; seed++)
  {
    if ((hard_scene_of (kind->scenes, seed) & wanted) == 0)
      continue;
    Task *task = g_new0 (Task, 1);
    *task = (Task){ .options = options, .kind = kind, .seed = seed };
    g_ptr_array_add (tasks, task);
    made++;
  }
}

static gboolean
is_listed (const char *list, const char *name)
{
  g_auto (GStrv) names = g_strsplit (list, ",", -1);
  return g_strv_contains ((const char *const *)names, name);
}

static int
by_seed (gconstpointer a, gconstpointer b)
{
  const Task *one = *(const Task *const *)a, *other = *(const Task *const *)b;
  if (one->seed != other->seed)
    return one->seed < other->seed ? -1 : 1;
  return (one->kind > other->kind) - (one->kind < other->kind);
}

/* Kinds side by side, so that they have a rendered picture in common. */
static GPtrArray *
make_tasks (const HardOptions *options)
{
  GPtrArray *tasks = g_ptr_array_new_with_free_func (task_free);
  for (const HardKind *kind = hard_kinds (); kind->name != NULL; kind++)
    if (options->only_kind == NULL || is_listed (options->only_kind, kind->name))
      add_tasks (options, kind, tasks);
  g_ptr_array_sort (tasks, by_seed);
  return tasks;
}

/* A line a picture, "picture,KIND,SCENE,SEED,STRENGTH,SORT,NEEDLESS,LIP_PX,BOUND_DEG", then one a
 * number. */
static gboolean
save_numbers (const char *path, const GPtrArray *tasks)
{
  g_autoptr (GString) text = g_string_new (NULL);
  for (guint i = 0; i < tasks->len; i++)
  {
    const Task *task = tasks->pdata[i];
    const HardOutcome *outcome = &task->outcome;
    char strength[G_ASCII_DTOSTR_BUF_SIZE], bound[G_ASCII_DTOSTR_BUF_SIZE];
    g_ascii_formatd (strength, sizeof strength, "%.1f", task->strength);
    g_ascii_formatd (bound, sizeof bound, "%.6g", task->bound_deg);
    g_string_append_printf (text, "picture,%s,%s,%" G_GUINT64_FORMAT ",%s,%d,%d,%u,%s\n",
                            task->kind->name, task->scene, task->seed, strength, (int)outcome->sort,
                            outcome->held, task->lip_px, bound);
    if (outcome->numbers != NULL)
      g_string_append (text, outcome->numbers->str);
  }
  return g_file_set_contents (path, text->str, -1, NULL);
}

static int
run_tasks (const HardOptions *options)
{
  g_autoptr (GPtrArray) tasks = make_tasks (options);
  if (tasks->len == 0)
  {
    g_printerr ("trial hard: no such kind or view\n");
    return 64;
  }
  GThreadPool *pool = g_thread_pool_new (run_task, NULL, MAX (1, options->jobs), FALSE, NULL);
  for (guint i = 0; i < tasks->len; i++)
    g_thread_pool_push (pool, tasks->pdata[i], NULL);
  g_thread_pool_free (pool, FALSE, TRUE);
  for (guint i = 0; i < tasks->len; i++)
  {
    const Task *task = tasks->pdata[i];
    if (task->outcome.sort < HARD_WRONG && options->count == 1 && options->only_kind != NULL)
      g_print ("%s\n", task->outcome.what != NULL ? task->outcome.what : "covered");
  }
  if (options->numbers != NULL && !save_numbers (options->numbers, tasks))
    return 73;
  return print_table (tasks) == 0 ? 0 : 1;
}

int
hard_main (int argc, char **argv)
{
  HardOptions o = { .count = 54, .jobs = 1, .seed = 1 };
  const GOptionEntry entries[] = {
    { "kind", 0, 0, G_OPTION_ARG_STRING, &o.only_kind, "These kinds alone", "KIND,…" },
    { "view", 0, 0, G_OPTION_ARG_STRING, &o.only_view,
      "These scenes alone; silhouettes, front-lit: all of them", "VIEW" },
    { "count", 0, 0, G_OPTION_ARG_INT, &o.count, "Pictures of each kind, 54 by default", "N" },
    { "seed", 0, 0, G_OPTION_ARG_INT64, &o.seed, "First seed, 1 by default", "S" },
    { "jobs", 0, 0, G_OPTION_ARG_INT, &o.jobs, "So many at once, 1 by default", "N" },
    { "numbers", 0, 0, G_OPTION_ARG_FILENAME, &o.numbers, "Write all there is to sum up", "FILE" },
    { "keep", 0, 0, G_OPTION_ARG_FILENAME, &o.keep, "Keep what is wrong here", "DIR" },
    { NULL, 0, 0, G_OPTION_ARG_NONE, NULL, NULL, NULL }
  };
  g_autoptr (GError) error = NULL;
  GOptionContext *context = g_option_context_new ("PROGRAM");
  g_option_context_add_main_entries (context, entries, NULL);
  const gboolean parsed = g_option_context_parse (context, &argc, &argv, &error);
  g_option_context_free (context);
  if (!parsed || argc != 2 || o.count < 1)
  {
    g_printerr ("trial hard: %s\n", parsed ? "give the program to measure with" : error->message);
    return 64;
  }
  o.program = argv[1];
  o.folder = o.keep != NULL ? g_strdup (o.keep) : g_dir_make_tmp ("whetsight-hard-XXXXXX", NULL);
  HardCache cache;
  hard_cache_init (&cache);
  o.cache = &cache;
  const int status = o.folder != NULL ? run_tasks (&o) : 73;
  hard_cache_clear (&cache);
  if (o.keep == NULL && o.folder != NULL)
    g_rmdir (o.folder);
  g_free (o.folder);
  g_free (o.only_kind);
  g_free (o.only_view);
  g_free (o.keep);
  g_free (o.numbers);
  return status;
}
