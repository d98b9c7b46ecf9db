/*
 * What the archive's inspections of one tool, of several views, say of it together.
 */
#ifndef WS_ARCHIVE_STATE_H
#define WS_ARCHIVE_STATE_H

#include <whetsight/archive.h>

#include "judge/join.h"

G_BEGIN_DECLS

/* Of the tool with that id, by all its inspections in the order of their times.  The views required
 * are those that its newest record names, else all that were looked at.  NULL with an error of
 * ws_archive_each().  Free with wsi_tool_state_free(). */
WsToolState *wsi_archive_tool_state (WsArchive *archive, const char *tool, GError **error);

/* Does the view of that name show what a tool made, and so says nothing of the tool? */
gboolean wsi_is_of_work (const char *view);

/* The inspection's verdict, or that which came of measuring its picture again last where that is
 * worse: nothing becomes good by being looked at again, and what is bad by the limits of today
 * isn't good. */
WsVerdict wsi_archive_standing (const WsInspection *inspection);

/* What came of that where it is worse, or NULL. */
const WsNote *wsi_archive_worse (const WsInspection *inspection);

/* A verdict by its name, WS_VERDICT_NONE for NULL. */
WsVerdict wsi_archive_verdict (const char *name);

G_END_DECLS

#endif
