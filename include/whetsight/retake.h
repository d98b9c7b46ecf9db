/*
 * Why a picture can't be measured honestly.  A reason is a result, not an error: whoever looks at a
 * picture, from the search of the tool to the view, may come to one.
 */
#ifndef WHETSIGHT_RETAKE_H
#define WHETSIGHT_RETAKE_H

#include <glib.h>

G_BEGIN_DECLS

typedef enum
{
  WS_RETAKE_NONE,
  WS_RETAKE_NO_TOOL,
  WS_RETAKE_SEVERAL_TOOLS,
  WS_RETAKE_CUT_BY_FRAME,
  WS_RETAKE_OUT_OF_FOCUS,
  WS_RETAKE_MOTION_BLUR,
  WS_RETAKE_OVER_EXPOSED,
  WS_RETAKE_UNDER_EXPOSED,
  WS_RETAKE_LOW_CONTRAST,
  WS_RETAKE_LIPS_TURNED,
  WS_RETAKE_TOO_SMALL,
  WS_RETAKE_WRONG_VIEW,
  WS_RETAKE_DIRTY_EDGE,
  WS_RETAKE_SHARPENED,
  WS_RETAKE_TONES_CHANGED,
  WS_RETAKE_TONE_UNKNOWN,
  WS_RETAKE_NOT_AN_IMAGE,
  WS_RETAKE_TOO_LARGE,
  WS_RETAKE_LEANING,
  WS_RETAKE_PIXELS_NOT_SQUARE,
  WS_N_RETAKES
} WsRetake;

/* "no-tool" …; NULL for WS_RETAKE_NONE; static. */
const char *ws_retake_code (WsRetake reason);

/* One sentence for the user: what is wrong with the picture and what to change; static. */
const char *ws_retake_sentence (WsRetake reason);

G_END_DECLS

#endif
