#include "judge/join.h"

#include "base/testing.h"

#define SIDE "drill-side"
#define END "drill-end"

static const char *const both[] = { SIDE, END, NULL };

typedef struct
{
  const char *const *required;
  WsViewResult results[5];
  WsToolStanding standing;
  WsVerdict side, end; /* RETAKE: missing */
} Case;

static const Case cases[] = {
  { both,
    { { SIDE, WS_VERDICT_ACCEPT, FALSE, FALSE }, { END, WS_VERDICT_ACCEPT, FALSE, FALSE } },
    WS_TOOL_FIT,
    WS_VERDICT_ACCEPT,
    WS_VERDICT_ACCEPT },
  /* A missing view keeps a tool from being fit, not from being rejected. */
  { both,
    { { SIDE, WS_VERDICT_ACCEPT, FALSE, FALSE } },
    WS_TOOL_INCOMPLETE,
    WS_VERDICT_ACCEPT,
    WS_VERDICT_RETAKE },
  { both,
    { { SIDE, WS_VERDICT_REJECT, FALSE, FALSE } },
    WS_TOOL_NOT_FIT,
    WS_VERDICT_REJECT,
    WS_VERDICT_RETAKE },
  { both,
    { { SIDE, WS_VERDICT_ACCEPT, FALSE, FALSE }, { END, WS_VERDICT_UNDECIDED, FALSE, FALSE } },
    WS_TOOL_INCOMPLETE,
    WS_VERDICT_ACCEPT,
    WS_VERDICT_UNDECIDED },
  { both,
    { { SIDE, WS_VERDICT_ACCEPT, FALSE, FALSE }, { END, WS_VERDICT_NONE, FALSE, FALSE } },
    WS_TOOL_INCOMPLETE,
    WS_VERDICT_ACCEPT,
    WS_VERDICT_NONE },
  /* The newest counts. */
  { both,
    { { SIDE, WS_VERDICT_REJECT, FALSE, FALSE },
      { END, WS_VERDICT_ACCEPT, FALSE, FALSE },
      { SIDE, WS_VERDICT_ACCEPT, FALSE, FALSE } },
    WS_TOOL_FIT,
    WS_VERDICT_ACCEPT,
    WS_VERDICT_ACCEPT },
  /* A retake undoes an accept, never a rejection or a doubt. */
  { both,
    { { SIDE, WS_VERDICT_ACCEPT, FALSE, FALSE },
      { END, WS_VERDICT_ACCEPT, FALSE, FALSE },
      { END, WS_VERDICT_RETAKE, FALSE, FALSE } },
    WS_TOOL_INCOMPLETE,
    WS_VERDICT_ACCEPT,
    WS_VERDICT_RETAKE },
  { both,
    { { SIDE, WS_VERDICT_REJECT, FALSE, FALSE },
      { END, WS_VERDICT_UNDECIDED, FALSE, FALSE },
      { SIDE, WS_VERDICT_RETAKE, FALSE, FALSE },
      { END, WS_VERDICT_RETAKE, FALSE, FALSE } },
    WS_TOOL_NOT_FIT,
    WS_VERDICT_REJECT,
    WS_VERDICT_UNDECIDED },
  { both,
    { { SIDE, WS_VERDICT_ACCEPT, FALSE, FALSE },
      { END, WS_VERDICT_ACCEPT, FALSE, FALSE },
      { SIDE, WS_VERDICT_REJECT, FALSE, FALSE } },
    WS_TOOL_NOT_FIT,
    WS_VERDICT_REJECT,
    WS_VERDICT_ACCEPT },
  { both,
    { { SIDE, WS_VERDICT_RETAKE, FALSE, FALSE }, { END, WS_VERDICT_ACCEPT, FALSE, FALSE } },
    WS_TOOL_INCOMPLETE,
    WS_VERDICT_RETAKE,
    WS_VERDICT_ACCEPT },
  /* After a regrind everything is looked at anew. */
  { both,
    { { SIDE, WS_VERDICT_ACCEPT, FALSE, FALSE },
      { END, WS_VERDICT_ACCEPT, FALSE, FALSE },
      { SIDE, WS_VERDICT_ACCEPT, TRUE, FALSE } },
    WS_TOOL_INCOMPLETE,
    WS_VERDICT_ACCEPT,
    WS_VERDICT_RETAKE },
  { both,
    { { END, WS_VERDICT_REJECT, FALSE, FALSE },
      { SIDE, WS_VERDICT_ACCEPT, TRUE, FALSE },
      { END, WS_VERDICT_ACCEPT, FALSE, FALSE } },
    WS_TOOL_FIT,
    WS_VERDICT_ACCEPT,
    WS_VERDICT_ACCEPT },
  /* Nothing said of views: all that were looked at. */
  { NULL,
    { { SIDE, WS_VERDICT_ACCEPT, FALSE, FALSE } },
    WS_TOOL_FIT,
    WS_VERDICT_ACCEPT,
    WS_VERDICT_RETAKE },
  { NULL,
    { { SIDE, WS_VERDICT_ACCEPT, FALSE, FALSE }, { END, WS_VERDICT_RETAKE, FALSE, FALSE } },
    WS_TOOL_INCOMPLETE,
    WS_VERDICT_ACCEPT,
    WS_VERDICT_RETAKE },
  /* A part that chattered says nothing of the tool, and without a look at the tool nothing does. */
  { NULL,
    { { SIDE, WS_VERDICT_ACCEPT, FALSE, FALSE }, { END, WS_VERDICT_UNDECIDED, FALSE, TRUE } },
    WS_TOOL_FIT,
    WS_VERDICT_ACCEPT,
    WS_VERDICT_RETAKE },
  { NULL,
    { { END, WS_VERDICT_UNDECIDED, FALSE, TRUE } },
    WS_TOOL_INCOMPLETE,
    WS_VERDICT_RETAKE,
    WS_VERDICT_RETAKE },
  /* A view that isn't asked for takes part where it rejects. */
  { both,
    { { "drill-relief", WS_VERDICT_REJECT, FALSE, FALSE },
      { SIDE, WS_VERDICT_ACCEPT, FALSE, FALSE },
      { END, WS_VERDICT_ACCEPT, FALSE, FALSE } },
    WS_TOOL_NOT_FIT,
    WS_VERDICT_ACCEPT,
    WS_VERDICT_ACCEPT },
  { both,
    { { "drill-relief", WS_VERDICT_REJECT, FALSE, FALSE },
      { SIDE, WS_VERDICT_ACCEPT, FALSE, FALSE },
      { END, WS_VERDICT_ACCEPT, FALSE, FALSE },
      { "drill-relief", WS_VERDICT_UNDECIDED, FALSE, FALSE } },
    WS_TOOL_FIT,
    WS_VERDICT_ACCEPT,
    WS_VERDICT_ACCEPT },
};

