#include <whetsight/live.h>

#include "base/testing.h"

#include <math.h>

/* What a good frame shows. */
static WsLiveSeen
good_at (double time_s)
{
  return (WsLiveSeen){ .time_s = time_s,
                       .ground = 0.6,
                       .blur_px = 1.2,
                       .soft_px = 3,
                       .moved_px = 0.1,
                       .still_px = 0.3,
                       .room_px = { 100, 100, INFINITY, 100 },
                       .least_room_px = 12,
                       .turn_deg = 0.3,
                       .lean_deg = 0.2 };
}

static WsLiveSaid
say_once (const WsLiveSeen *seen)
{
  WsLive live = WS_LIVE_INIT;
  return ws_live_say (&live, seen);
}

static void
half_a_second_of_good_takes_it (void **state)
{
  (void)state;
  WsLive live = WS_LIVE_INIT;
  WsLiveSeen seen = good_at (7.0);
  assert_int_equal (ws_live_say (&live, &seen).word, WS_LIVE_GOOD);
  seen.time_s = 7.49;
  assert_int_equal (ws_live_say (&live, &seen).word, WS_LIVE_GOOD);
  seen.time_s = 7.51;
  assert_int_equal (ws_live_say (&live, &seen).word, WS_LIVE_TAKE);
  /* And then anew. */
  seen.time_s = 7.6;
  assert_int_equal (ws_live_say (&live, &seen).word, WS_LIVE_GOOD);
}

/* One bad frame, and the wait begins again. */
static void
it_waits_for_good_frames_in_a_row (void **state)
{
  (void)state;
  WsLive live = WS_LIVE_INIT;
  for (guint i = 0; i < 40; i++)
  {
    WsLiveSeen seen = good_at (0.1 * i);
    seen.moved_px = i % 4 == 3 ? 2 : 0.1;
    const WsLiveSaid said = ws_live_say (&live, &seen);
    assert_int_equal (said.word, i % 4 == 3 ? WS_LIVE_HOLD_STILL : WS_LIVE_GOOD);
  }
  /* After a search nobody knows how far it moved. */
  WsLiveSeen seen = good_at (5);
  seen.moved_px = NAN;
  assert_int_equal (ws_live_say (&live, &seen).word, WS_LIVE_HOLD_STILL);
}

static void
what_hides_the_rest_comes_first (void **state)
{
  (void)state;
  WsLiveSeen seen = good_at (0);
  seen.lean_deg = -2;
  assert_int_equal (say_once (&seen).word, WS_LIVE_LEANING);
  seen.turn_deg = 2.4;
  assert_int_equal (say_once (&seen).word, WS_LIVE_TURNED);
  seen.room_px[3] = 4;
  assert_int_equal (say_once (&seen).word, WS_LIVE_NEAR_FRAME);
  seen.blur_px = 5;
  assert_int_equal (say_once (&seen).word, WS_LIVE_OUT_OF_FOCUS);
  seen.ground = 0.05;
  assert_int_equal (say_once (&seen).word, WS_LIVE_TOO_DARK);
  seen.ground = 0.99;
  assert_int_equal (say_once (&seen).word, WS_LIVE_TOO_BRIGHT);
}

static void
arrows_point_the_way (void **state)
{
  (void)state;
  static const WsLiveArrow away[4] = { WS_LIVE_DOWN, WS_LIVE_LEFT, WS_LIVE_UP, WS_LIVE_RIGHT };
  for (guint k = 0; k < 4; k++)
  {
    WsLiveSeen seen = good_at (0);
    seen.room_px[k] = 5;
    const WsLiveSaid said = say_once (&seen);
    assert_int_equal (said.word, WS_LIVE_NEAR_FRAME);
    assert_int_equal (said.arrow, away[k]);
    assert_near (said.amount, 7, 1e-9);
  }
  /* It comes in from below and is cut off on the left. */
  WsLiveSeen cut = good_at (0);
  cut.reason = WS_RETAKE_CUT_BY_FRAME;
  cut.cut_px[2] = 200;
  cut.cut_px[3] = 60;
  assert_int_equal (say_once (&cut).word, WS_LIVE_NEAR_FRAME);
  assert_int_equal (say_once (&cut).arrow, WS_LIVE_RIGHT);
  WsLiveSeen turned = good_at (0);
  turned.turn_deg = -4;
  turned.reason = WS_RETAKE_LIPS_TURNED;
  assert_int_equal (say_once (&turned).arrow, WS_LIVE_COUNTERCLOCKWISE);
  assert_near (say_once (&turned).amount, 4, 1e-9);
  turned.turn_deg = 4;
  assert_int_equal (say_once (&turned).arrow, WS_LIVE_CLOCKWISE);
}

