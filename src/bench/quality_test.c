/*
 * The morning check and the gauge study, from request to what is kept.
 */
#include "bench/bench_for_tests.h"

#include <jansson.h>

#include "archive/event.h"
#include "archive/sample_for_tests.h"

#define CALIBRATION WS_SOURCE_DIR "/calib/bench-2.calib"
#define PIN WS_SOURCE_DIR "/calib/pin-1.9998-3.jpg"

static const Asking asking = { .host = "127.0.0.1:8417" };

static json_t *
answered (Bench *bench, const char *target)
{
  g_autoptr (WsServeReply) reply = bench_ask (bench, "GET", target, &asking);
  g_autofree char *text = bench_text (reply);
  if (reply->status != 200)
    fail_msg ("%s: %s", target, text);
  json_t *answer = json_loads (text, 0, NULL);
  assert_non_null (answer);
  return answer;
}

/* ---- The morning check --------------------------------------------------------------------------
 */

static Bench *
calibrated_bench (void)
{
  gsize n;
  g_autofree char *calibration = NULL;
  Bench *bench = bench_new (FALSE);
  g_autofree char *setup = g_build_filename (bench->cards, "setup.conf", NULL);
  g_autofree char *path = g_build_filename (bench->cards, "bench-2.calib", NULL);
  assert_true (g_file_get_contents (CALIBRATION, &calibration, &n, NULL));
  assert_true (g_file_set_contents (path, calibration, (gssize)n, NULL));
  assert_true (
    g_file_set_contents (setup, "[view drill-side]\ncalibration = bench-2.calib\n", -1, NULL));
  return bench;
}

/* Of a picture that the calibration wasn't made from, if `other`. */
static guint
check (Bench *bench, const char *query, gboolean other)
{
  gsize n;
  g_autofree char *bytes = NULL;
  g_autofree char *target = g_strconcat ("/api/calibrations/bench-2/checks?", query, NULL);
  assert_true (g_file_get_contents (PIN, &bytes, &n, NULL));
  g_autofree char *whole = g_malloc (n + 1);
  memcpy (whole, bytes, n);
  whole[n] = 'x';
  const Asking sent = { .host = "127.0.0.1:8417",
                        .token = "",
                        .type = "image/jpeg",
                        .body = whole,
                        .n_body = other ? n + 1 : n };
  return bench_status (bench, "POST", target, &sent);
}

static const char *
state_of (Bench *bench)
{
  json_t *answer = answered (bench, "/api/calibrations/bench-2/checks");
  const char *state = g_intern_string (json_string_value (json_object_get (answer, "state")));
  json_decref (answer);
  return state;
}

static void
a_check_is_kept_and_enters_the_chain (void **state)
{
  g_autoptr (Bench) bench = calibrated_bench ();
  (void)state;
  assert_string_equal (state_of (bench), "never");
  assert_int_equal (check (bench, "kind=pin&size=1.9998&u=0.00025&by=Quill", TRUE), 201);
  assert_string_equal (state_of (bench), "passed");
  assert_int_equal (check (bench, "kind=pin&size=2.02&u=0.00025&by=Quill", TRUE), 201);
  assert_string_equal (state_of (bench), "failed");
  WsArchive *archive = wsi_serve_take (bench->serve, NULL);
  g_autoptr (GPtrArray) events = wsi_events_of (archive, WS_EVENT_CHECK, "bench-2", NULL);
  wsi_serve_give (bench->serve, archive);
  assert_int_equal (events->len, 2);
  const WsEvent *event = g_ptr_array_index (events, 1);
  assert_string_equal (event->by, "Quill");
  assert_true (json_is_false (json_object_get (json_array_get (event->after, 0), "pass")));
  assert_int_equal (bench_status (bench, "GET", "/quality/check/bench-2", &asking), 200);
  assert_int_equal (bench_status (bench, "GET", "/quality", &asking), 200);
  g_autoptr (WsServeReply) chart =
    bench_ask (bench, "GET", "/api/calibrations/bench-2/checks.svg", &asking);
  assert_string_equal (chart->type, "image/svg+xml");
}

static void
what_checks_nothing_is_refused (void **state)
{
  g_autoptr (Bench) bench = calibrated_bench ();
  (void)state;
  assert_int_equal (check (bench, "kind=pin&size=1.9998", FALSE), 422);
  assert_int_equal (check (bench, "kind=pin&size=0", TRUE), 422);
  assert_int_equal (check (bench, "kind=pin&size=2,0", TRUE), 422);
  assert_int_equal (check (bench, "kind=ball&size=2", TRUE), 422);
  assert_int_equal (check (bench, "kind=disc&size=2&hole=3", TRUE), 422);
  assert_int_equal (check (bench, "size=2", TRUE), 422);
  assert_string_equal (state_of (bench), "never");
  assert_int_equal (bench_status (bench, "GET", "/quality/check/other", &asking), 404);
}

