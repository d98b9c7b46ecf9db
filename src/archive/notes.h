/*
 * The notes on an inspection.
 */
#ifndef WS_ARCHIVE_NOTES_H
#define WS_ARCHIVE_NOTES_H

#include <whetsight/archive.h>

G_BEGIN_DECLS

/* Fills `inspection->notes`; a note that isn't as it was written makes the inspection wrong, since
 * nobody knows what was said of it. */
gboolean wsi_notes_gather (WsArchive *archive, WsInspection *inspection, GError **error);

G_END_DECLS

#endif
