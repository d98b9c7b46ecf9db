/*
 * The shop's tool cards: a folder of NAME.tool files.
 */
#ifndef WS_BENCH_CARDS_H
#define WS_BENCH_CARDS_H

#include <whetsight/card.h>

G_BEGIN_DECLS

#define WSI_CARD_ENDING ".tool"

typedef struct
{
  char *path;
  WsToolCard *card; /* NULL when it can't be read */
  char *wrong;      /* why, or NULL */
} WsServeCard;

void wsi_card_free (WsServeCard *card);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsServeCard, wsi_card_free)

/* Of WsServeCard, by their ids; those that can't be read come last.  Free with
 * g_ptr_array_unref(). */
GPtrArray *wsi_cards_list (const char *folder);

/* The card with that id.  Errors: WS_ERROR_NO_INPUT. */
WsServeCard *wsi_cards_find (const char *folder, const char *id, GError **error);

/* Views that show the card's tool: those that it asks for, else all of its kind; ending in NULL.
 * Free with g_free(). */
const char **wsi_card_views (const WsToolCard *card);

/* "twist-drill 6.5 mm".  Free with g_free(). */
char *wsi_card_words (const WsToolCard *card);

G_END_DECLS

#endif