/* ---- The gauge study ----------------------------------------------------------------------------
 */

#define STUDY "study?quantity=point_angle_deg&tools=QT-D-0007,QT-D-0008&operators=Ann,Bob&trials=2"

static void
store (Bench *bench, guint number, const char *tool, const char *by, double value)
{
  g_autofree char *id = g_strdup_printf ("id-%u", number);
  const Sample sample = { id, "2026-11-25T10:15:02Z", tool, "accept", value, NULL };
  g_autoptr (WsInspection) inspection = sample_inspection (&sample);
  char *record = inspection->record;
  *strrchr (record, '}') = '\0';
  inspection->record = g_strdup_printf ("%s, \"measured_by\": \"%s\"}", record, by);
  g_free (record);
  WsArchive *archive = wsi_serve_take (bench->serve, NULL);
  assert_true (ws_archive_store (archive, inspection, NULL, NULL));
  wsi_serve_give (bench->serve, archive);
}

static void
a_study_says_what_is_next_and_then_what_came_of_it (void **state)
{
  static const char *const tools[] = { "QT-D-0007", "QT-D-0008" }, *const names[] = { "Ann",
                                                                                      "Bob" };
  g_autoptr (Bench) bench = bench_new (FALSE);
  (void)state;
  for (guint i = 0; i < 8; i++)
  {
    json_t *answer = answered (bench, "/api/" STUDY);
    const json_t *next = json_object_get (answer, "next");
    const char *tool = json_string_value (json_object_get (next, "tool"));
    const char *who = json_string_value (json_object_get (next, "operator"));
    assert_true (json_is_null (json_object_get (answer, "study")) ||
                 json_object_get (answer, "study") == NULL);
    store (bench, i, tool, who, 118 + (g_str_equal (tool, tools[1]) ? 1 : 0) + 0.01 * i);
    store (bench, 100 + i, tool, "somebody else", 130);
    json_decref (answer);
  }
  json_t *answer = answered (bench, "/api/" STUDY);
  assert_null (json_object_get (answer, "next"));
  assert_true (json_is_object (json_object_get (answer, "study")));
  json_decref (answer);
  g_autoptr (WsServeReply) page = bench_ask (bench, "GET", "/quality/" STUDY, &asking);
  g_autofree char *text = bench_text (page);
  assert_contains (text, names[0]);
  assert_contains (text, "repeatability");
  assert_contains (text, "The gauge&#39;s share");
  /* What was measured before it began doesn't count. */
  json_t *later = answered (bench, "/api/" STUDY "&from=2026-11-26T00:00:00Z");
  assert_non_null (json_object_get (later, "next"));
  json_decref (later);
}

/* One picture over and over says nothing of the gauge, and no number does. */
static void
values_that_repeat_exactly_say_nothing (void **state)
{
  g_autoptr (Bench) bench = bench_new (FALSE);
  (void)state;
  for (guint i = 0; i < 8; i++)
    store (bench, i, i % 2 == 0 ? "QT-D-0007" : "QT-D-0008", i / 2 % 2 == 0 ? "Ann" : "Bob",
           118 + i % 2);
  g_autoptr (WsServeReply) page = bench_ask (bench, "GET", "/quality/" STUDY, &asking);
  g_autofree char *text = bench_text (page);
  assert_contains (text, "Nothing can be said of this gauge");
  assert_null (strstr (text, "The gauge&#39;s share"));
}

static void
half_a_study_is_refused (void **state)
{
  g_autoptr (Bench) bench = bench_new (FALSE);
  (void)state;
  assert_int_equal (bench_status (bench, "GET", "/quality/study", &asking), 200);
  assert_int_equal (bench_status (bench, "GET", "/api/study", &asking), 422);
  assert_int_equal (
    bench_status (bench, "GET", "/quality/study?quantity=a_mm&tools=A&operators=B,C", &asking),
    422);
  assert_int_equal (
    bench_status (bench, "GET", "/quality/study?quantity=a_mm&tools=A,B&operators=C,C", &asking),
    422);
  assert_int_equal (bench_status (bench, "GET",
                                  "/quality/study?quantity=a_mm&tools=A,B&operators=C,D&trials=1",
                                  &asking),
                    422);
  assert_int_equal (
    bench_status (bench, "GET", "/quality/study?quantity=a_mm&tool:A=yes&tool:B=yes&operators=C,D",
                  &asking),
    200);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (a_check_is_kept_and_enters_the_chain),
    cmocka_unit_test (what_checks_nothing_is_refused),
    cmocka_unit_test (a_study_says_what_is_next_and_then_what_came_of_it),
    cmocka_unit_test (values_that_repeat_exactly_say_nothing),
    cmocka_unit_test (half_a_study_is_refused),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
