/*
 * Writers that are killed and whose disk fails, and a PostgreSQL server that is killed below them:
 * what they said was stored is there, and verify finds nothing wrong.  WHETSIGHT_KILLS sets how
 * many have to die, 30 by default.
 */
#ifndef WS_ARCHIVE_KILLING_FOR_TESTS_H
#define WS_ARCHIVE_KILLING_FOR_TESTS_H

#include "base/testing.h"

#include <errno.h>
#include <fcntl.h>
#include <glib/gstdio.h>
#include <signal.h>
#include <stdlib.h>
#include <sys/wait.h>
#include <unistd.h>

#include "archive/store.h"
#include "plant_for_tests.h"

#define WRITERS 4
#define DEFAULT_KILLS 30
#define SERVER_SHARE 4 /* of kills on PostgreSQL one in so many is of the server */
#define LONGEST_MS 120
#define ID_SIZE 40

static char *program; /* of this test */

/* ---- The writer: this program called again ------------------------------------------ */

static inline GBytes *
noise (GRand *rand, gsize n)
{
  guint8 *bytes = g_malloc (n);
  for (gsize i = 0; i < n; i++)
    bytes[i] = (guint8)g_rand_int (rand);
  return g_bytes_new_take (bytes, n);
}

static inline gboolean
store_one (WsArchive *archive, GRand *rand, const char *id)
{
  g_autoptr (GBytes) original = noise (rand, 20000);
  g_autoptr (GBytes) annotated = noise (rand, 9000);
  const Sample sample = { id, "2026-11-25T10:15:02Z", "QT-D-0118", "accept", 118.0, original };
  g_autoptr (WsInspection) inspection = sample_inspection (&sample);
  const WsPictures pictures = { .original = original, .annotated = annotated };
  return ws_archive_store (archive, inspection, &pictures, NULL);
}

/* Its id, or NULL; free with g_free(). */
static inline char *
sign_one (WsArchive *archive, const char *id)
{
  const WsNoteWords words = { WS_NOTE_SIGN_OFF, "R. Vane", "looked at", NULL };
  char *note = NULL;
  return ws_archive_add_note (archive, id, &words, &note, NULL) ? note : NULL;
}

/* FALSE when nobody listens. */
static inline gboolean
say_stored (const char *name)
{
  char id[ID_SIZE + 1];
  g_snprintf (id, sizeof id, "%-*s\n", ID_SIZE - 1, name);
  return write (STDOUT_FILENO, id, ID_SIZE) == ID_SIZE;
}

/* Tells each id once it is stored, for as long as it lives. */
static inline int
write_for_ever (const char *folder, guint32 seed)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (seed);
  g_autoptr (WsArchive) archive = NULL;
  for (guint i = 0;; i++)
  {
    g_autofree char *name = g_strdup_printf ("writer-%u-%u", seed, i);
    if (archive == NULL)
      archive = ws_archive_open (folder, WS_ARCHIVE_WRITE, NULL);
    if (archive == NULL || !store_one (archive, rand, name))
    {
      g_clear_pointer (&archive, ws_archive_free); /* its server may have been killed */
      continue;
    }
    g_autofree char *note = sign_one (archive, name);
    if (!say_stored (name) || (note != NULL && !say_stored (note)))
      return 1;
  }
}

/* ---- The killer ----------------------------------------------------------------------- */

typedef struct
{
  pid_t pid;
  int pipe;
  GString *told;
} Writer;

typedef struct
{
  char *folder; /* or address */
  Plant *plant; /* whose server is killed, too; or NULL */
  GRand *rand;
  Writer writers[WRITERS];
  GPtrArray *ids;
  guint32 next_seed;
  gboolean faults;
} Scene;

static inline void
set_number (const char *name, guint number)
{
  g_autofree char *text = g_strdup_printf ("%u", number);
  g_setenv (name, text, TRUE);
}

static inline void
become_writer (const Scene *scene, guint32 seed, int pipe)
{
  g_autofree char *seed_text = g_strdup_printf ("%u", seed);
  if (scene->faults)
  {
    g_setenv ("LD_PRELOAD", g_getenv ("WHETSIGHT_FAULT"), TRUE);
    g_setenv ("ASAN_OPTIONS", "verify_asan_link_order=0", TRUE);
    g_setenv ("WS_FAULT_UNDER", scene->folder, TRUE);
    set_number ("WS_FAULT_RATE", 200);
    set_number ("WS_FAULT_KILL", seed % 2 == 0 ? 300 : 0);
    set_number ("WS_FAULT_ERRNO", seed % 3 == 0 ? EIO : ENOSPC);
    set_number ("WS_FAULT_SEED", seed + 1);
  }
  /* Two to a bench. */
  if (scene->plant != NULL)
    g_setenv ("PGAPPNAME", bench_name ((int)(seed % BENCHES)), TRUE);
  dup2 (pipe, STDOUT_FILENO);
  execl (program, program, "--write", scene->folder, seed_text, (char *)NULL);
  _exit (127);
}

