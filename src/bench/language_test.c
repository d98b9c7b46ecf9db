/*
 * The page in German: nothing that is shown is left out.
 */
#include "bench/bench_for_tests.h"

#include <whetsight/live.h>
#include <whetsight/retake.h>
#include <whetsight/view.h>

#include "base/language.h"

static void
chosen_as_browsers_and_locales_ask (void **state)
{
  static const struct
  {
    const char *wanted, *code;
  } cases[] = {
    { NULL, "en" },          { "", "en" },
    { "de", "de" },          { "de-AT,de;q=0.9,en;q=0.8", "de" },
    { "DE_de.UTF-8", "de" }, { "en-GB,de;q=0.5", "en" },
    { "fr,de;q=0.7", "de" }, { "fr, xx", "en" },
    { "de;q=0, en", "en" },  { "den", "en" },
    { ",,;;", "en" },        { "C.UTF-8", "en" },
  };
  (void)state;
  for (gsize i = 0; i < G_N_ELEMENTS (cases); i++)
  {
    wsi_language_use (cases[i].wanted);
    assert_string_equal (wsi_language_code (), cases[i].code);
  }
  wsi_language_use (NULL);
}

/* Texts that are themselves in German, too. */
static gboolean
stays (const char *text)
{
  static const char *const same[] = { "Name" };
  return g_strv_contains (same, text);
}

typedef struct
{
  guint all, missing;
} Count;

static void
check (Count *count, const char *text)
{
  const char *other = wsi_language_text (text);
  count->all++;
  assert_true (g_utf8_validate (other, -1, NULL));
  if (other != text || *text == '\0' || stays (text))
    return;
  print_message ("not in German yet: %s\n", text);
  count->missing++;
}

/* What views declare, and what has a name. */
static void
what_comes_from_tables_is_in_german (void **state)
{
  Count declared = { 0, 0 }, fixed = { 0, 0 };
  (void)state;
  wsi_language_use ("de");
  for (const WsView *const *view = ws_views (); *view != NULL; view++)
  {
    check (&declared, (*view)->summary);
    for (gsize i = 0; i < (*view)->n_quantities; i++)
    {
      check (&declared, (*view)->quantities[i].label);
      check (&declared, (*view)->quantities[i].meaning);
    }
  }
  for (int i = 1; i < WS_N_RETAKES; i++)
    check (&declared, ws_retake_sentence ((WsRetake)i));
  for (int i = 0; i < WS_N_LIVE_WORDS; i++)
    check (&fixed, ws_live_word_text ((WsLiveWord)i));
  for (int i = 0; i < WS_N_ROLES; i++)
    check (&fixed, wsi_role_name ((WsServeRole)i));
  for (int i = 0; i < WS_N_KINDS; i++)
    check (&fixed, ws_tool_kind_name ((WsToolKind)i));
  wsi_language_use (NULL);
  assert_int_equal (fixed.missing, 0);
  assert_int_equal (declared.missing, 0);
  assert_true (declared.all > 200);
}

static void
unknown_and_empty_stay (void **state)
{
  static const char unknown[] = "No catalogue has this.";
  (void)state;
  wsi_language_use ("de");
  assert_ptr_equal (wsi_language_text (unknown), unknown);
  assert_string_equal (wsi_language_text (""), "");
  assert_null (wsi_language_text (NULL));
  wsi_language_use (NULL);
}

/* The page asks for it, and what programs read stays as it is. */
static void
pages_are_translated_and_programs_are_not (void **state)
{
  g_autoptr (Bench) bench = bench_new (FALSE);
  (void)state;
  g_autoptr (WsServeRequest) request = wsi_request_new ("GET", "/");
  guint64 most;
  request->client = g_strdup ("127.0.0.1");
  wsi_request_add_header (request, "Host", "127.0.0.1:8417");
  wsi_request_add_header (request, "Accept-Language", "de");
  assert_null (wsi_serve_admit (bench->serve, request, &most));
  g_autoptr (WsServeReply) reply = wsi_serve_answer (bench->serve, request);
  g_autofree char *page = bench_text (reply);
  assert_non_null (strstr (page, "<html lang=\"de\">"));
  assert_non_null (strstr (page, "Welches Werkzeug?"));
  const Asking asking = { .host = "127.0.0.1:8417" };
  g_autoptr (WsServeReply) english = bench_ask (bench, "GET", "/", &asking);
  g_autofree char *other = bench_text (english);
  assert_non_null (strstr (other, "Which tool?"));
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (chosen_as_browsers_and_locales_ask),
    cmocka_unit_test (what_comes_from_tables_is_in_german),
    cmocka_unit_test (unknown_and_empty_stay),
    cmocka_unit_test (pages_are_translated_and_programs_are_not),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
