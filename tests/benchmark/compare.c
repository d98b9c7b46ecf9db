/*
 * Whether the program has become slower: whole runs of a build from before and of this one, one
 * after the other in the same minutes, by the least processor time of all rounds.  Ends with 1 when
 * one takes more than 1.10 times what it took; what seems to is tried again first, since other work
 * on the machine only adds.  tests/benchmark/compare.sh builds the one from before.
 *
 *   benchmark-compare BEFORE NOW
 */
#include <glib/gstdio.h>
#include <stdio.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include "archive/sample_for_tests.h"
#include "benchmark/big_picture.h"

#define ROUNDS 10
#define TRIES 3
#define MOST 1.10
#define ROWS 300

enum
{
  BEFORE,
  NOW,
  N_PROGRAMS
};

/* ---- What is measured -------------------------------------------------------------------- */

/* One record under many ids, as lines that `archive import` takes. */
static gboolean
write_lines (const char *program, const char *picture, const char *path)
{
  static const char mark[] = "\"id\":\"";
  char *call[] = {
    (char *)program, "measure", "--json", "--scale", "0.005", (char *)picture, NULL
  };
  g_autofree char *record = NULL;
  if (!g_spawn_sync (NULL, call, NULL, G_SPAWN_STDERR_TO_DEV_NULL, NULL, NULL, &record, NULL, NULL,
                     NULL))
    return FALSE;
  FILE *file = fopen (path, "w");
  const char *id = strstr (record, mark);
  if (file == NULL || id == NULL)
    return FALSE;
  id += strlen (mark);
  for (guint i = 0; i < ROWS; i++)
    fprintf (file, "%.*sid-%08u%s", (int)(id - record), record, i, strchr (id, '"'));
  return fclose (file) == 0;
}

/* ---- Clock --------------------------------------------------------------------------------- */

/* Words after the program; those beginning with "/" are names in the folder. */
typedef struct
{
  const char *name;
  const char *words[8];
  gboolean from_nothing; /* the archive is removed first */
} Work;

static const Work works[] = {
  { "start", { "--version" }, FALSE },
  { "grey PNG", { "measure", "--scale", "0.005", "/grey.png" }, FALSE },
  { "grey JPEG", { "measure", "--scale", "0.005", "/grey.jpg" }, FALSE },
  { "colour PNG", { "measure", "--scale", "0.005", "/colour.png" }, FALSE },
  { "colour JPEG", { "measure", "--scale", "0.005", "/colour.jpg" }, FALSE },
  { "annotated", { "measure", "--scale", "0.005", "--out", "/out", "/grey.jpg" }, FALSE },
  { "import", { "archive", "import", "/archive", "/lines.jsonl" }, TRUE },
  { "verify", { "archive", "verify", "/archive" }, FALSE },
  { "export CSV", { "archive", "export", "/archive", "-f", "csv" }, FALSE },
};

/* ms of processor time; below 0 when it fails. */
static double
spend (char **call)
{
  const pid_t child = fork ();
  if (child == 0)
  {
    if (freopen ("/dev/null", "w", stdout) != NULL)
      execv (call[0], call);
    _exit (127);
  }
  struct rusage usage;
  int status = -1;
  if (child < 0 || wait4 (child, &status, 0, &usage) != child || !WIFEXITED (status) ||
      WEXITSTATUS (status) > 3)
    return -1.0;
  return 1e3 * (double)(usage.ru_utime.tv_sec + usage.ru_stime.tv_sec) +
         1e-3 * (double)(usage.ru_utime.tv_usec + usage.ru_stime.tv_usec);
}

static double
run (const char *program, const char *folder, const Work *work)
{
  g_autoptr (GPtrArray) call = g_ptr_array_new_with_free_func (g_free);
  g_autofree char *archive = g_build_filename (folder, "archive", NULL);
  g_ptr_array_add (call, g_strdup (program));
  for (gsize i = 0; i < G_N_ELEMENTS (work->words) && work->words[i] != NULL; i++)
    g_ptr_array_add (call, work->words[i][0] == '/' ? g_strconcat (folder, work->words[i], NULL)
                                                    : g_strdup (work->words[i]));
  g_ptr_array_add (call, NULL);
  if (work->from_nothing)
    sample_remove_tree (archive);
  return spend ((char **)call->pdata);
}

/* TRUE when it takes no longer than it may. */
static gboolean
compare (char *const programs[N_PROGRAMS], const char *folder, const Work *work)
{
  double least[N_PROGRAMS] = { G_MAXDOUBLE, G_MAXDOUBLE };
  for (guint i = 0; i < TRIES && (i == 0 || least[NOW] > MOST * least[BEFORE]); i++)
    for (guint round = 0; round < ROUNDS; round++)
      for (guint p = 0; p < N_PROGRAMS; p++)
      {
        const double ms = run (programs[p], folder, work);
        if (ms < 0.0)
        {
          g_print ("%-12s %s failed\n", work->name, programs[p]);
          return FALSE;
        }
        least[p] = MIN (least[p], ms);
      }
  const double ratio = least[NOW] / least[BEFORE];
  g_print ("%-12s %8.1f %8.1f %6.2f%s\n", work->name, least[BEFORE], least[NOW], ratio,
           ratio > MOST ? "  slower" : "");
  return ratio <= MOST;
}

static gboolean
prepare (const char *program, const char *folder)
{
  static const char *const pictures[] = { "grey.png", "colour.png", "grey.jpg", "colour.jpg" };
  for (guint i = 0; i < G_N_ELEMENTS (pictures); i++)
  {
    g_autofree char *path = g_build_filename (folder, pictures[i], NULL);
    if (!render_big_picture (path, i % 2 == 1))
      return FALSE;
  }
  g_autofree char *picture = g_build_filename (folder, pictures[0], NULL);
  g_autofree char *lines = g_build_filename (folder, "lines.jsonl", NULL);
  return write_lines (program, picture, lines);
}

int
main (int argc, char **argv)
{
  g_autofree char *folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  if (argc != 3 || folder == NULL)
  {
    g_printerr ("usage: benchmark-compare BEFORE NOW\n");
    return 64;
  }
  gboolean good = TRUE;
  const gboolean prepared = prepare (argv[1], folder);
  if (prepared)
    g_print ("least processor time, ms\n%-12s %8s %8s %6s\n", "", "before", "now", "ratio");
  for (gsize i = 0; prepared && i < G_N_ELEMENTS (works); i++)
    good &= compare (argv + 1, folder, &works[i]);
  sample_remove_tree (folder);
  if (!prepared)
    return 70;
  return good ? 0 : 1;
}
