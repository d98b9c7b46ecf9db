#include "cli/live.h"

#include <math.h>
#include <stdio.h>

#include <jansson.h>
#include <whetsight/error.h>

#include "cli/say.h"
#include "report/live_words.h"

/* Longer than any exposure that suits a bench, shorter than anybody waits. */
#define TIMEOUT_MS 5000

/* Frames that may be lost on the way, in a row, before the cable is to blame. */
#define MOST_LOST 4

/* ---- Words ------------------------------------------------------------------------------- */

static const char *const pointers[WS_N_LIVE_ARROWS] = {
  "   ", " ^ ", "-->", " v ", "<--", "cw ", "ccw", ">>>", "<<<",
};

char *
wsi_live_line (const WsLiveSaid *said)
{
  g_autofree char *words = wsi_live_words (said);
  return g_strdup_printf ("%s  %s", pointers[said->arrow], words);
}

/* ---- JSON -------------------------------------------------------------------------------- */

static json_t *
number_of (double value)
{
  return isfinite (value) ? json_real (value) : json_null ();
}

/* Of one frame; ms. */
typedef struct
{
  double follow, measure;
} Delay;

static gboolean
say_json (const WsFrame *frame, const WsLiveSeen *seen, const WsLiveSaid *said, const Delay *delay)
{
  const char *arrow = ws_live_arrow_code (said->arrow), *reason = ws_retake_code (said->reason);
  json_t *line = json_object ();
  json_object_set_new (line, "live", json_string ("whetsight-live/1"));
  json_object_set_new (line, "frame", json_integer ((json_int_t)frame->number));
  json_object_set_new (line, "time_s", number_of (seen->time_s));
  json_object_set_new (line, "word", json_string (ws_live_word_code (said->word)));
  json_object_set_new (line, "arrow", arrow != NULL ? json_string (arrow) : json_null ());
  json_object_set_new (line, "amount", number_of (said->amount));
  json_object_set_new (line, "reason", reason != NULL ? json_string (reason) : json_null ());
  json_object_set_new (line, "where_px",
                       said->has_place ? json_pack ("[f,f]", said->where_px.x, said->where_px.y)
                                       : json_null ());
  json_object_set_new (line, "detail",
                       *said->detail != '\0' ? json_string (said->detail) : json_null ());
  json_object_set_new (line, "good_s", number_of (said->good_s));
  json_object_set_new (line, "blur_px", number_of (seen->blur_px));
  json_object_set_new (line, "moved_px", number_of (seen->moved_px));
  json_object_set_new (line, "turn_deg", number_of (seen->turn_deg));
  json_object_set_new (line, "lean_deg", number_of (seen->lean_deg));
  json_object_set_new (line, "follow_ms", number_of (delay->follow));
  json_object_set_new (line, "measure_ms", number_of (delay->measure));
  char *text = json_dumps (line, JSON_REAL_PRECISION (6));
  json_decref (line);
  const gboolean said_it = text != NULL && wsi_say_json (text);
  free (text);
  return said_it;
}

/* ---- Frames ------------------------------------------------------------------------------ */

typedef struct
{
  const WsLiveWatch *watch;
  WsFollow *follow;
  WsLive live;
  WsLiveSaid said;
  char *line; /* said last */
  guint n_frames, n_measured, n_searched;
  double follow_ms, measure_ms, first_s, last_s;
} Watch;

static void
watch_clear (Watch *watch)
{
  ws_follow_free (watch->follow);
  g_free (watch->line);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Watch, watch_clear)

static double
ms_since (gint64 start)
{
  return 1e-3 * (double)(g_get_monotonic_time () - start);
}

static WsLiveSeen
look (Watch *watch, const WsFrame *frame, Delay *delay)
{
  const WsLiveWatch *asked = watch->watch;
  const double time_s =
    isnan (asked->rate) ? 1e-6 * (double)frame->time_us : (double)frame->number / asked->rate;
  gint64 start = g_get_monotonic_time ();
  const WsFollowed *followed = ws_follow_frame (watch->follow, frame->image);
  *delay = (Delay){ .follow = ms_since (start), .measure = NAN };
  watch->follow_ms += delay->follow;
  watch->n_searched += followed->how == WS_FOLLOW_FOLLOWED ? 0 : 1;
  watch->first_s = watch->n_frames++ == 0 ? time_s : watch->first_s;
  watch->last_s = time_s;
  WsLiveSeen seen = ws_live_look (followed, NULL, time_s);
  if (!ws_live_wants_measuring (&seen))
    return seen;
  start = g_get_monotonic_time ();
  g_autoptr (WsResult) result = ws_measure (asked->view, frame->image, asked->card, &asked->optics);
  delay->measure = ms_since (start);
  watch->measure_ms += delay->measure;
  watch->n_measured++;
  return ws_live_look (followed, result, time_s);
}

/* A line is said once, until another one is. */
static void
tell (Watch *watch, const WsFrame *frame, const WsLiveSeen *seen, const Delay *delay)
{
  if (watch->watch->json)
    say_json (frame, seen, &watch->said, delay);
  else
  {
    g_autofree char *line = wsi_live_line (&watch->said);
    if (g_strcmp0 (line, watch->line) == 0)
      return;
    wsi_say ("%s\n", line);
    g_free (watch->line);
    watch->line = g_steal_pointer (&line);
  }
  fflush (stdout);
}

static void
tell_speed (const Watch *watch)
{
  if (watch->n_frames < 2)
    return;
  wsi_say_aside ("whetsight: %u frames, %.0f a second, %u searched; a frame followed in %.1f ms",
                 watch->n_frames,
                 (watch->n_frames - 1) / MAX (watch->last_s - watch->first_s, 1e-6),
                 watch->n_searched, watch->follow_ms / watch->n_frames);
  if (watch->n_measured > 0)
    wsi_say_aside (", measured in %.0f ms", watch->measure_ms / watch->n_measured);
  wsi_say_aside ("\n");
}

gboolean
wsi_live_wait (const WsLiveWatch *asked, WsCamera *camera, WsFrame *frame, GError **error)
{
  g_auto (Watch) watch = { .watch = asked,
                           .follow = ws_follow_new (),
                           .live = WS_LIVE_INIT,
                           .said = { .word = WS_LIVE_NO_TOOL } };
  guint lost = 0;
  while (watch.said.word != WS_LIVE_TAKE)
  {
    g_autoptr (GError) cause = NULL;
    if (!wsi_camera_grab (camera, frame, TIMEOUT_MS, &cause))
    {
      if (g_error_matches (cause, WS_ERROR, WS_ERROR_DATA) && ++lost <= MOST_LOST)
        continue;
      tell_speed (&watch);
      g_propagate_prefixed_error (
        error, g_steal_pointer (&cause),
        "the picture wasn't taken, last it was \"%s\": ", ws_live_word_text (watch.said.word));
      return FALSE;
    }
    lost = 0;
    Delay delay;
    const WsLiveSeen seen = look (&watch, frame, &delay);
    watch.said = ws_live_say (&watch.live, &seen);
    tell (&watch, frame, &seen, &delay);
  }
  tell_speed (&watch);
  return TRUE;
}
