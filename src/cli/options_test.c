#include "base/testing.h"

#include <math.h>

#include <whetsight/error.h>

#include "cli/options.h"

typedef struct
{
  gboolean flag;
  char *text, *word, *from;
  int count;
  double number;
  char **files;
} Values;

static const char *
word (guint i)
{
  static const char *const words[] = { "a4", "letter" };
  return i < G_N_ELEMENTS (words) ? words[i] : NULL;
}

static const WsOptionCheck is_paper = { .word = word };
static const WsOptionCheck is_angle = { .phrase = "expected degrees, 0 to 60", .most = 60 };
static const WsOptionCheck is_jobs = {
  .phrase = "expected a number above 0", .least = 0, .most = 9, .above = TRUE
};

static const WsOption options[] = {
  { WS_OPTION_FLAG, "flag", 'f', G_STRUCT_OFFSET (Values, flag), NULL, "A flag", NULL },
  { WS_OPTION_TEXT, "text", 't', G_STRUCT_OFFSET (Values, text), "TEXT", "A text", NULL },
  { WS_OPTION_WORD, "paper", 0, G_STRUCT_OFFSET (Values, word), "SIZE", "A word", &is_paper },
  { WS_OPTION_TIME, "from", 0, G_STRUCT_OFFSET (Values, from), "TIME", "A time", NULL },
  { WS_OPTION_COUNT, "jobs", 0, G_STRUCT_OFFSET (Values, count), "N", "A count", &is_jobs },
  WS_OPTIONS_END
};

/* In a group of its own, as the archive's filter is. */
typedef struct
{
  int before;
  Values values;
} Both;

static const WsOption more_options[] = {
  { WS_OPTION_NUMBER, "angle", 'a', G_STRUCT_OFFSET (Values, number), "DEG", "An angle",
    &is_angle },
  { WS_OPTION_FILES, NULL, 0, G_STRUCT_OFFSET (Values, files), "FILE…", NULL, NULL },
  WS_OPTIONS_END
};

static const WsOptionGroup groups[] = { { options, G_STRUCT_OFFSET (Both, values) },
                                        { more_options, G_STRUCT_OFFSET (Both, values) },
                                        { NULL, 0 } };

static gboolean
read_words (const char *const *words, Both *both, GError **error)
{
  g_auto (GStrv) arguments = g_strdupv ((char **)words);
  g_autoptr (GOptionContext) context = g_option_context_new (NULL);
  *both = (Both){ .before = 7 };
  return wsi_options_read (groups, context, &arguments, both, error);
}

static void
test_every_kind_is_read (void **state)
{
  Both both;
  const char *const words[] = { "x",      "-f",      "--text", "one",   "--text", "two",
                                "--jobs", "3",       "-a",     "59.5",  "--from", "2026-11",
                                "a.png",  "--paper", "letter", "b.png", NULL };
  (void)state;
  assert_true (read_words (words, &both, NULL));
  const Values *values = &both.values;
  assert_int_equal (both.before, 7);
  assert_true (values->flag);
  assert_string_equal (values->text, "two");
  assert_string_equal (values->from, "2026-11");
  assert_int_equal (values->count, 3);
  assert_true (fabs (values->number - 59.5) < 1e-12);
  assert_int_equal (wsi_option_word_index (&is_paper, values->word, 9), 1);
  assert_string_equal (values->files[0], "a.png");
  assert_string_equal (values->files[1], "b.png");
  assert_null (values->files[2]);
  wsi_options_clear (groups, &both);
  assert_null (values->text);
  assert_null (values->files);
}

static void
test_what_is_not_given_is_told_apart (void **state)
{
  Both both;
  g_autoptr (GError) error = NULL;
  const char *const words[] = { "x", NULL };
  (void)state;
  /* A count of 0 stands for none, so it isn't held against the check. */
  assert_true (read_words (words, &both, NULL));
  assert_true (isnan (both.values.number));
  assert_int_equal (wsi_option_word_index (&is_paper, both.values.word, 9), 9);
  assert_true (fabs (wsi_option_number (both.values.number, 2.5) - 2.5) < 1e-12);
  assert_false (wsi_options_require (more_options, "angle", &both.values, &error));
  assert_string_equal (error->message, "--angle: expected degrees, 0 to 60");
  wsi_options_clear (groups, &both);
}

static void
test_what_is_wrong_is_told (void **state)
{
  static const struct
  {
    const char *option, *value, *message;
  } cases[] = {
    { "--angle", "61", "--angle: expected degrees, 0 to 60, found \"61\"" },
    { "-a", "-1", "--angle: expected degrees, 0 to 60, found \"-1\"" },
    { "--angle", "5,5", "--angle: expected degrees, 0 to 60, found \"5,5\"" },
    { "--angle", "nan", "--angle: expected degrees, 0 to 60, found \"nan\"" },
    { "--paper", "a5", "--paper: expected one of a4, letter; found \"a5\"" },
    { "--jobs", "-2", "--jobs: expected a number above 0, found -2" },
    { "--jobs", "10", "--jobs: expected a number above 0, found 10" },
    { "--from", "2026-1x",
      "--from: expected a time such as 2026-11, 2026-11-25 or 2026-11-25T10:15, found "
      "\"2026-1x\"" },
  };
  (void)state;
  for (gsize i = 0; i < G_N_ELEMENTS (cases); i++)
  {
    Both both;
    g_autoptr (GError) error = NULL;
    const char *const words[] = { "x", cases[i].option, cases[i].value, NULL };
    assert_false (read_words (words, &both, &error));
    assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_USAGE));
    assert_string_equal (error->message, cases[i].message);
    wsi_options_clear (groups, &both);
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_every_kind_is_read),
    cmocka_unit_test (test_what_is_not_given_is_told_apart),
    cmocka_unit_test (test_what_is_wrong_is_told),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
