/*
 * Pictures that are sent: good, hostile, huge, and with names that would act on a page.
 */
#include "bench/bench_for_tests.h"

#include <signal.h>

#include <jansson.h>

#include "archive/event.h"
#include "bench/setup.h"
#include "scene/scene.h"

#define UPLOAD "/api/tools/QT-D-0007/inspections?view=drill-side&name="

typedef struct
{
  Bench *bench;
  char *picture;
  gsize n_picture;
} Fixture;

static int
set_up (void **state)
{
  Fixture *fixture = g_new0 (Fixture, 1);
  SceneDrill drill;
  SceneCamera camera;
  fixture->bench = bench_new (FALSE);
  g_autofree char *path = g_build_filename (fixture->bench->folder, "good.png", NULL);
  scene_drill_init (&drill, 10.0);
  scene_camera_init (&camera);
  scene_camera_aim (&camera, &drill, 0.45);
  g_autofree char *setup = g_build_filename (fixture->bench->cards, WSI_SETUP_NAME, NULL);
  char scale[G_ASCII_DTOSTR_BUF_SIZE];
  g_autofree char *text = g_strdup_printf ("[view drill-side]\nscale = %s\n",
                                           g_ascii_dtostr (scale, sizeof scale, camera.mm_per_px));
  g_file_set_contents (setup, text, -1, NULL);
  g_autoptr (SceneImage) image = scene_render (&drill, &camera, NULL);
  const gboolean saved = scene_image_save (image, path, 0) &&
                         g_file_get_contents (path, &fixture->picture, &fixture->n_picture, NULL);
  *state = fixture;
  return !saved || g_getenv ("WHETSIGHT") == NULL;
}

static int
tear_down (void **state)
{
  Fixture *fixture = *state;
  bench_free (fixture->bench);
  g_free (fixture->picture);
  g_free (fixture);
  return 0;
}

static WsServeReply *
send (const Fixture *fixture, const char *target, const char *bytes, gsize n_bytes)
{
  const Asking asking = {
    .host = "127.0.0.1:8417", .token = "", .type = "image/png", .body = bytes, .n_body = n_bytes
  };
  return bench_ask (fixture->bench, "POST", target, &asking);
}

static char *
get (const Fixture *fixture, const char *target, guint *status)
{
  const Asking asking = { .host = "127.0.0.1:8417" };
  g_autoptr (WsServeReply) reply = bench_ask (fixture->bench, "GET", target, &asking);
  *status = reply->status;
  return bench_text (reply);
}

static guint
count_rows (const Fixture *fixture)
{
  guint64 count = 0;
  char hash[65];
  WsArchive *archive = wsi_serve_take (fixture->bench->serve, NULL);
  assert_true (ws_archive_head (archive, &count, hash, NULL));
  wsi_serve_give (fixture->bench->serve, archive);
  return (guint)count;
}

static void
a_good_picture_is_measured_and_archived (void **state)
{
  const Fixture *fixture = *state;
  guint status;
  g_autoptr (WsServeReply) reply =
    send (fixture, UPLOAD "good.png", fixture->picture, fixture->n_picture);
  g_autofree char *record = bench_text (reply);
  assert_int_equal (reply->status, 201);
  assert_contains (record, "\"record\":\"whetsight/1\"");
  assert_contains (record, "\"verdict\":\"accept\"");
  assert_contains (record, "\"name\":\"good.png\"");
  assert_int_equal (count_rows (fixture), 1);
  g_autofree char *shown = get (fixture, reply->location, &status);
  assert_contains (shown, "\"verdict\":\"accept\"");
  g_autofree char *page = get (fixture, reply->location + strlen ("/api"), &status);
  assert_int_equal (status, 200);
  assert_contains (page, "ACCEPT");
  g_autofree char *picture_path = g_strconcat (reply->location, "/original", NULL);
  const Asking asking = { .host = "127.0.0.1:8417" };
  g_autoptr (WsServeReply) picture = bench_ask (fixture->bench, "GET", picture_path, &asking);
  assert_int_equal (g_bytes_get_size (picture->body), fixture->n_picture);
  assert_string_equal (picture->type, "image/png");
  assert_true (picture->is_picture);
}

