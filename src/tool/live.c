/*
 * Words while a tool is set up: docs/methods/following.md.
 */
#include <whetsight/live.h>

#include "tool/silhouette.h"

#include <math.h>

/* README's exposure puts the ground at 0.6 of full light; this is a quarter of it.  Above the other
 * it is about to clip. */
#define DARK 0.15
#define BRIGHT 0.97

/* Who adds light shall add enough: half of README's, not the least that is measured. */
#define LIT 0.3

/* Sharper than measuring asks for by this factor: who can focus shall. */
#define SOFT_SHARE 0.5

/* Blur and lean must change by so much before they are said to have got better or worse. */
#define CHANGE_SHARE 0.05
#define CHANGE_DEG 0.1

/* Lips are to be turned beyond the first, and then until they are within the second. */
#define TURNED_DEG 1.5
#define SQUARE_DEG 1.0

/* An estimate that may be off by more than they are asks for no more than what it knows; but this
 * far below what is refused lips are to be turned all the same. */
#define MOST_UNSURE_DEG 2.5

/* A drill's lean is taken out of its values up to 2.5 degrees; it is asked for less. */
#define LEAN_DEG 1.0

/* Between outline and border: room for scan lines, so many blurs and px. */
#define ROOM_BLURS 5
#define ROOM_PX 6

/* As still as this from frame to frame, and what noise makes of it: a threshold's crossing is known
 * to sqrt (2 pi) blurs times noise / step, and nine tenths of them lie within 1.64 of that. */
#define STILL_PX 0.3
#define STILL_NOISE 4.2

/* Times are sums of parts of a second. */
#define GOOD_S (0.5 - 1e-6)

/* What stays for so long while it is said to be dirt isn't any, or can't be cleaned off, and a tool
 * that isn't the card's may be another one. */
#define DOUBTED_S 5.0

/* Dirt lies where scan lines are so many times as far from a step as the median one is, over so
 * many neighbours. */
#define DIRT_NOISE 4
#define DIRT_POINTS 9

static const struct
{
  const char *code, *text;
} words[WS_N_LIVE_WORDS] = {
  [WS_LIVE_NO_TOOL] = { "no-tool", "no tool" },
  [WS_LIVE_TOO_DARK] = { "too-dark", "too dark" },
  [WS_LIVE_TOO_BRIGHT] = { "too-bright", "too bright" },
  [WS_LIVE_OUT_OF_FOCUS] = { "out-of-focus", "out of focus" },
  [WS_LIVE_NEAR_FRAME] = { "near-frame", "too near the frame" },
  [WS_LIVE_TURNED] = { "turned", "turned" },
  [WS_LIVE_LEANING] = { "leaning", "leaning" },
  [WS_LIVE_DIRTY] = { "dirty", "dirty here" },
  [WS_LIVE_OTHER] = { "retake", "can't be measured" },
  [WS_LIVE_HOLD_STILL] = { "hold-still", "hold still" },
  [WS_LIVE_GOOD] = { "good", "good" },
  [WS_LIVE_TAKE] = { "take", "take" },
};

static const char *const arrows[WS_N_LIVE_ARROWS] = {
  NULL, "up", "right", "down", "left", "clockwise", "counterclockwise", "on", "back",
};

const char *
ws_live_word_code (WsLiveWord word)
{
  return words[word].code;
}

const char *
ws_live_word_text (WsLiveWord word)
{
  return words[word].text;
}

const char *
ws_live_arrow_code (WsLiveArrow arrow)
{
  return arrows[arrow];
}

/* ---- What a frame shows -------------------------------------------------------------- */

/* The picture's border spoils scan lines beside it. */
static gboolean
is_by_frame (const WsFollowed *followed, guint i)
{
  for (guint k = 0; k <= 2 * DIRT_POINTS; k++)
    if (followed->points[(i + followed->n + k - DIRT_POINTS) % followed->n].on_frame)
      return TRUE;
  return FALSE;
}

/* Where scan lines are least of a step. */
static void
find_dirt (const WsFollowed *followed, WsLiveSeen *seen)
{
  double sum = 0, worst = DIRT_POINTS * DIRT_NOISE * followed->noise;
  for (guint i = 0; i < followed->n; i++)
  {
    sum += followed->points[i].noise;
    if (i < DIRT_POINTS)
      continue;
    sum -= followed->points[i - DIRT_POINTS].noise;
    if (sum <= worst || is_by_frame (followed, i))
      continue;
    worst = sum;
    seen->has_place = TRUE;
    seen->where_px = followed->points[i - DIRT_POINTS / 2].at;
  }
}

/* Where the view found dirt and could measure the rest. */
static void
find_told_dirt (const WsResult *result, WsLiveSeen *seen)
{
  for (guint i = 0; i < result->findings->len; i++)
  {
    const WsFinding *finding = g_ptr_array_index (result->findings, i);
    if (!g_str_equal (finding->code, "dirt") || !finding->has_place)
      continue;
    seen->dirty = seen->has_place = TRUE;
    seen->where_px = finding->where_px;
  }
}

