/*
 * From a label's picture to its tool.
 */
#include <whetsight/error.h>

#include "base/language.h"
#include "bench/cards.h"
#include "bench/html.h"
#include "bench/intake.h"
#include "bench/pages.h"

WsServeReply *
wsi_page_scan (WsServe *serve, WsServeRequest *request)
{
  GError *error = NULL;
  g_autofree char *text = NULL;
  for (guint i = 0; i < request->parts->len && text == NULL && error == NULL; i++)
  {
    const WsServePart *part = g_ptr_array_index (request->parts, i);
    if (g_str_equal (part->name, "label") && part->n_bytes > 0)
      text = wsi_intake_label (serve, part, &error);
  }
  if (error != NULL)
    return wsi_serve_take_error (serve, request, error);
  if (text == NULL)
    return wsi_serve_trouble (request, 422,
                              _ ("No label is in the picture. Go nearer, the whole code in it."));
  g_autoptr (WsServeCard) card = wsi_cards_find (serve->settings.cards, text, &error);
  if (card == NULL)
    return wsi_serve_take_error (serve, request, error);
  g_autofree char *piece = wsi_html_piece (card->card->id);
  return wsi_reply_take_location (g_strconcat ("/measure/", piece, NULL));
}