/* Of the inspection at `location`, asked for in a language. */
static GBytes *
bytes_in (const Fixture *fixture, const char *location, const char *what, const char *language)
{
  const Asking asking = { .host = "127.0.0.1:8417", .language = language };
  g_autofree char *target = g_strconcat (location, what, NULL);
  g_autoptr (WsServeReply) reply = bench_ask (fixture->bench, "GET", target, &asking);
  assert_int_equal (reply->status, 200);
  return g_bytes_ref (reply->body);
}

/* The words of a PDF; free with g_free(). */
static char *
words_of (const Fixture *fixture, GBytes *pdf, const char *program)
{
  gsize n;
  char *words = NULL;
  const char *bytes = g_bytes_get_data (pdf, &n);
  g_autofree char *path = g_build_filename (fixture->bench->folder, "report.pdf", NULL);
  const char *const call[] = { program, path, "-", NULL };
  assert_true (g_file_set_contents (path, bytes, (gssize)n, NULL));
  assert_true (g_spawn_sync (NULL, (char **)call, NULL, G_SPAWN_DEFAULT, NULL, NULL, &words, NULL,
                             NULL, NULL));
  return words;
}

/* What is drawn and printed, for who asks; the record knows nothing of it. */
static void
pictures_and_reports_are_in_the_browsers_language (void **state)
{
  const Fixture *fixture = *state;
  static const char *const languages[] = { "en", "de-DE,de;q=0.9,en;q=0.8" };
  g_autofree char *program = g_find_program_in_path ("pdftotext");
  g_autoptr (GRegex) times = g_regex_new ("\"(id|time)\":\"[^\"]*T[^\"]*\"", 0, 0, NULL);
  g_autofree char *location = NULL;
  char *records[2];
  GBytes *drawn[2];
  for (gsize i = 0; i < G_N_ELEMENTS (languages); i++)
  {
    const Asking asking = { .host = "127.0.0.1:8417",
                            .token = "",
                            .type = "image/png",
                            .body = fixture->picture,
                            .n_body = fixture->n_picture,
                            .language = languages[i] };
    g_autoptr (WsServeReply) reply = bench_ask (fixture->bench, "POST", UPLOAD "good.png", &asking);
    g_autofree char *record = bench_text (reply);
    assert_int_equal (reply->status, 201);
    records[i] = g_regex_replace_literal (times, record, -1, 0, "", 0, NULL);
    drawn[i] = bytes_in (fixture, reply->location, "/picture", languages[i]);
    g_free (location);
    location = g_strdup (reply->location);
  }
  assert_string_equal (records[1], records[0]);
  assert_false (g_bytes_equal (drawn[0], drawn[1]));
  g_bytes_unref (drawn[0]);
  g_bytes_unref (drawn[1]);
  g_free (records[0]);
  g_free (records[1]);
  if (program == NULL)
    skip ();
  g_autoptr (GBytes) english = bytes_in (fixture, location, "/report.pdf", languages[0]);
  g_autoptr (GBytes) german = bytes_in (fixture, location, "/report.pdf", languages[1]);
  g_autofree char *read = words_of (fixture, english, program);
  g_autofree char *gelesen = words_of (fixture, german, program);
  assert_contains (read, "Inspection report");
  assert_contains (read, "ACCEPT");
  assert_contains (gelesen, "Prüfbericht");
  assert_contains (gelesen, "GUT");
  assert_lacks (gelesen, "Inspection report");
}

