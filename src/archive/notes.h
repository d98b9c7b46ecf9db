/*
 * The notes on an inspection.
 */
#ifndef WS_ARCHIVE_NOTES_H
#define WS_ARCHIVE_NOTES_H

#include <jansson.h>
#include <whetsight/archive.h>

G_BEGIN_DECLS

/* Fills `inspection->notes`; a note that isn't as it was written makes the inspection wrong, since
 * nobody knows what was said of it. */
gboolean wsi_notes_gather (WsArchive *archive, WsInspection *inspection, GError **error);

/* Errors: WS_ERROR_USAGE without a name or a reason, or with one that is too long or no UTF-8. */
gboolean wsi_notes_check_words (const WsNoteWords *words, GError **error);

/* A note's record; `removed` is an array that one on removed pictures has, or NULL.  Free with
 * g_free(). */
char *wsi_notes_record (const WsInspection *inspection, const WsNoteWords *words, json_t *removed);

G_END_DECLS

#endif
