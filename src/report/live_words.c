#include "report/live_words.h"

#include <math.h>

#include "base/language.h"
#include "base/told_text.h"
#include "tool/drill/view_turn.h"

static const char *
change_of (const WsLiveSaid *said)
{
  return said->arrow == WS_LIVE_ON     ? _ ("; better, go on that way")
         : said->arrow == WS_LIVE_BACK ? _ ("; worse, go back")
                                       : "";
}

static char *
line_of_turn (const WsLiveSaid *said)
{
  if (said->arrow == WS_LIVE_NO_ARROW)
    return g_strdup (_ (ws_retake_sentence (said->reason)));
  return g_strdup_printf (_ ("by %.1f deg; %s"), said->amount,
                          said->arrow == WS_LIVE_CLOCKWISE ? _ (WS_TURN_CLOCKWISE)
                                                           : _ (WS_TURN_COUNTERCLOCKWISE));
}

static char *
line_of_place (const WsLiveSaid *said)
{
  if (said->arrow == WS_LIVE_NO_ARROW)
    return g_strdup (_ (ws_retake_sentence (WS_RETAKE_CUT_BY_FRAME)));
  const char *way = _ (ws_live_arrow_code (said->arrow));
  return isfinite (said->amount)
           ? g_strdup_printf (_ ("move the tool %s by %.0f px or more"), way, said->amount)
           : g_strdup_printf (_ ("it is cut off; move the tool %s"), way);
}

/* What is said of a retake, with what was seen. */
static char *
line_of_retake (const WsLiveSaid *said)
{
  const char *sentence = _ (ws_retake_sentence (said->reason));
  g_autofree char *detail = wsi_told_text (said->detail);
  return *said->detail != '\0' ? g_strdup_printf ("%s (%s)", sentence, detail)
                               : g_strdup (sentence);
}

/* What is to be done, beside the word. */
static char *
what_to_do (const WsLiveSaid *said)
{
  switch (said->word)
  {
  case WS_LIVE_NO_TOOL:
    return g_strdup (_ ("put it before the light, its point well inside the picture"));
  case WS_LIVE_TOO_DARK:
    return g_strdup (_ ("more light, or a longer exposure"));
  case WS_LIVE_TOO_BRIGHT:
    return g_strdup (_ ("less light, or a shorter exposure"));
  case WS_LIVE_OUT_OF_FOCUS:
    return isfinite (said->amount) ? g_strdup_printf (_ ("the edge is blurred over %.1f px%s"),
                                                      said->amount, change_of (said))
                                   : g_strdup (_ ("turn the focus until an edge shows"));
  case WS_LIVE_NEAR_FRAME:
    return line_of_place (said);
  case WS_LIVE_TURNED:
    return line_of_turn (said);
  case WS_LIVE_LEANING:
    return isfinite (said->amount) ? g_strdup_printf (_ ("by %.1f deg toward the camera or away%s"),
                                                      said->amount, change_of (said))
                                   : g_strdup (_ (ws_retake_sentence (WS_RETAKE_LEANING)));
  case WS_LIVE_DIRTY:
    return said->has_place ? g_strdup_printf (_ ("x %.0f, y %.0f px; clean it"), said->where_px.x,
                                              said->where_px.y)
                           : line_of_retake (said);
  case WS_LIVE_OTHER:
    return line_of_retake (said);
  default:
    return NULL;
  }
}

char *
wsi_live_words (const WsLiveSaid *said)
{
  g_autofree char *what = what_to_do (said);
  return g_strdup_printf ("%s%s%s", _ (ws_live_word_text (said->word)), what != NULL ? ": " : "",
                          what != NULL ? what : "");
}