/* What is no picture is a retake, archived too, and nothing breaks. */
static void
hostile_pictures_are_retakes (void **state)
{
  const Fixture *fixture = *state;
  static const char huge[] =
    "\x89PNG\r\n\x1a\n\0\0\0\rIHDR\x7f\xff\xff\xff\x7f\xff\xff\xff\x08\0\0\0";
  const struct
  {
    const char *name, *bytes;
    gsize n_bytes;
  } pictures[] = {
    { "text.png", "no picture", 10 },
    { "huge.png", huge, sizeof huge },
    { "cut.png", fixture->picture, fixture->n_picture / 2 },
    { "script.svg", "<svg onload=alert(1)>", 21 },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (pictures); i++)
  {
    g_autofree char *target = g_strconcat (UPLOAD, pictures[i].name, NULL);
    g_autoptr (WsServeReply) reply = send (fixture, target, pictures[i].bytes, pictures[i].n_bytes);
    g_autofree char *text = bench_text (reply);
    assert_int_equal (reply->status, 201);
    assert_contains (text, "\"verdict\":\"retake\"");
  }
  assert_int_equal (count_rows (fixture), 4);
}

static void
what_is_wrong_is_told_and_nothing_stored (void **state)
{
  const Fixture *fixture = *state;
  static const struct
  {
    const char *target;
    guint status;
  } wrong[] = {
    { "/api/tools/NONE/inspections?view=drill-side", 404 },
    { "/api/tools/..%5c/inspections", 0 },
    { "/api/tools/QT-D-0007/inspections?view=blade-plan", 422 },
    { "/api/tools/QT-D-0007/inspections?view=none", 422 },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (wrong); i++)
  {
    g_autoptr (WsServeRequest) request = wsi_request_new ("POST", wrong[i].target);
    if (wrong[i].status == 0)
    {
      assert_null (request);
      continue;
    }
    g_autoptr (WsServeReply) reply =
      send (fixture, wrong[i].target, fixture->picture, fixture->n_picture);
    assert_int_equal (reply->status, wrong[i].status);
  }
  g_autoptr (WsServeReply) nothing = send (fixture, UPLOAD "none.png", "", 0);
  assert_int_equal (nothing->status, 422);
  assert_int_equal (count_rows (fixture), 0);
}

/* Whatever people are called, it is text on every page. */
static void
names_dont_act_on_pages (void **state)
{
  const Fixture *fixture = *state;
  static const char script[] = "%3Cscript%3Ealert(1)%3C/script%3E";
  guint status;
  g_autofree char *target =
    g_strdup_printf (UPLOAD "%s.png&by=%s&grinder=%s&station=%s", script, script, script, script);
  g_autoptr (WsServeReply) reply = send (fixture, target, fixture->picture, fixture->n_picture);
  assert_int_equal (reply->status, 201);
  g_autofree char *notes = g_strconcat (reply->location, "/comments", NULL);
  const Asking comment = { .host = "127.0.0.1:8417",
                           .token = "",
                           .type = "application/json",
                           .body = "{\"text\": \"<script>alert(2)</script>\", \"by\": "
                                   "\"<img src=x onerror=alert(3)>\"}" };
  assert_int_equal (bench_status (fixture->bench, "POST", notes, &comment), 201);
  const char *const pages[] = { reply->location + strlen ("/api"), "/inspections",
                                "/inspections?tool=%22%3E%3Cscript%3E", "/?q=%22%3E%3Cscript%3E",
                                "/measure/%3Cscript%3E" };
  for (gsize i = 0; i < G_N_ELEMENTS (pages); i++)
  {
    g_autofree char *page = get (fixture, pages[i], &status);
    assert_lacks (page, "<script>");
    assert_lacks (page, "<img src=x");
  }
}

/* "/inspections/{id}" with what is there, and a quantity for those that ask for one. */
static char *
target_of (const char *pattern, const char *id)
{
  g_autoptr (GString) target = g_string_new (pattern);
  g_string_replace (target, "{id}", id, 0);
  g_string_replace (target, "{tool}", "QT-D-0007", 0);
  g_string_replace (target, "{name}", "page.css", 0);
  g_string_append (target, "?quantity=point_angle_deg");
  return g_strdup (target->str);
}

