/*
 * What is taken away from the page: labels to print, and inspections for other programs.
 */
#include <whetsight/error.h>
#include <whetsight/exchange.h>
#include <whetsight/view.h>

#include "base/language.h"
#include "bench/cards.h"
#include "bench/listing.h"
#include "bench/pages.h"
#include "report/pdf/labels.h"

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

static gboolean
write_all (const GPtrArray *found, GString *text, GError **error)
{
  gboolean more = TRUE;
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();
  g_autofree char *time = g_date_time_format (now, "%Y-%m-%dT%H:%M:%SZ");
  g_autoptr (WsExchange) exchange = ws_exchange_new (WS_EXCHANGE_CSV, ws_view_lookup, time);
  for (guint i = found->len; i-- > 0;)
    if (!ws_exchange_add (exchange, g_ptr_array_index (found, i), text, error))
      return FALSE;
  while (more)
    if (!ws_exchange_finish (exchange, text, &more, error))
      return FALSE;
  return TRUE;
}

/* What the list's filters find, the oldest first; the whole archive is for whetsight archive
 * export. */
WsServeReply *
wsi_page_export (WsServe *serve, WsServeRequest *request)
{
  GError *error = NULL;
  g_autoptr (GString) text = g_string_new (NULL);
  WsArchive *archive = wsi_serve_take (serve, &error);
  g_autoptr (GPtrArray) found =
    archive != NULL ? wsi_listing_find (archive, request, &error) : NULL;
  wsi_serve_give (serve, archive);
  if (found == NULL || !write_all (found, text, &error))
    return wsi_serve_take_error (serve, request, error);
  WsServeReply *reply = wsi_reply_take_text (200, "text/csv; charset=utf-8", g_strdup (text->str));
  reply->file_name = g_strdup ("inspections.csv");
  return reply;
}
