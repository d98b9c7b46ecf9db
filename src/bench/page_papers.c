/*
 * What is taken away from the page: labels to print, and inspections for other programs.
 */
#include <errno.h>
#include <fcntl.h>
#include <unistd.h>

#include <glib/gstdio.h>
#include <whetsight/error.h>
#include <whetsight/exchange.h>
#include <whetsight/view.h>

#include "base/language.h"
#include "bench/cards.h"
#include "bench/listing.h"
#include "bench/pages.h"
#include "report/pdf/labels.h"

#define WRITTEN_AT_ONCE 1048576 /* bytes */

/* ---- Labels --------------------------------------------------------------------------------- */

static void
clear_label (gpointer data)
{
  WsLabel *label = data;
  g_free ((char *)label->words);
}

/* Of all tools, or of the one that was asked for. */
WsServeReply *
wsi_page_labels (WsServe *serve, WsServeRequest *request)
{
  GError *error = NULL;
  const char *tool = wsi_request_query (request, "tool");
  const WsPdfStyle style = { .paper = WS_PAPER_A4, .lookup = ws_view_lookup };
  g_autoptr (GPtrArray) cards = wsi_cards_list (serve->settings.cards);
  g_autoptr (GArray) labels = g_array_new (FALSE, FALSE, sizeof (WsLabel));
  g_array_set_clear_func (labels, clear_label);
  for (guint i = 0; i < cards->len; i++)
  {
    const WsServeCard *card = g_ptr_array_index (cards, i);
    if (card->card == NULL || card->card->id == NULL ||
        (tool != NULL && *tool != '\0' && !g_str_equal (card->card->id, tool)))
      continue;
    const WsLabel label = { card->card->id, wsi_card_words (card->card) };
    g_array_append_val (labels, label);
  }
  if (labels->len == 0)
    return wsi_serve_trouble (request, 404, _ ("There is no such tool card."));
  g_autoptr (GBytes) pdf =
    wsi_labels_print ((const WsLabel *)(void *)labels->data, labels->len, &style, &error);
  return pdf != NULL ? wsi_reply_bytes (200, "application/pdf", pdf)
                     : wsi_serve_take_error (serve, request, error);
}

/* ---- Inspections ---------------------------------------------------------------------------- */

/* Lines go into a file, so that all of a large archive takes no memory. */
typedef struct
{
  WsExchange *exchange;
  GString *text; /* not written yet */
  int file;
} Table;

static gboolean
write_out (Table *table, GError **error)
{
  for (gsize done = 0; done < table->text->len;)
  {
    const ssize_t n = write (table->file, table->text->str + done, table->text->len - done);
    if (n < 0 && errno != EINTR)
    {
      g_set_error_literal (error, WS_ERROR, WS_ERROR_CANT_WRITE,
                           _ ("There is no room for the table; try again later."));
      return FALSE;
    }
    done += n > 0 ? (gsize)n : 0;
  }
  g_string_truncate (table->text, 0);
  return TRUE;
}

static gboolean
add_line (const WsInspection *inspection, gpointer data, GError **error)
{
  Table *table = data;
  return ws_exchange_add (table->exchange, inspection, table->text, error) &&
         (table->text->len < WRITTEN_AT_ONCE || write_out (table, error));
}

static gboolean
write_all (WsArchive *archive, const WsServeRequest *request, Table *table, GError **error)
{
  gboolean more = TRUE;
  WsArchiveFilter filter = wsi_listing_filter (request);
  filter.last = wsi_request_count (request, "last", G_MAXINT64, 0);
  if (!ws_archive_each (archive, &filter, TRUE, add_line, table, error))
    return FALSE;
  while (more)
    if (!ws_exchange_finish (table->exchange, table->text, &more, error) ||
        !write_out (table, error))
      return FALSE;
  return TRUE;
}

/* A file without a name, that goes when it was sent. */
static int
open_file (const WsServe *serve)
{
  g_autofree char *path = g_build_filename (serve->settings.spool, "table-XXXXXX", NULL);
  const int file = g_mkstemp_full (path, O_RDWR | O_CLOEXEC, 0600);
  if (file >= 0)
    g_unlink (path);
  return file;
}

static GBytes *
make_table (WsServe *serve, const WsServeRequest *request, GError **error)
{
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();
  g_autofree char *time = g_date_time_format (now, "%Y-%m-%dT%H:%M:%SZ");
  g_autoptr (WsExchange) exchange = ws_exchange_new (WS_EXCHANGE_CSV, ws_view_lookup, time);
  g_autoptr (GString) text = g_string_new (NULL);
  Table table = { exchange, text, open_file (serve) };
  WsArchive *archive = wsi_serve_take (serve, error);
  const gboolean done = archive != NULL && write_all (archive, request, &table, error);
  wsi_serve_give (serve, archive);
  g_autoptr (GMappedFile) file = done ? g_mapped_file_new_from_fd (table.file, FALSE, error) : NULL;
  if (table.file >= 0)
    close (table.file);
  return file != NULL ? g_mapped_file_get_bytes (file) : NULL;
}

/* All that the list's filters find, the oldest first.  It may be all of the archive, so one at a
 * time. */
WsServeReply *
wsi_page_export (WsServe *serve, WsServeRequest *request)
{
  GError *error = NULL;
  if (!g_mutex_trylock (&serve->verifying))
    return wsi_serve_trouble (request, 503,
                              _ ("All of the archive is being read already; try again in 10 s."));
  g_autoptr (GBytes) bytes = make_table (serve, request, &error);
  g_mutex_unlock (&serve->verifying);
  if (bytes == NULL)
    return wsi_serve_take_error (serve, request, error);
  WsServeReply *reply = wsi_reply_bytes (200, "text/csv; charset=utf-8", bytes);
  reply->file_name = g_strdup ("inspections.csv");
  return reply;
}