static inline void
start (Scene *scene, Writer *writer)
{
  int ends[2];
  const guint32 seed = scene->next_seed++;
  assert_int_equal (pipe (ends), 0);
  fcntl (ends[0], F_SETFD, FD_CLOEXEC);
  fcntl (ends[0], F_SETFL, O_NONBLOCK);
  writer->pipe = ends[0];
  writer->told = g_string_new (NULL);
  writer->pid = fork ();
  if (writer->pid == 0)
    become_writer (scene, seed, ends[1]);
  close (ends[1]);
}

static inline void
listen_to (Writer *writer)
{
  char bytes[4096];
  ssize_t n;
  while ((n = read (writer->pipe, bytes, sizeof bytes)) > 0)
    g_string_append_len (writer->told, bytes, n);
}

/* It may have died by itself. */
static inline void
bury (Scene *scene, Writer *writer)
{
  kill (writer->pid, SIGKILL);
  waitpid (writer->pid, NULL, 0);
  listen_to (writer);
  close (writer->pipe);
  for (gsize at = 0; at + ID_SIZE <= writer->told->len; at += ID_SIZE)
    g_ptr_array_add (scene->ids, g_strchomp (g_strndup (writer->told->str + at, ID_SIZE)));
  g_string_free (writer->told, TRUE);
}

static inline void
kill_one (Scene *scene)
{
  Writer *victim = &scene->writers[g_rand_int_range (scene->rand, 0, WRITERS)];
  bury (scene, victim);
  start (scene, victim);
}

/* As a power cut does, or so that its processes have to find out by themselves. */
static inline void
kill_server (Scene *scene)
{
  server_end (scene->plant->server, g_rand_boolean (scene->rand) ? SIGQUIT : SIGKILL);
  server_go_on (scene->plant->server);
}

static inline void
kill_at_random (Scene *scene, guint kills)
{
  for (guint i = 0; i < WRITERS; i++)
    start (scene, &scene->writers[i]);
  for (guint i = 0; i < kills; i++)
  {
    g_usleep ((gulong)g_rand_int_range (scene->rand, 0, LONGEST_MS * 1000));
    for (guint j = 0; j < WRITERS; j++)
      listen_to (&scene->writers[j]);
    if (scene->plant != NULL && i % SERVER_SHARE == 0)
      kill_server (scene);
    else
      kill_one (scene);
  }
  for (guint i = 0; i < WRITERS; i++)
    bury (scene, &scene->writers[i]);
}

static inline void
tell (const char *what, gpointer data)
{
  (void)data;
  print_error ("%s\n", what);
}

static inline void
check_archive (const Scene *scene)
{
  const WsVerifier verifier = { tell, NULL, NULL };
  WsVerification found;
  g_autoptr (GError) error = NULL;
  g_autoptr (WsArchive) archive = ws_archive_open (scene->folder, WS_ARCHIVE_READ, &error);
  assert_null (error);
  assert_true (ws_archive_verify (archive, NULL, &verifier, &found, &error));
  assert_int_equal (found.wrong, 0);
  for (guint i = 0; i < scene->ids->len; i++)
  {
    g_autoptr (WsInspection) inspection =
      wsi_store_find (archive, g_ptr_array_index (scene->ids, i), &error);
    assert_non_null (inspection);
    assert_null (error);
  }
  print_message ("%u told, %u there (%u notes), %u pictures, %u left over\n", scene->ids->len,
                 (guint)found.rows, (guint)found.notes, (guint)found.files, (guint)found.left_over);
  assert_true (scene->ids->len > 0);
  assert_true (found.rows >= scene->ids->len);
}

/* The main() of a test, which is called again to write; `run` runs its tests. */
static inline int
kill_or_write (int argc, char **argv, int (*run_all) (void))
{
  if (argc == 4 && g_str_equal (argv[1], "--write"))
    return write_for_ever (argv[2], (guint32)strtoul (argv[3], NULL, 10));
  program = g_file_read_link ("/proc/self/exe", NULL);
  const int failed = run_all ();
  g_free (program);
  return failed;
}

#endif