/* A tool comes in from one side; what is missing of one that is cut off by more may be there. */
static gboolean
is_cut_twice (const double cut[4])
{
  guint n = 0;
  for (guint k = 0; k < 4; k++)
    n += cut[k] > 0 ? 1 : 0;
  return n > 1;
}

WsLiveSeen
ws_live_look (const WsFollowed *followed, const WsResult *result, double time_s)
{
  WsLiveSeen seen = { .time_s = time_s,
                      .reason = followed->reason,
                      .ground = NAN,
                      .blur_px = NAN,
                      .moved_px = NAN,
                      .turn_deg = NAN,
                      .lean_deg = NAN };
  seen.ground = MAX (followed->ground, followed->tool);
  for (guint k = 0; k < 4; k++)
    seen.room_px[k] = INFINITY;
  g_strlcpy (seen.detail, followed->detail, sizeof seen.detail);
  if (followed->how == WS_FOLLOW_LOST)
    return seen;
  seen.blur_px = followed->blur_px;
  seen.soft_px = SOFT_SHARE * wsi_silhouette_blur_limit (followed->area_px);
  seen.moved_px = followed->moved_px;
  seen.still_px = STILL_PX + STILL_NOISE * followed->noise * followed->blur_px;
  seen.least_room_px = ROOM_PX + ROOM_BLURS * followed->blur_px;
  for (guint k = 0; k < 4; k++)
  {
    seen.room_px[k] = followed->room_px[k];
    seen.cut_px[k] = followed->cut_px[k];
  }
  if (result == NULL)
    return seen;
  seen.reason = result->reason;
  g_strlcpy (seen.detail, result->detail != NULL ? result->detail : "", sizeof seen.detail);
  seen.turn_deg = result->turn_deg;
  seen.lean_deg = result->lean_deg;
  if (isfinite (result->u_turn_deg))
    seen.unsure_deg = MIN (2 * result->u_turn_deg, MOST_UNSURE_DEG);
  find_told_dirt (result, &seen);
  seen.partly =
    is_cut_twice (followed->cut_px) && g_strcmp0 (ws_result_reason (result), "card-mismatch") == 0;
  if (result->reason == WS_RETAKE_DIRTY_EDGE)
    find_dirt (followed, &seen);
  return seen;
}

/* ---- What is said -------------------------------------------------------------------- */

/* Which way something changed that is best when it is little; `before` is what change is told from,
 * NAN at first. */
static void
see_change (double value, double least, double *before, WsLiveArrow *arrow)
{
  if (!isfinite (value))
    return;
  if (isfinite (*before) && fabs (value - *before) < least)
    return;
  if (isfinite (*before))
    *arrow = value < *before ? WS_LIVE_ON : WS_LIVE_BACK;
  *before = value;
}

static void
remember (WsLive *live, const WsLiveSeen *seen)
{
  if (!live->begun)
    *live = (WsLive){
      .begun = TRUE, .good_since_s = NAN, .doubted_since_s = NAN, .blur_px = NAN, .lean_deg = NAN
    };
  if (!seen->dirty && !seen->partly)
    live->doubted_since_s = NAN;
  else if (isnan (live->doubted_since_s))
    live->doubted_since_s = seen->time_s;
  const double lean = fabs (seen->lean_deg);
  see_change (seen->blur_px, CHANGE_SHARE * live->blur_px, &live->blur_px, &live->focus);
  see_change (lean, CHANGE_DEG, &live->lean_deg, &live->lean);
}

#define BOTTOM 2

static const WsLiveArrow away[4] = { WS_LIVE_DOWN, WS_LIVE_LEFT, WS_LIVE_UP, WS_LIVE_RIGHT };

/* A tool comes in from below where it covers any of that, since most point up, else from the side
 * of which it covers most; away from the next one. */
static WsLiveArrow
away_from_cut (const double cut[4])
{
  guint first = BOTTOM, second = 4;
  for (guint k = 0; k < 4 && !(cut[BOTTOM] > 0); k++)
    first = cut[k] > cut[first] ? k : first;
  for (guint k = 0; k < 4; k++)
    if (k != first && cut[k] > 0 && (second == 4 || cut[k] > cut[second]))
      second = k;
  return second < 4 ? away[second] : WS_LIVE_NO_ARROW;
}

/* Away from the side that is nearest. */
static gboolean
is_near_frame (const WsLiveSeen *seen, WsLiveSaid *said)
{
  double least = seen->least_room_px;
  for (guint k = 0; k < 4; k++)
  {
    if (!(seen->room_px[k] < least))
      continue;
    least = seen->room_px[k];
    said->arrow = away[k];
    said->amount = ceil (seen->least_room_px - least);
  }
  return said->arrow != WS_LIVE_NO_ARROW;
}

static gboolean
is_turned (const WsLive *live, const WsLiveSeen *seen)
{
  const double most = live->word == WS_LIVE_TURNED ? SQUARE_DEG : TURNED_DEG;
  return fabs (seen->turn_deg) > MAX (most, seen->unsure_deg);
}

