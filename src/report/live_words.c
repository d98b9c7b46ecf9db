#include "report/live_words.h"

#include <math.h>

#include "tool/drill/view_turn.h"

static const char *
change_of (const WsLiveSaid *said)
{
  return said->arrow == WS_LIVE_ON     ? "; better, go on that way"
         : said->arrow == WS_LIVE_BACK ? "; worse, go back"
                                       : "";
}

static char *
line_of_turn (const WsLiveSaid *said)
{
  if (said->arrow == WS_LIVE_NO_ARROW)
    return g_strdup (ws_retake_sentence (said->reason));
  return g_strdup_printf ("by %.1f deg; %s", said->amount,
                          said->arrow == WS_LIVE_CLOCKWISE ? WS_TURN_CLOCKWISE
                                                           : WS_TURN_COUNTERCLOCKWISE);
}

static char *
line_of_place (const WsLiveSaid *said)
{
  if (said->arrow == WS_LIVE_NO_ARROW)
    return g_strdup (ws_retake_sentence (WS_RETAKE_CUT_BY_FRAME));
  const char *way = ws_live_arrow_code (said->arrow);
  return isfinite (said->amount)
           ? g_strdup_printf ("move the tool %s by %.0f px or more", way, said->amount)
           : g_strdup_printf ("it is cut off; move the tool %s", way);
}

/* What is to be done, beside the word. */
static char *
what_to_do (const WsLiveSaid *said)
{
  switch (said->word)
  {
  case WS_LIVE_NO_TOOL:
    return g_strdup ("put it before the light, its point well inside the picture");
  case WS_LIVE_TOO_DARK:
    return g_strdup ("more light, or a longer exposure");
  case WS_LIVE_TOO_BRIGHT:
    return g_strdup ("less light, or a shorter exposure");
  case WS_LIVE_OUT_OF_FOCUS:
    return isfinite (said->amount) ? g_strdup_printf ("the edge is blurred over %.1f px%s",
                                                      said->amount, change_of (said))
                                   : g_strdup ("turn the focus until an edge shows");
  case WS_LIVE_NEAR_FRAME:
    return line_of_place (said);
  case WS_LIVE_TURNED:
    return line_of_turn (said);
  case WS_LIVE_LEANING:
    return isfinite (said->amount) ? g_strdup_printf ("by %.1f deg toward the camera or away%s",
                                                      said->amount, change_of (said))
                                   : g_strdup (ws_retake_sentence (WS_RETAKE_LEANING));
  case WS_LIVE_DIRTY:
    return said->has_place
             ? g_strdup_printf ("x %.0f, y %.0f px; clean it", said->where_px.x, said->where_px.y)
             : g_strdup (ws_retake_sentence (WS_RETAKE_DIRTY_EDGE));
  case WS_LIVE_OTHER:
    return g_strdup (ws_retake_sentence (said->reason));
  default:
    return NULL;
  }
}

char *
wsi_live_words (const WsLiveSaid *said)
{
  g_autofree char *what = what_to_do (said);
  return g_strdup_printf ("%s%s%s", ws_live_word_text (said->word), what != NULL ? ": " : "",
                          what != NULL ? what : "");
}