/* Which way it got better; a change that is noise's changes nothing. */
static void
focus_tells_the_way (void **state)
{
  (void)state;
  WsLive live = WS_LIVE_INIT;
  static const struct
  {
    double blur;
    WsLiveArrow arrow;
  } frames[] = {
    { 6.0, WS_LIVE_NO_ARROW }, { 6.1, WS_LIVE_NO_ARROW }, { 7.0, WS_LIVE_BACK },
    { 6.0, WS_LIVE_ON },       { 6.1, WS_LIVE_ON },       { 4.0, WS_LIVE_ON },
    { 4.6, WS_LIVE_BACK },
  };
  for (guint i = 0; i < G_N_ELEMENTS (frames); i++)
  {
    WsLiveSeen seen = good_at (i);
    seen.blur_px = frames[i].blur;
    const WsLiveSaid said = ws_live_say (&live, &seen);
    assert_int_equal (said.word, WS_LIVE_OUT_OF_FOCUS);
    assert_int_equal (said.arrow, frames[i].arrow);
  }
}

/* Between both thresholds it is turned only when it was so before. */
static void
words_do_not_flicker (void **state)
{
  (void)state;
  WsLive live = WS_LIVE_INIT;
  static const double turns[] = { 1.3, 1.6, 1.3, 1.1, 0.9, 1.3 };
  static const WsLiveWord words[] = { WS_LIVE_GOOD,   WS_LIVE_TURNED, WS_LIVE_TURNED,
                                      WS_LIVE_TURNED, WS_LIVE_GOOD,   WS_LIVE_GOOD };
  for (guint i = 0; i < G_N_ELEMENTS (turns); i++)
  {
    WsLiveSeen seen = good_at (0.01 * i);
    seen.turn_deg = turns[i];
    assert_int_equal (ws_live_say (&live, &seen).word, words[i]);
  }
}

/* Without the web's thickness the estimate may be off by more than what is asked for. */
static void
an_unsure_turn_is_no_news (void **state)
{
  (void)state;
  WsLiveSeen seen = good_at (0);
  seen.unsure_deg = 2.5;
  seen.turn_deg = 2.4;
  assert_int_equal (say_once (&seen).word, WS_LIVE_GOOD);
  seen.turn_deg = -2.6;
  assert_int_equal (say_once (&seen).word, WS_LIVE_TURNED);
  assert_int_equal (say_once (&seen).arrow, WS_LIVE_COUNTERCLOCKWISE);
}

/* Whatever can't be measured is never taken. */
static void
no_retake_is_good (void **state)
{
  (void)state;
  for (WsRetake reason = WS_RETAKE_NONE + 1; reason < WS_N_RETAKES; reason++)
  {
    WsLiveSeen seen = good_at (0);
    seen.reason = reason;
    const WsLiveSaid said = say_once (&seen);
    assert_true (said.word < WS_LIVE_GOOD);
    assert_int_equal (said.reason, reason);
  }
}

static void
only_what_is_lit_sharp_and_inside_is_measured (void **state)
{
  (void)state;
  WsLiveSeen seen = good_at (0);
  seen.turn_deg = seen.lean_deg = NAN;
  assert_true (ws_live_wants_measuring (&seen));
  seen.blur_px = 9;
  assert_false (ws_live_wants_measuring (&seen));
  seen = good_at (0);
  seen.reason = WS_RETAKE_NO_TOOL;
  assert_false (ws_live_wants_measuring (&seen));
}

static void
every_word_has_its_code (void **state)
{
  (void)state;
  for (WsLiveWord word = 0; word < WS_N_LIVE_WORDS; word++)
    assert_true (ws_live_word_code (word)[0] != '\0' && ws_live_word_text (word)[0] != '\0');
  assert_null (ws_live_arrow_code (WS_LIVE_NO_ARROW));
  for (WsLiveArrow arrow = WS_LIVE_UP; arrow < WS_N_LIVE_ARROWS; arrow++)
    assert_non_null (ws_live_arrow_code (arrow));
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (half_a_second_of_good_takes_it),
    cmocka_unit_test (it_waits_for_good_frames_in_a_row),
    cmocka_unit_test (what_hides_the_rest_comes_first),
    cmocka_unit_test (arrows_point_the_way),
    cmocka_unit_test (focus_tells_the_way),
    cmocka_unit_test (words_do_not_flicker),
    cmocka_unit_test (an_unsure_turn_is_no_news),
    cmocka_unit_test (no_retake_is_good),
    cmocka_unit_test (only_what_is_lit_sharp_and_inside_is_measured),
    cmocka_unit_test (every_word_has_its_code),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