/* Each page and each answer for programs, of a tool with a hostile note. */
static void
every_page_answers (void **state)
{
  const Fixture *fixture = *state;
  guint status, n_good = 0;
  for (guint i = 0; i < 2; i++)
  {
    g_autoptr (WsServeReply) sent =
      send (fixture, UPLOAD "good.png", fixture->picture, fixture->n_picture);
    assert_int_equal (sent->status, 201);
    const char *id = sent->location + strlen ("/api/inspections/");
    g_autofree char *notes = g_strconcat (sent->location, "/comments", NULL);
    const Asking comment = { .host = "127.0.0.1:8417",
                             .token = "",
                             .type = "application/json",
                             .body = "{\"text\": \"<script>alert(2)</script>\"}" };
    assert_int_equal (bench_status (fixture->bench, "POST", notes, &comment), 201);
    for (const WsRoute *route = wsi_routes; i == 1 && route->method != NULL; route++)
    {
      if (!g_str_equal (route->method, "GET") || strstr (route->pattern, "/live") != NULL)
        continue;
      g_autofree char *target = target_of (route->pattern, id);
      g_autofree char *text = get (fixture, target, &status);
      if (status >= 500)
        fail_msg ("%s: %u %s", target, status, text);
      if (g_str_has_prefix (text, "<!doctype html>"))
        assert_lacks (text, "<script>");
      n_good += status == 200 ? 1 : 0;
    }
  }
  assert_true (n_good > 20);
}

static void
a_card_is_changed_in_the_chain (void **state)
{
  const Fixture *fixture = *state;
  static const char card[] = "[tool]\\nid = QT-D-0007\\nkind = twist-drill\\ndiameter_mm = 10\\n"
                             "[limits]\\npoint_angle_deg = 117 .. 119\\n";
  guint status;
  g_autofree char *body = g_strdup_printf ("{\"card\": \"%s\", \"text\": \"new drawing\"}", card);
  const Asking set = {
    .host = "127.0.0.1:8417", .token = "", .type = "application/json", .body = body
  };
  const Asking broken = { .host = "127.0.0.1:8417",
                          .token = "",
                          .type = "application/json",
                          .body = "{\"card\": \"[tool]\\nid = QT-D-0007\\n\", \"text\": \"why\"}" };
  const Asking away = { .host = "127.0.0.1:8417",
                        .token = "",
                        .type = "application/json",
                        .body =
                          "{\"card\": \"[tool]\\nid = X\\nkind = form-tool\\nnominal_profile = "
                          "/etc/passwd\\n\", \"text\": \"why\"}" };
  assert_int_equal (bench_status (fixture->bench, "PUT", "/api/tools/QT-D-0007/card", &set), 200);
  assert_int_equal (bench_status (fixture->bench, "PUT", "/api/tools/QT-D-0007/card", &broken),
                    422);
  assert_int_equal (bench_status (fixture->bench, "PUT", "/api/tools/X/card", &away), 422);
  assert_int_equal (bench_status (fixture->bench, "PUT", "/api/tools/OTHER/card", &set), 422);
  g_autofree char *text = get (fixture, "/api/tools/QT-D-0007/card", &status);
  assert_contains (text, "117 .. 119");
  WsArchive *archive = wsi_serve_take (fixture->bench->serve, NULL);
  g_autoptr (WsEvent) event = wsi_event_last (archive, WS_EVENT_CARD, "QT-D-0007", NULL);
  wsi_serve_give (fixture->bench->serve, archive);
  assert_contains (json_string_value (event->before), "116 .. 120");
  assert_contains (json_string_value (event->after), "117 .. 119");
  assert_string_equal (event->text, "new drawing");
}

