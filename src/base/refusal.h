/*
 * A picture that can't be measured: why, and what was seen.  Whoever finds out fills one in and
 * returns FALSE; the view makes its result a retake of it.
 */
#ifndef WS_BASE_REFUSAL_H
#define WS_BASE_REFUSAL_H

#include <whetsight/retake.h>

G_BEGIN_DECLS

typedef struct
{
  WsRetake reason; /* WS_RETAKE_NONE at first */
  char detail[96]; /* what was seen; may be empty */
} WsRefusal;

/* Always FALSE, for the caller to return.  `format` is printf-style. */
gboolean wsi_refusal_set (WsRefusal *refusal, WsRetake reason, const char *format, ...)
  G_GNUC_PRINTF (3, 4);

G_END_DECLS

#endif