/* A turned drill may look like something else altogether. */
static WsLiveWord
word_of_retake (const WsLive *live, const WsLiveSeen *seen)
{
  switch (seen->reason)
  {
  case WS_RETAKE_NO_TOOL:
    return WS_LIVE_NO_TOOL;
  case WS_RETAKE_UNDER_EXPOSED:
    return WS_LIVE_TOO_DARK;
  case WS_RETAKE_OVER_EXPOSED:
    return WS_LIVE_TOO_BRIGHT;
  case WS_RETAKE_OUT_OF_FOCUS:
    return WS_LIVE_OUT_OF_FOCUS;
  case WS_RETAKE_CUT_BY_FRAME:
    return WS_LIVE_NEAR_FRAME;
  case WS_RETAKE_LIPS_TURNED:
    return WS_LIVE_TURNED;
  case WS_RETAKE_WRONG_VIEW:
    return is_turned (live, seen)        ? WS_LIVE_TURNED
           : is_cut_twice (seen->cut_px) ? WS_LIVE_NEAR_FRAME
                                         : WS_LIVE_OTHER;
  case WS_RETAKE_LEANING:
    return WS_LIVE_LEANING;
  case WS_RETAKE_DIRTY_EDGE:
    return WS_LIVE_DIRTY;
  case WS_RETAKE_MOTION_BLUR:
    return WS_LIVE_HOLD_STILL;
  default:
    return WS_LIVE_OTHER;
  }
}

/* What the frame shows by itself, or WS_LIVE_GOOD. */
static WsLiveWord
word_of_frame (const WsLiveSeen *seen, double dark, WsLiveSaid *said)
{
  if (seen->ground < dark)
    return WS_LIVE_TOO_DARK;
  if (seen->ground > BRIGHT)
    return WS_LIVE_TOO_BRIGHT;
  if (seen->blur_px > seen->soft_px)
    return WS_LIVE_OUT_OF_FOCUS;
  return is_near_frame (seen, said) ? WS_LIVE_NEAR_FRAME : WS_LIVE_GOOD;
}

gboolean
ws_live_wants_measuring (const WsLiveSeen *seen)
{
  WsLiveSaid said = { .arrow = WS_LIVE_NO_ARROW };
  return seen->reason == WS_RETAKE_NONE && word_of_frame (seen, DARK, &said) == WS_LIVE_GOOD;
}

static WsLiveWord
word_of (const WsLive *live, const WsLiveSeen *seen, WsLiveSaid *said)
{
  const WsLiveWord word = word_of_frame (seen, live->word == WS_LIVE_TOO_DARK ? LIT : DARK, said);
  if (word != WS_LIVE_GOOD)
    return word;
  if (seen->reason != WS_RETAKE_NONE)
    return word_of_retake (live, seen);
  if (is_turned (live, seen))
    return WS_LIVE_TURNED;
  if (fabs (seen->lean_deg) > LEAN_DEG)
    return WS_LIVE_LEANING;
  if (seen->time_s - live->doubted_since_s < DOUBTED_S)
    return seen->partly ? WS_LIVE_NEAR_FRAME : WS_LIVE_DIRTY;
  if (!(seen->moved_px <= seen->still_px))
    return WS_LIVE_HOLD_STILL;
  return WS_LIVE_GOOD;
}

static void
tell_how (const WsLive *live, const WsLiveSeen *seen, WsLiveSaid *said)
{
  switch (said->word)
  {
  case WS_LIVE_OUT_OF_FOCUS:
    said->arrow = live->focus;
    said->amount = seen->blur_px;
    break;
  case WS_LIVE_TURNED:
    said->amount = fabs (seen->turn_deg);
    if (isfinite (seen->turn_deg))
      said->arrow = seen->turn_deg > 0 ? WS_LIVE_CLOCKWISE : WS_LIVE_COUNTERCLOCKWISE;
    break;
  case WS_LIVE_LEANING:
    said->arrow = live->lean;
    said->amount = fabs (seen->lean_deg);
    break;
  case WS_LIVE_NEAR_FRAME:
    if (said->arrow == WS_LIVE_NO_ARROW)
      said->arrow = away_from_cut (seen->cut_px);
    break;
  case WS_LIVE_DIRTY:
    said->has_place = seen->has_place;
    said->where_px = seen->where_px;
    break;
  default:
    break;
  }
}

WsLiveSaid
ws_live_say (WsLive *live, const WsLiveSeen *seen)
{
  remember (live, seen);
  WsLiveSaid said = { .amount = NAN, .reason = seen->reason };
  g_strlcpy (said.detail, seen->detail, sizeof said.detail);
  said.word = word_of (live, seen, &said);
  tell_how (live, seen, &said);
  if (said.word != WS_LIVE_GOOD)
    live->good_since_s = NAN;
  else if (isnan (live->good_since_s))
    live->good_since_s = seen->time_s;
  said.good_s = said.word == WS_LIVE_GOOD ? seen->time_s - live->good_since_s : 0;
  if (said.good_s >= GOOD_S)
  {
    said.word = WS_LIVE_TAKE;
    live->good_since_s = NAN;
  }
  live->word = said.word;
  return said;
}
