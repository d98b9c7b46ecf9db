/*
 * Results on an inspection that came of measuring its picture again.
 */
#ifndef WS_ARCHIVE_REMEASURED_H
#define WS_ARCHIVE_REMEASURED_H

#include <jansson.h>
#include <whetsight/archive.h>

G_BEGIN_DECLS

/* What of a result is of something else than the inspection, or NULL; static.  The second of a
 * note's record, which needn't hold one. */
const char *wsi_remeasured_differing (const WsInspection *inspection, const json_t *result);
const char *wsi_remeasured_differs (const WsInspection *inspection, const char *note);

/* The newest one, for that reason when it isn't NULL; or NULL. */
const WsNote *wsi_remeasured_newest (const WsInspection *inspection, const char *reason);

G_END_DECLS

#endif
