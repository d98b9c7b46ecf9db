#include "base/testing.h"

#include "base/shown.h"

static void
check (char *shown, const char *expected)
{
  assert_string_equal (shown, expected);
  assert_true (g_utf8_validate (shown, -1, NULL));
  g_free (shown);
}

static void
test_plain_text_stays (void **state)
{
  (void)state;
  static const char *const texts[] = { "", "a b.png", "2.50 ± 0.01 mm", "Fräser №4 刃 💎", "\\n" };
  for (gsize i = 0; i < G_N_ELEMENTS (texts); i++)
  {
    check (wsi_shown (texts[i]), texts[i]);
    check (wsi_shown_lines (texts[i]), texts[i]);
    check (wsi_shown_json (texts[i]), texts[i]);
  }
}

static void
test_controls_become_words (void **state)
{
  (void)state;
  check (wsi_shown ("a\nb\tc\rd"), "a\\nb\\tc\\rd");
  check (wsi_shown ("\x1b[2J\x7f\a"), "\\x1b[2J\\x7f\\x07");
  check (wsi_shown ("\xc2\x9b"
                    "31m"),
         "\\u009b31m");
  check (wsi_shown ("\xe2\x80\xae"
                    "gnp"),
         "\\u202egnp");
  check (wsi_shown_lines ("a\n\tb\x1b\r"), "a\n\tb\\x1b\\r");
}

static void
test_bytes_that_are_no_text (void **state)
{
  (void)state;
  check (wsi_shown ("caf\xe9.png"), "caf\\xe9.png");
  check (wsi_shown ("\x9b"
                    "31m"),
         "\\x9b31m");
  check (wsi_shown ("\xf0\x9f"), "\\xf0\\x9f");
  check (wsi_shown ("\xed\xa0\x80"), "\\xed\\xa0\\x80");
}

static void
test_noncharacters_become_words (void **state)
{
  (void)state;
  check (wsi_shown ("a\xef\xbf\xbf"), "a\\uffff");
  check (wsi_shown ("\xef\xb7\x90 \xf0\x9f\xbf\xbe"), "\\ufdd0 \\u1fffe");
  check (wsi_shown ("\xef\xbf\xbd"), "\xef\xbf\xbd"); /* the replacement is a character */
}

static void
test_json_means_the_same (void **state)
{
  (void)state;
  check (wsi_shown_json ("\"\xf0\x9f\xbf\xbe\""), "\"\\ud83f\\udffe\"");
  check (wsi_shown_json ("{\"a\": \"\xc2\x9b"
                         "2J\x7f\"}\n"),
         "{\"a\": \"\\u009b2J\\u007f\"}\n");
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_plain_text_stays),
    cmocka_unit_test (test_controls_become_words),
    cmocka_unit_test (test_bytes_that_are_no_text),
    cmocka_unit_test (test_noncharacters_become_words),
    cmocka_unit_test (test_json_means_the_same),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
