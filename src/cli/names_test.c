/*
 * Names that would act on a terminal, and surroundings that would change numbers.
 */
#include "cli/program_for_tests.h"

#include <jansson.h>

/* What a file may be called, and how it is told. */
static const struct
{
  const char *name, *shown;
} names[] = {
  { "new\nline.png", "new\\nline.png" },
  { "esc\x1b[2Jx.png", "esc\\x1b[2Jx.png" },
  { "c1\xc2\x9b"
    "31m.png",
    "c1\\u009b31m.png" },
  { "caf\xe9.png", "caf\\xe9.png" },
  { "bidi\xe2\x80\xaegnp.png", "bidi\\u202egnp.png" },
  { "-dash.png", "-dash.png" },
  { "bell\a.png", "bell\\x07.png" },
};

/* Only line feeds and what can be seen. */
static void
assert_harmless (const char *text)
{
  assert_true (g_utf8_validate (text, -1, NULL));
  for (const char *c = text; *c != '\0'; c = g_utf8_next_char (c))
  {
    const gunichar u = g_utf8_get_char (c);
    assert_true (u == '\n' || u == '\t' || (u >= 0x20 && !(u >= 0x7F && u < 0xA0)));
    assert_false (u == 0x202E);
  }
}

static char *
folder_of_names (const Fixture *fixture, const char *from)
{
  char *folder = file_in (fixture, "names");
  g_autofree char *bytes = NULL;
  gsize n = 0;
  assert_true (g_file_get_contents (from, &bytes, &n, NULL));
  g_mkdir_with_parents (folder, 0700);
  for (gsize i = 0; i < G_N_ELEMENTS (names); i++)
  {
    g_autofree char *path = g_build_filename (folder, names[i].name, NULL);
    assert_true (g_file_set_contents (path, bytes, (gssize)n, NULL));
  }
  return folder;
}

static void
test_names_are_told_not_obeyed (void **state)
{
  const Fixture *fixture = *state;
  g_autofree char *card = write_card (fixture, "a.tool", "");
  g_autofree char *scale = scale_text (), *archive = file_in (fixture, "archive");
  g_autofree char *pdf = file_in (fixture, "report.pdf");
  g_autofree char *folder = folder_of_names (fixture, fixture->blank);
  g_auto (Run) all =
    run ("measure", "--tool", card, "--scale", scale, "--archive", archive, folder, NULL);
  assert_int_equal (all.status, 3);
  assert_harmless (all.out);
  assert_harmless (all.err);
  for (gsize i = 0; i < G_N_ELEMENTS (names); i++)
  {
    g_autofree char *line = g_strdup_printf ("%s: ", names[i].shown);
    assert_contains (all.out, line);
  }
  static const char *const shows[] = { "list", "verify" };
  for (gsize i = 0; i < G_N_ELEMENTS (shows); i++)
  {
    g_auto (Run) shown = run ("archive", shows[i], archive, NULL);
    assert_int_equal (shown.status, 0);
    assert_harmless (shown.out);
  }
  g_auto (Run) printed = run ("report", "--archive", archive, "--pdf", pdf, NULL);
  assert_int_equal (printed.status, 0);
  assert_string_equal (printed.err, "");
}

/* Alone: the long report, the record, and what is wrong with a file. */
static void
test_one_name_each (void **state)
{
  const Fixture *fixture = *state;
  g_autofree char *card = write_card (fixture, "a.tool", "");
  g_autofree char *folder = folder_of_names (fixture, fixture->blank);
  for (gsize i = 0; i < G_N_ELEMENTS (names); i++)
  {
    g_autofree char *path = g_build_filename (folder, names[i].name, NULL);
    g_auto (Run) told = run ("measure", "--tool", card, path, NULL);
    assert_int_equal (told.status, 3);
    assert_harmless (told.out);
    assert_contains (told.out, names[i].shown);
    g_auto (Run) record = run ("measure", "--json", "--tool", card, path, NULL);
    assert_harmless (record.out);
    assert_int_equal (count_lines (record.out), 1);
    json_t *parsed = json_loads (record.out, JSON_REJECT_DUPLICATES, NULL);
    assert_non_null (parsed);
    const char *name =
      json_string_value (json_object_get (json_object_get (parsed, "image"), "name"));
    if (g_utf8_validate (names[i].name, -1, NULL))
      assert_string_equal (name, names[i].name);
    json_decref (parsed);
    assert_true (g_file_set_contents (path, "no picture", -1, NULL));
    g_auto (Run) wrong = run ("measure", "--tool", card, path, NULL);
    assert_int_equal (wrong.status, 65);
    assert_harmless (wrong.err);
    assert_int_equal (count_lines (wrong.err), 1);
    assert_contains (wrong.err, names[i].shown);
  }
}

