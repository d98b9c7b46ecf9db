/*
 * What a record says, in words, for those who have nothing but the record.
 */
#ifndef WS_REPORT_TOLD_H
#define WS_REPORT_TOLD_H

#include <jansson.h>
#include <whetsight/exchange.h>
#include <whetsight/result.h>

G_BEGIN_DECLS

/* "Segment 3 angle" of "segment_3_angle_deg": as its view declares it, else its own name in words.
 * `info` (or NULL) is what it declares, NULL where it doesn't.  Free with g_free(). */
char *wsi_told_label (WsQuantityLookup lookup, const char *view, const char *name,
                      const WsQuantityInfo **info);

/* What a retake asks for, or the finding that the verdict rests on, by the reason's code; else
 * which quantities have the tool's verdict.  "" when there is nothing to tell; free with g_free().
 */
char *wsi_told_reason (WsQuantityLookup lookup, const char *view, const json_t *record);

G_END_DECLS

#endif
