#include "cli/standing.h"

#include <stdio.h>

#include "archive/state.h"
#include "cli/fail.h"
#include "cli/say.h"
#include "report/words.h"

typedef struct
{
  const WsToolCard *card;
  GArray *results; /* of WsViewResult */
} Tool;

struct WsStandings
{
  GPtrArray *tools;
};

static void
tool_free (gpointer data)
{
  Tool *tool = data;
  g_array_unref (tool->results);
  g_free (tool);
}

WsStandings *
wsi_standings_new (void)
{
  WsStandings *standings = g_new0 (WsStandings, 1);
  standings->tools = g_ptr_array_new_with_free_func (tool_free);
  return standings;
}

void
wsi_standings_free (WsStandings *standings)
{
  if (standings == NULL)
    return;
  g_ptr_array_unref (standings->tools);
  g_free (standings);
}

static Tool *
find (WsStandings *standings, const WsToolCard *card)
{
  for (guint i = 0; i < standings->tools->len; i++)
  {
    Tool *tool = g_ptr_array_index (standings->tools, i);
    if (g_str_equal (tool->card->id, card->id))
      return tool;
  }
  Tool *tool = g_new0 (Tool, 1);
  tool->card = card;
  tool->results = g_array_new (FALSE, FALSE, sizeof (WsViewResult));
  g_ptr_array_add (standings->tools, tool);
  return tool;
}

void
wsi_standings_note (WsStandings *standings, const WsToolCard *card, const char *view,
                    WsVerdict verdict)
{
  const WsViewResult result = { .view = view,
                                .verdict = verdict,
                                .of_work = wsi_is_of_work (view) };
  if (card->id != NULL)
    g_array_append_val (find (standings, card)->results, result);
}

/* NULL when the archive can't be read; what is wrong was told. */
static WsToolState *
state_of (const Tool *tool, WsArchive *archive)
{
  GError *error = NULL;
  if (archive == NULL)
    return wsi_tool_state_join ((const char *const *)tool->card->views,
                                (const WsViewResult *)(void *)tool->results->data,
                                tool->results->len);
  WsToolState *state = wsi_archive_tool_state (archive, tool->card->id, &error);
  if (state == NULL)
    wsi_fail (error);
  return state;
}

static int
status_of (const WsToolState *state)
{
  switch (state->standing)
  {
  case WS_TOOL_FIT:
    return WS_EXIT_ACCEPT;
  case WS_TOOL_NOT_FIT:
    return WS_EXIT_REJECT;
  default:
    return WS_EXIT_UNDECIDED;
  }
}

/* Of exit statuses: reject is worse than undecided. */
static int
worse (int a, int b)
{
  return a == WS_EXIT_REJECT || b == WS_EXIT_REJECT ? WS_EXIT_REJECT : MAX (a, b);
}

int
wsi_standings_tell (const WsStandings *standings, WsArchive *archive, gboolean quiet)
{
  int worst = WS_EXIT_ACCEPT;
  for (guint i = 0; i < standings->tools->len; i++)
  {
    const Tool *tool = g_ptr_array_index (standings->tools, i);
    const gboolean named = tool->card->views != NULL;
    g_autoptr (WsToolState) state = state_of (tool, archive);
    if (state == NULL || (!named && state->views->len < 2))
      continue;
    g_autofree char *words = wsi_words_state (state);
    if (!quiet)
      wsi_say ("Tool %s is %s.\n", tool->card->id, words);
    if (named)
      worst = worse (worst, status_of (state));
  }
  return worst;
}