/* Limits are quality's. */
static void
limits_need_quality (void **state)
{
  g_autoptr (Bench) bench = bench_new (TRUE);
  char secret[WSI_SESSION_HEX];
  (void)state;
  bench_session (bench, WS_ROLE_TOOLROOM, secret);
  static const char limits[] = "[tool]\\nid = QT-D-0007\\nkind = twist-drill\\ndiameter_mm = 10\\n"
                               "[limits]\\npoint_angle_deg = 100 .. 140\\n";
  static const char size[] =
    "[tool]\\nid = QT-D-0007\\nkind = twist-drill\\ndiameter_mm = 9.5\\n"
    "[limits]\\npoint_angle_deg = 116 .. 120\\ndiameter_mm = 9.9 .. 10.1\\n";
  const char *const cards[] = { limits, size };
  const guint expected[] = { 403, 200 };
  for (gsize i = 0; i < G_N_ELEMENTS (cards); i++)
  {
    g_autofree char *body = g_strdup_printf ("{\"card\": \"%s\", \"text\": \"why\"}", cards[i]);
    const Asking set = { .session = secret, .token = "", .type = "application/json", .body = body };
    assert_int_equal (bench_status (bench, "PUT", "/api/tools/QT-D-0007/card", &set), expected[i]);
  }
}

/* Marked as ground, the next picture is the first since, and says by whom. */
static void
a_regrind_is_followed_by_the_first_picture_since (void **state)
{
  const Fixture *fixture = *state;
  const Asking ground = { .host = "127.0.0.1:8417",
                          .token = "",
                          .type = "application/json",
                          .body = "{\"text\": \"0.3 mm off\", \"by\": \"T. Grinder\"}" };
  guint status;
  assert_int_equal (bench_status (fixture->bench, "POST", "/api/tools/QT-D-0007/regrinds", &ground),
                    201);
  for (guint i = 0; i < 2; i++)
  {
    g_autoptr (WsServeReply) reply =
      send (fixture, UPLOAD "good.png", fixture->picture, fixture->n_picture);
    assert_int_equal (reply->status, 201);
    g_autofree char *text = get (fixture, reply->location, &status);
    assert_contains (text, i == 0 ? "\"grinder\":\"T. Grinder\"" : "\"grinder\":null");
    assert_contains (text, i == 0 ? "\"reground\":true" : "\"reground\":false");
  }
}

/* By hand, as people write it. */
static void
a_length_goes_into_the_record (void **state)
{
  static const struct
  {
    const char *query, *value;
  } cases[] = { { "&length=61.2", "61.2" },           { "&length=61%2C25", "61.25" },
                { "&length=2.5in", "63.5" },          { "&length_in=2.5", "63.5" },
                { "&length_in=63.5+mm", "63.5" },     { "&length=", NULL },
                { "&length=about+sixty", "" },        { "&length=-3", "" },
                { "&length=61.2&length_in=", "61.2" } };
  const Fixture *fixture = *state;
  for (gsize i = 0; i < G_N_ELEMENTS (cases); i++)
  {
    g_autofree char *target = g_strconcat (UPLOAD "good.png", cases[i].query, NULL);
    g_autoptr (WsServeReply) reply = send (fixture, target, fixture->picture, fixture->n_picture);
    if (cases[i].value != NULL && *cases[i].value == '\0')
    {
      assert_int_equal (reply->status, 422);
      continue;
    }
    assert_int_equal (reply->status, 201);
    g_autofree char *said = bench_text (reply);
    json_t *record = json_loads (said, 0, NULL);
    json_t *length = json_object_get (json_object_get (record, "tool_length"), "value_mm");
    assert_int_equal (json_is_number (length), cases[i].value != NULL);
    if (cases[i].value != NULL)
      assert_float_equal (json_number_value (length), g_ascii_strtod (cases[i].value, NULL), 1e-9);
    json_decref (record);
  }
}

