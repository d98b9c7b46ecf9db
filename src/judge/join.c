#include "judge/join.h"

const char *
wsi_tool_standing_name (WsToolStanding standing)
{
  static const char *const names[] = {
    [WS_TOOL_INCOMPLETE] = "incomplete", [WS_TOOL_FIT] = "fit", [WS_TOOL_NOT_FIT] = "not fit"
  };
  return names[standing];
}

static void
view_clear (gpointer data)
{
  g_free (((WsViewState *)data)->view);
}

static WsViewState *
find (const WsToolState *state, const char *view)
{
  for (guint i = 0; i < state->views->len; i++)
  {
    WsViewState *at = &g_array_index (state->views, WsViewState, i);
    if (g_str_equal (at->view, view))
      return at;
  }
  return NULL;
}

static void
add (WsToolState *state, const char *view)
{
  const WsViewState missing = { .view = g_strdup (view), .verdict = WS_VERDICT_RETAKE };
  if (find (state, view) == NULL)
    g_array_append_val (state->views, missing);
  else
    g_free (missing.view);
}

/* Behind the last regrind. */
static gsize
first_of (const WsViewResult *results, gsize n)
{
  gsize first = 0;
  for (gsize i = 0; i < n; i++)
    if (results[i].reground)
      first = i;
  return first;
}

/* Nobody takes a picture of a good tool again without a reason, so a retake leaves nothing of what
 * was accepted before; a fault that was seen stays until it is seen to be gone. */
static gboolean
counts (WsVerdict before, WsVerdict now)
{
  return now != WS_VERDICT_RETAKE || before == WS_VERDICT_ACCEPT;
}

/* TRUE: of `results`' first view the newest measurement is a rejection. */
static gboolean
newest_rejects (const WsViewResult *results, gsize n)
{
  WsVerdict verdict = WS_VERDICT_RETAKE;
  for (gsize i = 0; i < n; i++)
    if (g_str_equal (results[i].view, results[0].view) && counts (verdict, results[i].verdict))
      verdict = results[i].verdict;
  return verdict == WS_VERDICT_REJECT;
}

static WsToolStanding
standing_of (const WsToolState *state)
{
  WsToolStanding standing = state->views->len > 0 ? WS_TOOL_FIT : WS_TOOL_INCOMPLETE;
  for (guint i = 0; i < state->views->len; i++)
  {
    const WsVerdict verdict = g_array_index (state->views, WsViewState, i).verdict;
    if (verdict == WS_VERDICT_REJECT)
      return WS_TOOL_NOT_FIT;
    if (verdict != WS_VERDICT_ACCEPT)
      standing = WS_TOOL_INCOMPLETE;
  }
  return standing;
}

WsToolState *
wsi_tool_state_join (const char *const *required, const WsViewResult *results, gsize n)
{
  WsToolState *state = g_new0 (WsToolState, 1);
  const gsize first = first_of (results, n);
  state->views = g_array_new (FALSE, FALSE, sizeof (WsViewState));
  g_array_set_clear_func (state->views, view_clear);
  for (gsize i = 0; required != NULL && required[i] != NULL; i++)
    add (state, required[i]);
  for (gsize i = first; i < n; i++)
    if (!results[i].of_work && (required == NULL || newest_rejects (&results[i], n - i)))
      add (state, results[i].view);
  for (gsize i = first; i < n; i++)
  {
    WsViewState *view = find (state, results[i].view);
    if (view != NULL && counts (view->verdict, results[i].verdict))
      view->verdict = results[i].verdict;
  }
  state->standing = standing_of (state);
  return state;
}

void
wsi_tool_state_doubt (WsToolState *state, guint n_altered)
{
  state->n_altered = n_altered;
  if (n_altered > 0 && state->standing == WS_TOOL_FIT)
    state->standing = WS_TOOL_INCOMPLETE;
}

void
wsi_tool_state_free (WsToolState *state)
{
  if (state == NULL)
    return;
  g_array_unref (state->views);
  g_free (state);
}
