#include "bench/line.h"

#include <sys/socket.h>

#define HEAD_S 15
#define SEND_S 120
#define BODY_S 10
#define LEAST_BYTES_A_SECOND 50000 /* a telephone at the far end of the shop has ten times that */

struct WsLine
{
  WsLines *lines;
  int socket;
  gint64 end; /* µs; 0: it isn't waited for */
};

struct WsLines
{
  GMutex lock;
  GHashTable *lines;
};

WsLines *
wsi_lines_new (void)
{
  WsLines *lines = g_new0 (WsLines, 1);
  g_mutex_init (&lines->lock);
  lines->lines = g_hash_table_new_full (NULL, NULL, NULL, g_free);
  return lines;
}

void
wsi_lines_free (WsLines *lines)
{
  if (lines == NULL)
    return;
  g_hash_table_unref (lines->lines);
  g_mutex_clear (&lines->lock);
  g_free (lines);
}

static gint64
in_seconds (double seconds)
{
  return g_get_monotonic_time () + (gint64)(seconds * G_USEC_PER_SEC);
}

void
wsi_lines_add (WsLines *lines, gpointer key, int socket)
{
  WsLine *line = g_new0 (WsLine, 1);
  *line = (WsLine){ lines, socket, in_seconds (HEAD_S) };
  g_mutex_lock (&lines->lock);
  g_hash_table_insert (lines->lines, key, line);
  g_mutex_unlock (&lines->lock);
}

void
wsi_lines_remove (WsLines *lines, gpointer key)
{
  g_mutex_lock (&lines->lock);
  g_hash_table_remove (lines->lines, key);
  g_mutex_unlock (&lines->lock);
}

WsLine *
wsi_lines_find (WsLines *lines, gpointer key)
{
  g_mutex_lock (&lines->lock);
  WsLine *line = g_hash_table_lookup (lines->lines, key);
  g_mutex_unlock (&lines->lock);
  return line;
}

static void
set_end (WsLine *line, gint64 end)
{
  if (line == NULL)
    return;
  g_mutex_lock (&line->lines->lock);
  line->end = end;
  g_mutex_unlock (&line->lines->lock);
}

void
wsi_line_waits (WsLine *line)
{
  set_end (line, in_seconds (HEAD_S));
}

void
wsi_line_reads (WsLine *line, guint64 n_bytes)
{
  set_end (line, in_seconds (BODY_S + (double)n_bytes / LEAST_BYTES_A_SECOND));
}

void
wsi_line_works (WsLine *line)
{
  set_end (line, 0);
}

void
wsi_line_sends (WsLine *line)
{
  set_end (line, in_seconds (SEND_S));
}

void
wsi_lines_cut (WsLines *lines, gint64 now)
{
  GHashTableIter iter;
  gpointer value;
  g_mutex_lock (&lines->lock);
  g_hash_table_iter_init (&iter, lines->lines);
  while (g_hash_table_iter_next (&iter, NULL, &value))
  {
    WsLine *line = value;
    if (line->end == 0 || now < line->end)
      continue;
    /* Closing it is its own thread's. */
    shutdown (line->socket, SHUT_RDWR);
    line->end = 0;
  }
  g_mutex_unlock (&lines->lock);
}
