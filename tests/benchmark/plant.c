/*
 * A plant on PostgreSQL: many benches that write at once, and a bench that was offline for a week.
 * tests/benchmark/plant.sh starts the server for it.
 *
 *   benchmark-plant benches ADDRESS BENCHES SECONDS PAUSE_MS
 *   benchmark-plant week ADDRESS SERVER_PID PROGRAM ROWS
 *   benchmark-plant rows TABLE ROWS
 *
 * `benches`: each stores an inspection with pictures, waits about PAUSE_MS, and so on; what is told
 * is how long a store took, from the call until it was committed.  `week`: ROWS inspections in a
 * folder are sent by `archive sync`; what is told is the rate, and the most memory that the server
 * and the program took of their own.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <glib/gstdio.h>
#include <whetsight/archive.h>

#include "archive/sample_for_tests.h"
#include "plant_rows.h"

#define RECORD_BYTES 10000 /* of a drill's side with its budgets */
#define PICTURE_BYTES 100000
#define LOOK_MS 20

static double
seconds_since (gint64 start)
{
  return (double)(g_get_monotonic_time () - start) / 1e6;
}

static char *
padded (char *record)
{
  g_autofree char *short_record = record;
  g_autofree char *pad = g_strnfill (RECORD_BYTES, 'x');
  *strrchr (short_record, '}') = '\0';
  return g_strdup_printf ("%s, \"pad\": \"%s\"}", short_record, pad);
}

static gboolean
store_one (WsArchive *archive, GRand *rand, guint bench, guint i, gboolean with_pictures,
           GError **error)
{
  g_autofree guint32 *noise = g_new (guint32, PICTURE_BYTES / 4);
  for (gsize k = 0; with_pictures && k < PICTURE_BYTES / 4; k++)
    noise[k] = g_rand_int (rand);
  g_autoptr (GBytes) picture =
    with_pictures ? g_bytes_new_take (g_steal_pointer (&noise), PICTURE_BYTES) : NULL;
  g_autofree char *id = g_strdup_printf ("id-%u-%08u-%08x", bench, i, g_rand_int (rand));
  g_autofree char *tool = g_strdup_printf ("QT-D-%04u", g_rand_int (rand) % 1000);
  const Sample sample = {
    id, "2026-11-25T10:15:02Z", tool, "accept", 117.0 + g_rand_double (rand) * 3.0, picture
  };
  g_autoptr (WsInspection) inspection = sample_inspection (&sample);
  inspection->record = padded (inspection->record);
  const WsPictures pictures = { .original = picture };
  return ws_archive_store (archive, inspection, with_pictures ? &pictures : NULL, error);
}

/* ---- Many benches ---------------------------------------------------------------------------- */

typedef struct
{
  gboolean failed;
  double ms;
} Store;

/* Tells each store through the pipe. */
static int
be_bench (const char *address, guint bench, double seconds, guint pause_ms, int pipe)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (bench + 1);
  g_autoptr (GError) error = NULL;
  g_autofree char *own = g_strdup_printf ("%s&application_name=bench%%20%u", address, bench);
  g_autoptr (WsArchive) archive = ws_archive_open (own, WS_ARCHIVE_WRITE, &error);
  const gint64 start = g_get_monotonic_time ();
  if (archive == NULL)
    g_printerr ("bench %u: %s\n", bench, error->message);
  for (guint i = 0; archive != NULL && seconds_since (start) < seconds; i++)
  {
    const gint64 before = g_get_monotonic_time ();
    g_autoptr (GError) cause = NULL;
    Store store = { .failed = !store_one (archive, rand, bench, i, TRUE, &cause) };
    store.ms = 1e3 * seconds_since (before);
    if (store.failed)
      g_printerr ("bench %u: %s\n", bench, cause->message);
    if (write (pipe, &store, sizeof store) != sizeof store)
      return 1;
    g_usleep ((gulong)(2000.0 * pause_ms * g_rand_double (rand)));
  }
  return archive == NULL;
}

static gint
by_size (gconstpointer a, gconstpointer b)
{
  const double first = *(const double *)a, second = *(const double *)b;
  return (first > second) - (first < second);
}

static double
share (const GArray *sorted, double part)
{
  return sorted->len > 0 ? g_array_index (sorted, double, (guint)(part * (sorted->len - 1))) : NAN;
}

static int
run_benches (const char *address, guint n, double seconds, guint pause_ms)
{
  int ends[2], status;
  Store store;
  guint failed = 0, died = 0;
  g_autoptr (GArray) times = g_array_new (FALSE, FALSE, sizeof (double));
  const gint64 start = g_get_monotonic_time ();
  if (pipe (ends) != 0)
    return 70;
  for (guint i = 0; i < n; i++)
    if (fork () == 0)
      _exit (be_bench (address, i + 1, seconds, pause_ms, ends[1]));
  close (ends[1]);
  while (read (ends[0], &store, sizeof store) == sizeof store)
    if (store.failed)
      failed++;
    else
      g_array_append_val (times, store.ms);
  const double took = seconds_since (start);
  for (guint i = 0; i < n; i++)
    died += wait (&status) > 0 && status != 0;
  g_array_sort (times, by_size);
  g_print (
    "%u benches for %.0f s, a pause of %u ms: %u stored, %u errors, %u benches ended early\n", n,
    took, pause_ms, times->len, failed, died);
  g_print ("%.0f inspections a second; until committed: median %.1f ms, p95 %.1f ms, p99 %.1f ms, "
           "longest %.0f ms\n",
           times->len / took, share (times, 0.5), share (times, 0.95), share (times, 0.99),
           share (times, 1.0));
  return failed + died > 0;
}

