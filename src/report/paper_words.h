/*
 * What stands on an inspection's paper and follows from others in the archive.
 */
#ifndef WS_REPORT_PAPER_WORDS_H
#define WS_REPORT_PAPER_WORDS_H

#include <whetsight/archive.h>

G_BEGIN_DECLS

/* What all views of the tool say of it; NULL for a tool without a card, and with an error.  Free
 * with g_free(). */
char *wsi_paper_state (WsArchive *archive, const WsInspection *inspection, GError **error);

/* When the edge that was measured was ground, and whether it is there still; NULL for a tool
 * without a card, and with an error.  Free with g_free(). */
char *wsi_paper_regrind (WsArchive *archive, const WsInspection *inspection, GError **error);

G_END_DECLS

#endif