static WsVerdict
verdict_of (const WsToolState *state, const char *view)
{
  for (guint i = 0; i < state->views->len; i++)
    if (g_str_equal (g_array_index (state->views, WsViewState, i).view, view))
      return g_array_index (state->views, WsViewState, i).verdict;
  return WS_VERDICT_RETAKE;
}

static void
test_joining (void **state)
{
  (void)state;
  for (gsize i = 0; i < G_N_ELEMENTS (cases); i++)
  {
    gsize n = 0;
    while (n < G_N_ELEMENTS (cases[i].results) && cases[i].results[n].view != NULL)
      n++;
    g_autoptr (WsToolState) joined = wsi_tool_state_join (cases[i].required, cases[i].results, n);
    if (joined->standing != cases[i].standing)
      fail_msg ("case %zu: %s", i, wsi_tool_standing_name (joined->standing));
    assert_int_equal (verdict_of (joined, SIDE), cases[i].side);
    assert_int_equal (verdict_of (joined, END), cases[i].end);
  }
}

static void
test_nothing_is_not_fit (void **state)
{
  (void)state;
  g_autoptr (WsToolState) joined = wsi_tool_state_join (NULL, NULL, 0);
  assert_int_equal (joined->standing, WS_TOOL_INCOMPLETE);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_joining),
    cmocka_unit_test (test_nothing_is_not_fit),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
