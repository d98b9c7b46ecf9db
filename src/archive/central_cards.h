/*
 * Tool cards as the chain of a centre holds them, for benches that take theirs from there.
 */
#ifndef WS_ARCHIVE_CENTRAL_CARDS_H
#define WS_ARCHIVE_CENTRAL_CARDS_H

#include <whetsight/archive.h>

G_BEGIN_DECLS

/* The newest entry on a tool's card. */
typedef struct
{
  char *tool, *text; /* its id, and the whole card */
  char *by, *time, *reason;
  guint64 number; /* of the entry */
  char *hash;
  GPtrArray *earlier; /* of char *: the card's texts before that */
} WsCentralCard;

/* Those of the chain that `centre` was opened for.  They count as far as the newest seal over all
 * chains goes that was made by the key in the file `key` (its public half does): the hash of every
 * row is worked out anew up to the one that was sealed.  `sealed` becomes the seal's time.  In the
 * order of the tools' ids.  Errors: WS_ERROR_NO_INPUT when that key sealed nothing yet;
 * WS_ERROR_DATA when a row isn't as it was written, or the chain isn't the one that was sealed.
 * Free with g_ptr_array_unref(), and `sealed` with g_free(). */
GPtrArray *wsi_central_cards (WsArchive *centre, const char *key, char **sealed, GError **error);

G_END_DECLS

#endif
