/*
 * The shop's tool cards: a folder of NAME.tool files.
 */
#ifndef WS_BENCH_CARDS_H
#define WS_BENCH_CARDS_H

#include <jansson.h>
#include <whetsight/archive.h>
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

/* What programs are told of one.  Owned by the caller. */
json_t *wsi_cards_json (const WsServeCard *card);

/* Borrowed. */
typedef struct
{
  const char *id, *text; /* of the whole card */
  const char *by, *login, *reason;
  gboolean may_limit; /* the one who asks may change limits */
} WsCardChange;

/* Makes the card or changes it; the chain says who, why, what before and what after.  `denied` is
 * set when limits would change that the one may not.  Errors: WS_ERROR_USAGE for a text that is no
 * card, or another tool's; those of wsi_event_add() and of writing. */
gboolean wsi_cards_set (const char *folder, WsArchive *archive, const WsCardChange *change,
                        gboolean *denied, GError **error);

G_END_DECLS

#endif
