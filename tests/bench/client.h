/*
 * The program serving its page, and raw bytes sent to it.
 */
#ifndef WS_TESTS_BENCH_CLIENT_H
#define WS_TESTS_BENCH_CLIENT_H

#include "base/testing.h"

#include <arpa/inet.h>
#include <netinet/in.h>
#include <signal.h>
#include <sys/prctl.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

#include <glib/gstdio.h>

typedef struct
{
  GPid pid;
  guint port;
} Server;

/* One that nobody has now. */
static inline guint
free_port (void)
{
  struct sockaddr_in address = { .sin_family = AF_INET, .sin_addr = { htonl (INADDR_LOOPBACK) } };
  socklen_t n = sizeof address;
  const int fd = socket (AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
  assert_int_equal (bind (fd, (struct sockaddr *)&address, n), 0);
  assert_int_equal (getsockname (fd, (struct sockaddr *)&address, &n), 0);
  close (fd);
  return ntohs (address.sin_port);
}

/* -1 when nobody listens. */
static inline int
connect_to (const Server *server)
{
  const struct sockaddr_in address = { .sin_family = AF_INET,
                                       .sin_port = htons ((guint16)server->port),
                                       .sin_addr = { htonl (INADDR_LOOPBACK) } };
  const struct timeval wait = { .tv_sec = 20 };
  const int fd = socket (AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
  setsockopt (fd, SOL_SOCKET, SO_RCVTIMEO, &wait, sizeof wait);
  if (connect (fd, (const struct sockaddr *)&address, sizeof address) == 0)
    return fd;
  close (fd);
  return -1;
}

/* A test that fails leaves nobody behind. */
static inline void
end_with_parent (gpointer data)
{
  (void)data;
  prctl (PR_SET_PDEATHSIG, SIGKILL);
}

/* `more` are further arguments, ending in NULL, or NULL. */
static inline Server
start_with (const char *archive, const char *cards, const char *const *more)
{
  Server server = { .port = free_port () };
  g_autofree char *port = g_strdup_printf ("%u", server.port);
  const char *const usual[] = { g_getenv ("WHETSIGHT"),
                                "serve",
                                "--archive",
                                archive,
                                "--cards",
                                cards,
                                "--port",
                                port,
                                "--jobs",
                                "1",
                                NULL };
  int fd = -1;
  /* What one that is killed leaves behind goes with the test's own folder. */
  g_autofree char *folder = g_path_get_dirname (archive);
  g_auto (GStrv) surroundings = g_environ_setenv (g_get_environ (), "TMPDIR", folder, TRUE);
  g_autoptr (GPtrArray) command = g_ptr_array_new ();
  for (const char *const *word = usual; *word != NULL; word++)
    g_ptr_array_add (command, (gpointer)*word);
  for (; more != NULL && *more != NULL; more++)
    g_ptr_array_add (command, (gpointer)*more);
  g_ptr_array_add (command, NULL);
  assert_true (g_spawn_async (NULL, (char **)command->pdata, surroundings,
                              G_SPAWN_DO_NOT_REAP_CHILD | G_SPAWN_STDOUT_TO_DEV_NULL |
                                G_SPAWN_STDERR_TO_DEV_NULL,
                              end_with_parent, NULL, &server.pid, NULL));
  for (guint i = 0; i < 1000 && (fd = connect_to (&server)) < 0; i++)
    g_usleep (20000);
  assert_true (fd >= 0);
  close (fd);
  return server;
}

static inline Server
start_server (const char *archive, const char *cards)
{
  return start_with (archive, cards, NULL);
}

/* Returns how it ended. */
static inline int
end_server (Server *server, int number)
{
  int status = 0;
  kill (server->pid, number);
  waitpid (server->pid, &status, 0);
  return status;
}

/* All that is answered until the other end closes, or says nothing for so long; "" for nothing.
 * Free with g_free(). */
static inline char *
exchange_within (const Server *server, const char *head, const char *body, gsize n_body,
                 time_t seconds)
{
  const struct timeval wait = { .tv_sec = seconds };
  char buffer[65536];
  ssize_t n;
  GString *answer = g_string_new (NULL);
  const int fd = connect_to (server);
  if (fd < 0)
    return g_string_free (answer, FALSE);
  setsockopt (fd, SOL_SOCKET, SO_RCVTIMEO, &wait, sizeof wait);
  gboolean sent = send (fd, head, strlen (head), MSG_NOSIGNAL) == (ssize_t)strlen (head);
  for (gsize done = 0; sent && done < n_body; done += (gsize)n)
  {
    n = send (fd, body + done, n_body - done, MSG_NOSIGNAL);
    sent = n > 0;
    if (!sent)
      break;
  }
  while ((n = recv (fd, buffer, sizeof buffer, 0)) > 0)
    g_string_append_len (answer, buffer, n);
  close (fd);
  return g_string_free (answer, FALSE);
}

static inline char *
exchange (const Server *server, const char *head, const char *body, gsize n_body)
{
  return exchange_within (server, head, body, n_body, 20);
}

/* "HTTP/1.1 200 OK…" -> 200; 0 for no answer. */
static inline guint
status_of (const char *answer)
{
  return g_str_has_prefix (answer, "HTTP/1.1 ") ? (guint)g_ascii_strtoull (answer + 9, NULL, 10)
                                                : 0;
}

static inline const char *
body_of (const char *answer)
{
  const char *end = strstr (answer, "\r\n\r\n");
  return end != NULL ? end + 4 : "";
}

/* What changes come with.  "" when nobody answers.  Free with g_free(). */
static inline char *
token_of (const Server *server)
{
  g_autofree char *head = g_strdup_printf ("GET /api/session HTTP/1.1\r\nHost: 127.0.0.1:%u\r\n"
                                           "Connection: close\r\n\r\n",
                                           server->port);
  g_autofree char *answer = exchange (server, head, NULL, 0);
  const char *from = strstr (answer, "\"token\":\"");
  return from != NULL ? g_strndup (from + 9, 64) : g_strdup ("");
}

/* Sends a picture as a program does. */
static inline char *
send_picture (const Server *server, const char *token, const char *query, const char *bytes,
              gsize n_bytes)
{
  g_autofree char *head =
    g_strdup_printf ("POST /api/tools/QT-D-0007/inspections?%s HTTP/1.1\r\nHost: 127.0.0.1:%u\r\n"
                     "Connection: close\r\nX-Whetsight-Token: %s\r\nContent-Type: image/png\r\n"
                     "Content-Length: %" G_GSIZE_FORMAT "\r\n\r\n",
                     query, server->port, token, n_bytes);
  return exchange (server, head, bytes, n_bytes);
}

#endif
