/*
 * Words while a tool is set up before a camera: from what each frame shows, one thing at a time
 * that is to be done next, and when the picture is good and still, that it is to be taken.
 *
 *   WsLive live = WS_LIVE_INIT;
 *   for each frame:
 *     const WsFollowed *followed = ws_follow_frame (follow, frame);
 *     WsLiveSeen seen = ws_live_look (followed, NULL, seconds);
 *     if (ws_live_wants_measuring (&seen))
 *     {
 *       g_autoptr (WsResult) result = ws_measure (view, frame, card, &optics);
 *       seen = ws_live_look (followed, result, seconds);
 *     }
 *     const WsLiveSaid said = ws_live_say (&live, &seen);
 */
#ifndef WHETSIGHT_LIVE_H
#define WHETSIGHT_LIVE_H

#include <whetsight/follow.h>
#include <whetsight/result.h>

G_BEGIN_DECLS

/* In the order in which they are said: what hides the rest comes first. */
typedef enum
{
  WS_LIVE_NO_TOOL,
  WS_LIVE_TOO_DARK,
  WS_LIVE_TOO_BRIGHT,
  WS_LIVE_OUT_OF_FOCUS,
  WS_LIVE_NEAR_FRAME, /* too near the picture's border, or cut off by it */
  WS_LIVE_TURNED,     /* lips out of the picture's plane */
  WS_LIVE_LEANING,    /* axis out of the picture's plane */
  WS_LIVE_DIRTY,
  WS_LIVE_OTHER, /* what else makes the picture a retake: see `reason` */
  WS_LIVE_HOLD_STILL,
  WS_LIVE_GOOD, /* and still: wait */
  WS_LIVE_TAKE, /* it has been so for half a second */
  WS_N_LIVE_WORDS
} WsLiveWord;

typedef enum
{
  WS_LIVE_NO_ARROW,
  WS_LIVE_UP, /* move the tool that way in the picture */
  WS_LIVE_RIGHT,
  WS_LIVE_DOWN,
  WS_LIVE_LEFT,
  WS_LIVE_CLOCKWISE, /* turn a right-hand drill that way, as you look at its point */
  WS_LIVE_COUNTERCLOCKWISE,
  WS_LIVE_ON,   /* it got better: go on that way */
  WS_LIVE_BACK, /* it got worse: go back */
  WS_N_LIVE_ARROWS
} WsLiveArrow;

/* "no-tool" …, for programs; static. */
const char *ws_live_word_code (WsLiveWord word);
/* "no tool" …, for people; static. */
const char *ws_live_word_text (WsLiveWord word);
/* "up" …; NULL for WS_LIVE_NO_ARROW; static. */
const char *ws_live_arrow_code (WsLiveArrow arrow);

/* What one frame shows.  NAN where it doesn't tell. */
typedef struct
{
  double time_s;   /* from any start, never less than the frame's before */
  WsRetake reason; /* why it can't be measured, or WS_RETAKE_NONE */
  double ground;   /* light, linear, 0 .. 1 */
  double blur_px;  /* of the edge */
  double soft_px;  /* above this it is out of focus */
  double moved_px; /* since the last frame */
  double still_px; /* below this it stands still: noise moves edges, too */
  double
    room_px[4]; /* to the picture's top, right, bottom, left; INFINITY where the tool comes in */
  double least_room_px;
  double cut_px[4]; /* how much of each side the tool covers */
  double turn_deg, lean_deg;
  double unsure_deg;  /* a smaller turn is no news */
  gboolean dirty;     /* something clings to the tool, which was measured all the same */
  gboolean partly;    /* it isn't the card's tool, and leaves the picture on several sides */
  gboolean has_place; /* of dirt */
  WsPoint where_px;
  char detail[96]; /* what was seen where it can't be measured; "" else */
} WsLiveSeen;

/* `result` of the whole frame, NULL where it wasn't measured. */
WsLiveSeen ws_live_look (const WsFollowed *followed, const WsResult *result, double time_s);

/* Is there anything that measuring the frame could add?  Not before light, focus and place are
 * right.
 */
gboolean ws_live_wants_measuring (const WsLiveSeen *seen);

/* What is remembered from frame to frame: plain numbers, nothing to free. */
typedef struct
{
  gboolean begun;
  WsLiveWord word;          /* said last */
  double good_since_s;      /* NAN: not good and still */
  double doubted_since_s;   /* dirty or partly there; NAN: neither, or it wasn't measured */
  double blur_px, lean_deg; /* that change is told from; NAN: none yet */
  WsLiveArrow focus, lean;  /* which way they changed last */
} WsLive;

#define WS_LIVE_INIT                                                                               \
  {                                                                                                \
    .begun = FALSE                                                                                 \
  }

typedef struct
{
  WsLiveWord word;
  WsLiveArrow arrow;
  double amount;   /* degrees to turn, of lean, px of blur or to move; NAN: none */
  WsRetake reason; /* of the frame */
  gboolean has_place;
  WsPoint where_px;
  double good_s;   /* for how long it has been good and still */
  char detail[96]; /* of the frame, "something clings to lip a"; or "" */
} WsLiveSaid;

/* After WS_LIVE_TAKE it begins anew. */
WsLiveSaid ws_live_say (WsLive *live, const WsLiveSeen *seen);

G_END_DECLS

#endif