/* 11.95 mm at 0.45 mm each: 26 and a half, of which the half is none. */
static void
regrinds_left_are_whole_ones (void **state)
{
  const Fixture *fixture = *state;
  static const char *const queries[] = { "&length=92.4", "&length=91.95&reground=yes" };
  guint status;
  g_autofree char *card = g_build_filename (fixture->bench->cards, "QT-D-0007.tool", NULL);
  assert_true (g_file_set_contents (card,
                                    "[tool]\nid = QT-D-0007\nkind = twist-drill\n"
                                    "diameter_mm = 10\nmin_length_mm = 80\n",
                                    -1, NULL));
  g_autofree char *form = get (fixture, "/measure/QT-D-0007", &status);
  assert_contains (form, "name=\"length\"");
  for (gsize i = 0; i < G_N_ELEMENTS (queries); i++)
  {
    g_autofree char *target = g_strconcat (UPLOAD "good.png", queries[i], NULL);
    g_autoptr (WsServeReply) reply = send (fixture, target, fixture->picture, fixture->n_picture);
    assert_int_equal (reply->status, 201);
  }
  g_autofree char *page = get (fixture, "/tools/QT-D-0007", &status);
  assert_contains (page, "Regrinds left: 26<");
}

/* A worker that ends, as one that a picture broke, is told of and replaced. */
static void
a_worker_that_breaks_takes_nothing_down (void **state)
{
  (void)state;
  g_autoptr (GError) error = NULL;
  char *const command[] = { (char *)"/bin/false", NULL };
  const WsCrewSettings settings = {
    .command = (char **)command, .size = 1, .most_waiting = 1, .wait_s = 1, .measure_s = 5
  };
  g_autoptr (WsCrew) crew = wsi_crew_new (&settings);
  const WsCrewTask task = {
    .card = "a", .view = "b", .picture = "c", .scale = NAN, .scale_u = NAN
  };
  signal (SIGPIPE, SIG_IGN);
  for (guint i = 0; i < 3; i++)
  {
    char *by = NULL;
    g_clear_error (&error);
    assert_null (wsi_crew_measure (crew, &task, &by, &error));
    assert_int_equal (error->code, WS_ERROR_DATA);
  }
}

/* One that takes too long is ended; meanwhile others are told to come again. */
static void
busy_is_told_with_a_time (void **state)
{
  (void)state;
  g_autoptr (GError) error = NULL;
  char *const command[] = { (char *)"/bin/sleep", (char *)"60", NULL };
  const WsCrewSettings settings = {
    .command = (char **)command, .size = 0, .most_waiting = 0, .wait_s = 1, .measure_s = 1
  };
  WsCrewSettings one = settings;
  one.size = 1;
  g_autoptr (WsCrew) slow = wsi_crew_new (&one);
  const WsCrewTask task = {
    .card = "a", .view = "b", .picture = "c", .scale = NAN, .scale_u = NAN
  };
  char *by = NULL;
  assert_null (wsi_crew_measure (slow, &task, &by, &error));
  assert_contains (error->message, "took too long");
  g_clear_error (&error);
  g_autoptr (WsCrew) none = wsi_crew_new (&settings);
  assert_null (wsi_crew_measure (none, &task, &by, &error));
  assert_int_equal (error->code, WS_ERROR_CANCELLED);
  assert_contains (error->message, "busy; try again in");
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown (a_good_picture_is_measured_and_archived, set_up, tear_down),
    cmocka_unit_test_setup_teardown (pictures_and_reports_are_in_the_browsers_language, set_up,
                                     tear_down),
    cmocka_unit_test_setup_teardown (hostile_pictures_are_retakes, set_up, tear_down),
    cmocka_unit_test_setup_teardown (what_is_wrong_is_told_and_nothing_stored, set_up, tear_down),
    cmocka_unit_test_setup_teardown (names_dont_act_on_pages, set_up, tear_down),
    cmocka_unit_test_setup_teardown (every_page_answers, set_up, tear_down),
    cmocka_unit_test_setup_teardown (a_card_is_changed_in_the_chain, set_up, tear_down),
    cmocka_unit_test (limits_need_quality),
    cmocka_unit_test_setup_teardown (a_length_goes_into_the_record, set_up, tear_down),
    cmocka_unit_test_setup_teardown (regrinds_left_are_whole_ones, set_up, tear_down),
    cmocka_unit_test_setup_teardown (a_regrind_is_followed_by_the_first_picture_since, set_up,
                                     tear_down),
    cmocka_unit_test (a_worker_that_breaks_takes_nothing_down),
    cmocka_unit_test (busy_is_told_with_a_time),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
