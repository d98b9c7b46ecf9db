/*
 * A small HTTP server on loopback, in a thread of its own: a test's handler answers.
 */
#ifndef WS_ARCHIVE_HTTP_FOR_TESTS_H
#define WS_ARCHIVE_HTTP_FOR_TESTS_H

#include <arpa/inet.h>
#include <netinet/in.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

#include <glib.h>

typedef struct
{
  char *method, *target; /* as they came */
  GHashTable *headers;   /* lower case -> value */
  GByteArray *body;
} HttpAsked;

typedef struct
{
  guint status; /* 0: the connection is closed without an answer */
  GBytes *body; /* or NULL */
} HttpAnswer;

typedef HttpAnswer (*HttpHandler) (const HttpAsked *asked, gpointer data);

typedef struct
{
  int listener;
  guint16 port;
  GThread *thread;
  HttpHandler handler;
  gpointer data;
  char *address; /* "http://127.0.0.1:PORT" */
} HttpServer;

/* Up to the empty line; free with g_string_free(). */
static inline GString *
http_read_head (int fd)
{
  GString *head = g_string_new (NULL);
  char c;
  while (read (fd, &c, 1) == 1)
  {
    g_string_append_c (head, c);
    if (g_str_has_suffix (head->str, "\r\n\r\n"))
      break;
  }
  return head;
}

static inline gboolean
http_read_body (int fd, HttpAsked *asked)
{
  const char *length = g_hash_table_lookup (asked->headers, "content-length");
  guint64 left = length != NULL ? g_ascii_strtoull (length, NULL, 10) : 0;
  guint8 piece[4096];
  while (left > 0)
  {
    const ssize_t n = read (fd, piece, MIN (left, sizeof piece));
    if (n <= 0)
      return FALSE;
    g_byte_array_append (asked->body, piece, (guint)n);
    left -= (guint64)n;
  }
  return TRUE;
}

static inline gboolean
http_parse_head (const char *head, HttpAsked *asked)
{
  g_auto (GStrv) lines = g_strsplit (head, "\r\n", -1);
  g_auto (GStrv) words = g_strsplit (lines[0], " ", 3);
  if (g_strv_length (words) != 3)
    return FALSE;
  asked->method = g_strdup (words[0]);
  asked->target = g_strdup (words[1]);
  for (char **line = lines + 1; *line != NULL; line++)
  {
    char *colon = strchr (*line, ':');
    if (colon == NULL)
      continue;
    g_autofree char *name = g_strndup (*line, (gsize)(colon - *line));
    g_hash_table_insert (asked->headers, g_ascii_strdown (name, -1),
                         g_strstrip (g_strdup (colon + 1)));
  }
  return TRUE;
}

static inline void
http_write_all (int fd, const void *bytes, gsize n)
{
  for (const char *at = bytes; n > 0;)
  {
    const ssize_t written = send (fd, at, n, MSG_NOSIGNAL);
    if (written <= 0)
      return;
    at += written;
    n -= (gsize)written;
  }
}

static inline void
http_answer (HttpServer *server, int fd)
{
  HttpAsked asked = { .headers = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, g_free),
                      .body = g_byte_array_new () };
  GString *head = http_read_head (fd);
  if (http_parse_head (head->str, &asked) && http_read_body (fd, &asked))
  {
    const HttpAnswer answer = server->handler (&asked, server->data);
    gsize n = 0;
    gconstpointer bytes = answer.body != NULL ? g_bytes_get_data (answer.body, &n) : NULL;
    g_autofree char *start = g_strdup_printf ("HTTP/1.1 %u Said\r\nContent-Length: %" G_GSIZE_FORMAT
                                              "\r\nConnection: close\r\n\r\n",
                                              answer.status, n);
    if (answer.status != 0)
    {
      http_write_all (fd, start, strlen (start));
      if (n > 0 && !g_str_equal (asked.method, "HEAD"))
        http_write_all (fd, bytes, n);
    }
    if (answer.body != NULL)
      g_bytes_unref (answer.body);
  }
  g_string_free (head, TRUE);
  g_hash_table_unref (asked.headers);
  g_byte_array_unref (asked.body);
  g_free (asked.method);
  g_free (asked.target);
}

static inline gpointer
http_serve (gpointer data)
{
  HttpServer *server = data;
  for (;;)
  {
    const int fd = accept (server->listener, NULL, NULL);
    if (fd < 0)
      return NULL;
    http_answer (server, fd);
    shutdown (fd, SHUT_WR);
    close (fd);
  }
}

/* At any port, or at that one. */
static inline HttpServer *
http_server_new (guint16 port, HttpHandler handler, gpointer data)
{
  const int on = 1;
  struct sockaddr_in address = { .sin_family = AF_INET,
                                 .sin_port = htons (port),
                                 .sin_addr.s_addr = htonl (INADDR_LOOPBACK) };
  socklen_t size = sizeof address;
  HttpServer *server = g_new0 (HttpServer, 1);
  server->handler = handler;
  server->data = data;
  server->listener = socket (AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
  setsockopt (server->listener, SOL_SOCKET, SO_REUSEADDR, &on, sizeof on);
  g_assert_true (bind (server->listener, (struct sockaddr *)&address, size) == 0);
  g_assert_true (listen (server->listener, 16) == 0);
  getsockname (server->listener, (struct sockaddr *)&address, &size);
  server->port = ntohs (address.sin_port);
  server->address = g_strdup_printf ("http://127.0.0.1:%u", server->port);
  server->thread = g_thread_new ("http", http_serve, server);
  return server;
}

static inline void
http_server_free (HttpServer *server)
{
  shutdown (server->listener, SHUT_RDWR);
  close (server->listener);
  g_thread_join (server->thread);
  g_free (server->address);
  g_free (server);
}

#endif
