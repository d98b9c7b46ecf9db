/*
 * Results on an inspection that came of measuring its picture again.
 */
#ifndef WS_ARCHIVE_REMEASURED_H
#define WS_ARCHIVE_REMEASURED_H

#include <whetsight/archive.h>

G_BEGIN_DECLS

/* The newest one, for that reason when it isn't NULL; or NULL. */
const WsNote *wsi_remeasured_newest (const WsInspection *inspection, const char *reason);

G_END_DECLS

#endif
