/*
 * How far a feed is: kept beside its file, whole or not at all.
 */
#ifndef WS_ARCHIVE_FEED_STATE_H
#define WS_ARCHIVE_FEED_STATE_H

#include <glib.h>

G_BEGIN_DECLS

/* Rows get their numbers before they commit: of an archive that many write to, one may appear
 * behind others that have greater numbers.  So the newest that were handled are remembered one by
 * one; a row that comes later than so many others would be missed. */
#define WS_FEED_REMEMBERED 1000

/* One way out. */
typedef struct
{
  guint64 after;    /* rows up to this number were handled */
  GArray *beyond;   /* of guint64: those behind it that were, too, in their order */
  guint n_remember; /* 0 where rows come in the order of their numbers */
} WsFeedCursor;

typedef struct
{
  WsFeedCursor assets, files;
  GHashTable *tools; /* ids whose asset waits */
  char *path;
  int lock; /* of who runs it */
} WsFeedState;

/* Of the feed in the file `path`; a new one where there is none.  Errors: WS_ERROR_CANT_WRITE when
 * another run is at it; WS_ERROR_DATA for a state that is none.  Free with wsi_feed_state_free().
 */
WsFeedState *wsi_feed_state_open (const char *path, guint n_remember, GError **error);
void wsi_feed_state_free (WsFeedState *state);

gboolean wsi_feed_state_save (const WsFeedState *state, GError **error);

gboolean wsi_feed_cursor_knows (const WsFeedCursor *cursor, guint64 number);
void wsi_feed_cursor_handled (WsFeedCursor *cursor, guint64 number);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsFeedState, wsi_feed_state_free)

G_END_DECLS

#endif
