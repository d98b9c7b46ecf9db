/*
 * What people change beside inspections, kept as rows of the same chain: who, when, what before,
 * what after, why.
 *
 *   {"note": "whetsight-event/1", "id": …, "time": …, "program": …, "kind": "card",
 *    "about": "card QT-D-0118", "by": NAME, "account": LOGIN, "text": REASON, "before": …,
 *    "after": …}
 */
#ifndef WS_ARCHIVE_EVENT_H
#define WS_ARCHIVE_EVENT_H

#include "archive/note.h"

G_BEGIN_DECLS

/* Borrowed. */
typedef struct
{
  WsEventKind kind;
  const char *subject; /* the account's name, the card's or the tool's id */
  const char *by, *account, *text;
  const json_t *before, *after; /* or NULL */
} WsEventWords;

/* Adds one; when this returns TRUE it is on disk or, inside ws_archive_begin(), with what is
 * committed.  Errors: WS_ERROR_USAGE without a name or a reason, or with one that is too long;
 * WS_ERROR_CANT_WRITE. */
gboolean wsi_event_add (WsArchive *archive, const WsEventWords *words, GError **error);

typedef struct
{
  guint64 number;
  char *id, *time, *by, *account, *text;
  json_t *before, *after; /* or NULL */
} WsEvent;

void wsi_event_free (WsEvent *event);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsEvent, wsi_event_free)

/* Those of a subject that were added here, in the order of storing.  Errors: WS_ERROR_DATA when one
 * isn't as it was written.  Free with g_ptr_array_unref(). */
GPtrArray *wsi_events_of (WsArchive *archive, WsEventKind kind, const char *subject,
                          GError **error);

/* The last of them; NULL without an error when there is none. */
WsEvent *wsi_event_last (WsArchive *archive, WsEventKind kind, const char *subject, GError **error);

G_END_DECLS

#endif
