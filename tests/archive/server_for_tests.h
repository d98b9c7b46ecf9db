/*
 * A PostgreSQL server of the test's own: in a temporary folder, on a socket there, gone with the
 * test.  It refuses to run as root, so as root it is the user postgres, else nobody.
 */
#ifndef WS_ARCHIVE_SERVER_FOR_TESTS_H
#define WS_ARCHIVE_SERVER_FOR_TESTS_H

#include "base/testing.h"

#include <pwd.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/prctl.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <glib/gstdio.h>

#include "archive/sample_for_tests.h"

#define SERVER_BIN "/usr/lib/postgresql/15/bin/" /* Debian 12's postgresql-15 */
#define SERVER_LONGEST_MS 60000
#define SERVER_LOOK_MS 5

typedef struct
{
  char *folder, *data;
  char *address; /* postgresql://…, of an empty database */
  pid_t pid;
} Server;

static inline gboolean
server_is_installed (void)
{
  return g_access (SERVER_BIN "initdb", X_OK) == 0;
}

static inline const char *
server_user (void)
{
  return getpwnam ("postgres") != NULL ? "postgres" : "nobody";
}

/* `arguments` end in NULL; as another user where this one is root. */
static inline void
server_exec (const char *const *arguments)
{
  const char *call[24] = { "setpriv" };
  g_autofree char *user = g_strdup_printf ("--reuid=%s", server_user ());
  gsize n = 0;
  prctl (PR_SET_PDEATHSIG, SIGQUIT);
  if (geteuid () == 0)
  {
    n = 1;
    call[n++] = user;
    call[n++] = "--clear-groups";
    call[n++] = "--pdeathsig=QUIT";
  }
  while (*arguments != NULL)
    call[n++] = *arguments++;
  execvp (call[0], (char **)call);
  _exit (127);
}

static inline gboolean
server_make (const Server *server)
{
  const char *const call[] = { SERVER_BIN "initdb", "--no-sync",       "--auth=trust",
                               "--username=plant",  "--encoding=UTF8", "--locale=C",
                               "--pgdata",          server->data,      NULL };
  int status;
  const pid_t pid = fork ();
  if (pid == 0)
  {
    if (freopen ("/dev/null", "w", stdout) == NULL)
      _exit (127);
    server_exec (call);
  }
  return pid > 0 && waitpid (pid, &status, 0) == pid && status == 0;
}

/* The last line of its file says so. */
static inline gboolean
server_is_ready (const Server *server)
{
  g_autofree char *text = NULL;
  g_autofree char *path = g_build_filename (server->data, "postmaster.pid", NULL);
  if (!g_file_get_contents (path, &text, NULL, NULL) || atoi (text) != server->pid)
    return FALSE;
  return strstr (text, "\nready") != NULL;
}

/* FALSE when it ended at once: processes of one that was killed may still hold its memory. */
static inline gboolean
server_try (Server *server)
{
  g_autofree char *log = g_build_filename (server->folder, "log", NULL);
  const char *const call[] = { SERVER_BIN "postgres", "-D", server->data,        "-k",
                               server->folder,        "-c", "listen_addresses=", "-c",
                               "max_connections=120", NULL };
  server->pid = fork ();
  if (server->pid == 0)
  {
    if (freopen (log, "a", stdout) == NULL || dup2 (STDOUT_FILENO, STDERR_FILENO) < 0)
      _exit (127);
    server_exec (call);
  }
  for (guint ms = 0; ms < SERVER_LONGEST_MS; ms += SERVER_LOOK_MS)
  {
    if (server_is_ready (server))
      return TRUE;
    if (waitpid (server->pid, NULL, WNOHANG) == server->pid)
      return FALSE;
    g_usleep (SERVER_LOOK_MS * 1000);
  }
  return FALSE;
}

static inline void
server_go_on (Server *server)
{
  for (guint i = 0; i < 1000; i++)
    if (server_try (server))
      return;
    else
      g_usleep (SERVER_LOOK_MS * 1000);
  g_autofree char *log = g_build_filename (server->folder, "log", NULL);
  g_autofree char *said = NULL;
  g_file_get_contents (log, &said, NULL, NULL);
  print_error ("%s\n", said != NULL ? said : "no log of the server");
  fail ();
}

/* SIGTERM: once nobody is connected; SIGQUIT: at once, as by a power cut; SIGKILL: and leaves its
 * processes to find out by themselves. */
static inline void
server_end (Server *server, int signal)
{
  kill (server->pid, signal);
  waitpid (server->pid, NULL, 0);
}

static inline void
server_stop (Server *server)
{
  server_end (server, SIGQUIT);
  sample_remove_tree (server->folder);
  g_clear_pointer (&server->folder, g_free);
  g_clear_pointer (&server->data, g_free);
  g_clear_pointer (&server->address, g_free);
}

/* Call server_is_installed() before.  `parent`: where its folder is to lie, NULL for memory. */
static inline void
server_start (Server *server, const char *parent)
{
  *server = (Server){ .folder = parent != NULL
                                  ? g_mkdtemp (g_build_filename (parent, "server-XXXXXX", NULL))
                                  : quick_folder () };
  const struct passwd *user = geteuid () == 0 ? getpwnam (server_user ()) : NULL;
  assert_non_null (server->folder);
  if (user != NULL)
    assert_int_equal (chown (server->folder, user->pw_uid, user->pw_gid), 0);
  server->data = g_build_filename (server->folder, "data", NULL);
  server->address = g_strdup_printf ("postgresql://plant@/postgres?host=%s", server->folder);
  assert_true (server_make (server));
  server_go_on (server);
}

#endif
