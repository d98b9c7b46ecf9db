/*
 * What people add to an inspection: a row of the same chain, whose record is a note.
 *
 *   {"note": "whetsight-note/1", "id": …, "time": …, "program": …, "kind": "release",
 *    "about": ID, "record_sha256": …, "verdict": "reject", "by": NAME, "text": REASON,
 *    "account": USER}
 *
 * record_sha256 is of the inspection's record, so that a note can't come to stand on another one's
 * result, and still holds in another archive.  One that the picture was measured again, of the kind
 * "measured-again", ends in
 *
 *   … "settings": HASH, "result": {"record": "whetsight/1", …}}
 *
 * the result byte by byte as measure gave it.
 */
#ifndef WS_ARCHIVE_NOTE_H
#define WS_ARCHIVE_NOTE_H

#include <jansson.h>
#include <whetsight/archive.h>

G_BEGIN_DECLS

#define WSI_NOTE_FORM "whetsight-note/1"

/* Of a note that pictures were removed: an array of their SHA-256. */
#define WSI_NOTE_REMOVED "removed"

/* Of a note that the picture was measured again: what came of it, and the hash of its settings. */
#define WSI_NOTE_RESULT "result"
#define WSI_NOTE_SETTINGS "settings"

/* Stands in place of a view. */
#define WSI_NOTE_VIEW "note"

/* A row that is on no inspection, but on an account, a card or a tool: see event.h. */
#define WSI_EVENT_FORM "whetsight-event/1"
#define WSI_EVENT_VIEW "event"

typedef enum
{
  WS_EVENT_ACCOUNT,  /* about "account NAME" */
  WS_EVENT_CARD,     /* about "card ID" */
  WS_EVENT_REGRIND,  /* about "tool ID" */
  WS_EVENT_HANDOVER, /* to the toolroom; about "tool ID" */
  WS_EVENT_CHECK,    /* of a calibration; about "calibration NAME" */
  WS_N_EVENTS
} WsEventKind;

/* "account" …; static. */
const char *wsi_event_kind_name (WsEventKind kind);

gboolean wsi_note_is (const json_t *record);
gboolean wsi_note_is_kind (const char *name);
gboolean wsi_note_is_event (const WsInspection *row);

/* Fills a row's columns from its record.  FALSE when something that a note has is missing or of
 * another type; `what` says which, static. */
gboolean wsi_note_fill (WsInspection *row, const json_t *record, const char **what);

/* What of a result is of something else than the record of an inspection, or NULL; static. */
const char *wsi_note_differing (const json_t *record, const json_t *result);

/* What a note's row says otherwise than the inspection that it is on, in words; NULL when nothing.
 * FALSE when that can't be read. */
gboolean wsi_note_compare (WsArchive *archive, const WsInspection *row, char **what,
                           GError **error);

/* "RELEASED AGAINST THE VERDICT by Q. Quill (login quill), TIME: the reason"; `time` as it is to be
 * shown.  Free with g_free(). */
char *wsi_note_words (const WsNote *note, const char *time);

/* The same in this thread's language.  Free with g_free(). */
char *wsi_note_told (const WsNote *note, const char *time);

/* The newest release; NULL when it wasn't released. */
const WsNote *wsi_notes_release (const WsInspection *inspection);

/* All of an inspection's, with times as they are recorded, after each other; NULL when there are
 * none.  Free with g_free(). */
char *wsi_notes_words (const WsInspection *inspection);

typedef void (*WsNameVisit) (const char *sha256, gpointer data);

/* Pictures that the row, a note made here, says were removed; none for other rows.  What another
 * archive removed says nothing of this one. */
void wsi_note_each_removed (const WsInspection *row, WsNameVisit visit, gpointer data);

/* As ws_inspection_was_cleared(). */
gboolean wsi_notes_removed (const WsInspection *inspection, const char *sha256);

/* Of a row that is one; owned by an array of wsi_notes_copy(). */
WsNote *wsi_note_of (const WsInspection *row);

/* An empty one of NULL.  Free with g_ptr_array_unref(). */
GPtrArray *wsi_notes_copy (GPtrArray *notes);

G_END_DECLS

#endif