/* As long as a name may be: its record has no room beside it, and that is said. */
static void
test_the_longest_name (void **state)
{
  const Fixture *fixture = *state;
  g_autofree char *stem = g_strnfill (251, 'a'), *name = g_strconcat (stem, ".png", NULL);
  g_autofree char *path = file_in (fixture, name), *out = file_in (fixture, "out");
  g_autofree char *card = write_card (fixture, "a.tool", "");
  g_autofree char *bytes = NULL;
  gsize n = 0;
  assert_true (g_file_get_contents (fixture->blank, &bytes, &n, NULL));
  assert_true (
    g_file_set_contents_full (path, bytes, (gssize)n, G_FILE_SET_CONTENTS_NONE, 0600, NULL));
  g_auto (Run) measured = run ("measure", "--tool", card, path, NULL);
  assert_int_equal (measured.status, 3);
  assert_contains (measured.out, name);
  g_auto (Run) kept = run ("measure", "--tool", card, "--out", out, path, NULL);
  assert_int_equal (kept.status, 73);
  assert_contains (kept.err, "too long");
  assert_int_equal (count_lines (kept.err), 1);
}

/* ---- Surroundings ----------------------------------------------------------------------- */

/* What differs from run to run taken out.  Free with g_free(). */
static char *
without_times (const char *record)
{
  g_autoptr (GRegex) regex = g_regex_new ("\"(id|time)\":\"[^\"]*T[^\"]*\"", 0, 0, NULL);
  return g_regex_replace_literal (regex, record, -1, 0, "", 0, NULL);
}

/* All with a point or a comma in them, in turn.  Free with g_free(). */
static char *
numbers_of (const char *text)
{
  GString *numbers = g_string_new (NULL);
  g_autoptr (GRegex) regex = g_regex_new ("[0-9]+[.,][0-9]+", 0, 0, NULL);
  g_autoptr (GMatchInfo) found = NULL;
  for (g_regex_match (regex, text, 0, &found); g_match_info_matches (found);
       g_match_info_next (found, NULL))
  {
    g_autofree char *number = g_match_info_fetch (found, 0);
    g_string_append_printf (numbers, "%s ", number);
  }
  return g_string_free (numbers, FALSE);
}

/* The line that begins so.  Free with g_free(). */
static char *
line_with (const char *text, const char *start)
{
  const char *line = strstr (text, start);
  assert_non_null (line);
  return g_strndup (line, strcspn (line, "\n"));
}

/* A decimal comma, and a day that is another one there. */
static void
test_locale_and_time_zone (void **state)
{
  const Fixture *fixture = *state;
  static const char *const variables[] = { "LC_ALL", "LANG", "LANGUAGE", "TZ" };
  static const char *const values[] = { "de_DE.UTF-8", "de_DE.UTF-8", "de", "UTC-13:45" };
  g_autofree char *scale = scale_text ();
  g_autofree char *card = write_card (fixture, "a.tool", "point_angle_deg = 110.5 .. 126.25\n");
  g_auto (Run) plain =
    run ("measure", "--json", "--tool", card, "--scale", scale, fixture->good, NULL);
  g_auto (Run) text =
    run ("measure", "--details", "--tool", card, "--scale", scale, fixture->good, NULL);
  char *kept[G_N_ELEMENTS (variables)];
  for (gsize i = 0; i < G_N_ELEMENTS (variables); i++)
  {
    kept[i] = g_strdup (g_getenv (variables[i]));
    g_setenv (variables[i], values[i], TRUE);
  }
  g_auto (Run) there =
    run ("measure", "--json", "--tool", card, "--scale", scale, fixture->good, NULL);
  g_auto (Run) text_there =
    run ("measure", "--details", "--tool", card, "--scale", scale, fixture->good, NULL);
  for (gsize i = 0; i < G_N_ELEMENTS (variables); i++)
  {
    if (kept[i] != NULL)
      g_setenv (variables[i], kept[i], TRUE);
    else
      g_unsetenv (variables[i]);
    g_free (kept[i]);
  }
  g_autofree char *here_record = without_times (plain.out);
  g_autofree char *there_record = without_times (there.out);
  assert_int_equal (there.status, plain.status);
  assert_string_equal (there_record, here_record);
  /* German words, the same numbers, and another hour. */
  g_autofree char *here_numbers = numbers_of (text.out),
                  *there_numbers = numbers_of (text_there.out);
  assert_contains (text.out, "Point angle");
  assert_contains (text_there.out, "Spitzenwinkel");
  assert_true (strlen (here_numbers) > 100);
  assert_string_equal (there_numbers, here_numbers);
  g_autofree char *here_time = line_with (text.out, "Measured ");
  g_autofree char *there_time = line_with (text_there.out, "Gemessen ");
  assert_true (strcmp (strchr (here_time, ' '), strchr (there_time, ' ')) != 0);
}

int
main (void)
{
  /* The leak checker tells on standard error which leaks of libraries it knows. */
  g_setenv ("LSAN_OPTIONS", "print_suppressions=0", FALSE);
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown (test_names_are_told_not_obeyed, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_one_name_each, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_the_longest_name, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_locale_and_time_zone, set_up, tear_down),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