/* ---- A week offline -------------------------------------------------------------------------- */

static gboolean
fill (const char *folder, guint rows)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (1);
  g_autoptr (WsArchive) archive = ws_archive_open (folder, WS_ARCHIVE_WRITE, NULL);
  gboolean done = archive != NULL && ws_archive_begin (archive, NULL);
  for (guint i = 0; done && i < rows; i++)
    done = store_one (archive, rand, 1, i, FALSE, NULL);
  return done && ws_archive_commit (archive, NULL);
}

/* A number of /proc/PID/status, kB; 0 when the process is gone. */
static guint64
status_of (const char *pid, const char *name)
{
  g_autofree char *text = NULL;
  g_autofree char *path = g_strdup_printf ("/proc/%s/status", pid);
  if (!g_file_get_contents (path, &text, NULL, NULL))
    return 0;
  const char *at = strstr (text, name);
  return at != NULL ? g_ascii_strtoull (at + strlen (name), NULL, 10) : 0;
}

/* What the largest of the server's processes has of its own, MB: shared buffers aside. */
static double
largest_mb (guint64 server)
{
  guint64 largest = 0;
  GDir *dir = g_dir_open ("/proc", 0, NULL);
  for (const char *name; dir != NULL && (name = g_dir_read_name (dir)) != NULL;)
    if (g_ascii_isdigit (*name) && status_of (name, "\nPPid:\t") == server)
      largest = MAX (largest, status_of (name, "\nRssAnon:\t"));
  if (dir != NULL)
    g_dir_close (dir);
  return (double)largest / 1024.0;
}

/* Processor time of the server's processes that ended, s: /proc/PID/stat, cutime and cstime. */
static double
ended_cpu (guint64 server)
{
  g_autofree char *text = NULL;
  g_autofree char *path = g_strdup_printf ("/proc/%" G_GUINT64_FORMAT "/stat", server);
  if (!g_file_get_contents (path, &text, NULL, NULL))
    return NAN;
  g_auto (GStrv) fields = g_strsplit (strrchr (text, ')') + 2, " ", -1);
  return (g_ascii_strtod (fields[13], NULL) + g_ascii_strtod (fields[14], NULL)) /
         (double)sysconf (_SC_CLK_TCK);
}

static int
send_week (const char *address, guint64 server, const char *program, guint rows)
{
  struct rusage usage;
  int status = -1;
  double server_mb = 0.0;
  g_autofree char *folder = g_dir_make_tmp ("whetsight-week-XXXXXX", NULL);
  if (!fill (folder, rows))
    return 70;
  const double cpu_before = ended_cpu (server);
  const gint64 start = g_get_monotonic_time ();
  const pid_t child = fork ();
  if (child == 0)
  {
    execl (program, program, "archive", "sync", folder, "--to", address, "--bench", "week",
           (char *)NULL);
    _exit (127);
  }
  while (wait4 (child, &status, WNOHANG, &usage) == 0)
  {
    server_mb = MAX (server_mb, largest_mb (server));
    g_usleep (LOOK_MS * 1000);
  }
  const double took = seconds_since (start);
  const double cpu = (double)usage.ru_utime.tv_sec + 1e-6 * (double)usage.ru_utime.tv_usec +
                     (double)usage.ru_stime.tv_sec + 1e-6 * (double)usage.ru_stime.tv_usec;
  g_usleep (LOOK_MS * 10000);
  g_print ("%u rows in %.1f s: %.0f a second; processor time: server %.1f s, program %.1f s; of "
           "their own memory: server %.1f MB, program %.1f MB with its libraries\n",
           rows, took, rows / took, ended_cpu (server) - cpu_before, cpu, server_mb,
           (double)usage.ru_maxrss / 1024.0);
  sample_remove_tree (folder);
  return status != 0;
}

int
main (int argc, char **argv)
{
  if (argc == 4 && g_str_equal (argv[1], "rows"))
    return plant_print (argv[2], strtoull (argv[3], NULL, 10));
  setvbuf (stdout, NULL, _IOLBF, 0);
  if (argc == 6 && g_str_equal (argv[1], "benches"))
    return run_benches (argv[2], (guint)atoi (argv[3]), atof (argv[4]), (guint)atoi (argv[5]));
  if (argc == 6 && g_str_equal (argv[1], "week"))
    return send_week (argv[2], strtoull (argv[3], NULL, 10), argv[4], (guint)atoi (argv[5]));
  g_printerr ("usage: tests/benchmark/plant.sh\n");
  return 64;
}
