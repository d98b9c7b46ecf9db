/*
 * The pictures of a series that an inspection's record lists.
 */
#ifndef WS_ARCHIVE_SERIES_H
#define WS_ARCHIVE_SERIES_H

#include <whetsight/archive.h>

G_BEGIN_DECLS

/* SHA-256 of each beside the inspection's own picture, ending in NULL; none of a single picture's
 * record.  Free with g_strfreev(). */
char **wsi_series_others (const WsInspection *inspection);

G_END_DECLS

#endif
