/*
 * The program in German, on pictures of the demo's shop: what people read is German, what programs
 * read is what it always was.
 */
#include "cli/program_for_tests.h"

#include <string.h>

#include "base/language.h"

#define CHIPPED WS_SOURCE_DIR "/images/lip-chipped.png"
#define CHIPPED_CARD WS_SOURCE_DIR "/images/QT-D-0100.tool"
#define CHIPPED_SCALE "0.023225911458333335"
#define FORM WS_SOURCE_DIR "/images/form-proud.png"
#define FORM_CARD WS_SOURCE_DIR "/images/QT-F-0114.tool"
#define FORM_SCALE "0.017939814814814815"
#define BLURRED WS_SOURCE_DIR "/images/trap-out-of-focus.png"
#define BLURRED_CARD WS_SOURCE_DIR "/images/QT-D-0118.tool"

/* ---- Which language ------------------------------------------------------------------- */

static const char *const variables[] = { "LC_ALL", "LC_MESSAGES", "LANG", "LANGUAGE" };

typedef char *Kept[G_N_ELEMENTS (variables)];

/* A value each, NULL for none; what was there before is kept. */
static void
surround (const char *const values[], Kept kept)
{
  for (gsize i = 0; i < G_N_ELEMENTS (variables); i++)
  {
    kept[i] = g_strdup (g_getenv (variables[i]));
    if (values[i] != NULL)
      g_setenv (variables[i], values[i], TRUE);
    else
      g_unsetenv (variables[i]);
  }
}

static void
put_back (Kept kept)
{
  for (gsize i = 0; i < G_N_ELEMENTS (variables); i++)
  {
    if (kept[i] != NULL)
      g_setenv (variables[i], kept[i], TRUE);
    else
      g_unsetenv (variables[i]);
    g_free (kept[i]);
  }
}

static const char *const german[] = { "de_DE.UTF-8", NULL, NULL, NULL };
static const char *const english[] = { "C.UTF-8", NULL, NULL, NULL };

/* Arguments end in NULL. */
static Run
ask (const char *const surroundings[], const char *argument, ...)
{
  Kept before;
  va_list rest;
  va_start (rest, argument);
  g_autoptr (GPtrArray) call = call_of (argument, rest);
  va_end (rest);
  surround (surroundings, before);
  const Run asked = run_call (call);
  put_back (before);
  return asked;
}

/* As GNU gettext reads them: LC_ALL over LC_MESSAGES over LANG; LANGUAGE, where there is a locale
 * at all, over these. */
static void
test_language_as_the_surroundings_say (void **state)
{
  static const struct
  {
    const char *values[G_N_ELEMENTS (variables)];
    gboolean german;
  } cases[] = {
    { { NULL, NULL, NULL, NULL }, FALSE },
    { { "de_DE.UTF-8", NULL, NULL, NULL }, TRUE },
    { { NULL, "de_AT.UTF-8", "en_GB.UTF-8", NULL }, TRUE },
    { { NULL, "", "de_DE", NULL }, TRUE },
    { { "C", NULL, "de_DE.UTF-8", NULL }, FALSE },
    { { "C.UTF-8", "de_DE.UTF-8", NULL, "de" }, FALSE },
    { { "POSIX", NULL, NULL, "de" }, FALSE },
    { { NULL, NULL, NULL, "de" }, FALSE },
    { { NULL, NULL, "en_GB.UTF-8", "de:en" }, TRUE },
    { { "de_DE.UTF-8", NULL, NULL, "en_GB:de" }, FALSE },
    { { "fr_FR.UTF-8", NULL, NULL, "fr:de" }, TRUE },
  };
  (void)state;
  for (gsize i = 0; i < G_N_ELEMENTS (cases); i++)
  {
    g_auto (Run) help = ask (cases[i].values, "--help", NULL);
    assert_int_equal (strstr (help.out, "Verben:") != NULL, cases[i].german);
    assert_int_equal (strstr (help.out, "Verbs:") != NULL, !cases[i].german);
  }
}

/* ---- What is English -------------------------------------------------------------------- */

/* Words that English can't do without and German hasn't. */
#define ENGLISH_WORDS                                                                              \
  "(?<![-\\w])(the|The|and|of|is|are|isn't|doesn't|can't|which|with|from)(?![-\\w])"

/* Names that are typed aren't words: --from, explain set-out, titles of books neither. */
#define NAMES                                                                                      \
  "--[a-z-]+|Machine Shop Work, Care of Drills|Turning and Boring|The Position of Turning Tools"

static void
assert_german (const char *text)
{
  g_autoptr (GRegex) names = g_regex_new (NAMES, 0, 0, NULL);
  g_autoptr (GRegex) words = g_regex_new (ENGLISH_WORDS, 0, 0, NULL);
  g_autofree char *plain = g_regex_replace_literal (names, text, -1, 0, "", 0, NULL);
  /* As it is written without its lines. */
  g_autoptr (GRegex) spaces = g_regex_new ("\\s+", 0, 0, NULL);
  g_autofree char *line = g_regex_replace_literal (spaces, plain, -1, 0, " ", 0, NULL);
  g_autoptr (GMatchInfo) found = NULL;
  assert_true (g_utf8_validate (text, -1, NULL));
  if (g_regex_match (words, line, 0, &found))
  {
    gint at;
    g_match_info_fetch_pos (found, 0, &at, NULL);
    fail_msg ("English: …%.80s", line + at);
  }
  wsi_language_use ("de");
  for (guint i = 0; i < wsi_language_count (); i++)
  {
    const char *told;
    const char *text_in_code = wsi_language_nth (i, &told);
    /* A sentence without places, that German says otherwise. */
    if (strlen (text_in_code) > 20 && strchr (text_in_code, '%') == NULL &&
        strchr (text_in_code, '\n') == NULL && strcmp (told, text_in_code) != 0 &&
        strstr (line, text_in_code) != NULL)
      fail_msg ("English: %s", text_in_code);
  }
  wsi_language_use (NULL);
}

/* The check itself sees English. */
static void
test_english_is_seen (void **state)
{
  g_auto (Run) run =
    ask (english, "measure", "--tool", CHIPPED_CARD, "--scale", CHIPPED_SCALE, CHIPPED, NULL);
  g_autoptr (GRegex) words = g_regex_new (ENGLISH_WORDS, 0, 0, NULL);
  (void)state;
  assert_int_equal (run.status, 1);
  assert_true (g_regex_match (words, run.out, 0, NULL));
}

/* ---- Measuring --------------------------------------------------------------------------- */

/* What differs from run to run taken out.  Free with g_free(). */
static char *
without_times (const char *record)
{
  g_autoptr (GRegex) regex = g_regex_new ("\"(id|time)\":\"[^\"]*T[^\"]*\"", 0, 0, NULL);
  return g_regex_replace_literal (regex, record, -1, 0, "", 0, NULL);
}

static char *
file_text (const char *folder, const char *name, gsize *n)
{
  g_autofree char *path = g_build_filename (folder, name, NULL);
  char *text = NULL;
  assert_true (g_file_get_contents (path, &text, n, NULL));
  return text;
}

static void
test_a_picture_is_answered_in_german (void **state)
{
  const Fixture *fixture = *state;
  g_autofree char *here = file_in (fixture, "en"), *there = file_in (fixture, "de");
  g_auto (Run) plain = ask (english, "measure", "--details", "--out", here, "--tool", CHIPPED_CARD,
                            "--scale", CHIPPED_SCALE, CHIPPED, NULL);
  g_auto (Run) told = ask (german, "measure", "--details", "--out", there, "--tool", CHIPPED_CARD,
                           "--scale", CHIPPED_SCALE, CHIPPED, NULL);
  assert_int_equal (plain.status, 1);
  assert_int_equal (told.status, 1);
  assert_contains (told.out, "S C H L E C H T");
  assert_contains (told.out, "Nachschleifen. Außerhalb der Grenzen: Ausbruchtiefe a.");
  assert_contains (told.out, "Was zu tun ist:");
  assert_contains (told.out, "Achtung: ");
  assert_contains (told.out, "Spitzenwinkel");
  assert_contains (told.out, "Was gefunden wurde:");
  assert_german (told.out);

  gsize n;
  g_autofree char *record = file_text (here, "lip-chipped.record.json", &n);
  g_autofree char *record_there = file_text (there, "lip-chipped.record.json", &n);
  g_autofree char *bare = without_times (record), *bare_there = without_times (record_there);
  assert_string_equal (bare_there, bare);
  gsize n_here, n_there;
  g_autofree char *picture = file_text (here, "lip-chipped.annotated.png", &n_here);
  g_autofree char *picture_there = file_text (there, "lip-chipped.annotated.png", &n_there);
  assert_true (n_here != n_there || memcmp (picture, picture_there, n_here) != 0);
}

static void
test_a_family_has_german_names (void **state)
{
  g_auto (Run) told =
    ask (german, "measure", "--details", "--tool", FORM_CARD, "--scale", FORM_SCALE, FORM, NULL);
  (void)state;
  assert_int_equal (told.status, 1);
  assert_contains (told.out, "Abw. Abschnitt 6");
  assert_contains (told.out, "Winkel von Ecke 9");
  assert_null (strstr (told.out, "Segment"));
  assert_german (told.out);
}

static void
test_inches_in_german (void **state)
{
  g_auto (Run) told = ask (german, "measure", "--units", "in", "--tool", CHIPPED_CARD, "--scale",
                           CHIPPED_SCALE, CHIPPED, NULL);
  (void)state;
  assert_contains (told.out, "längs der Bohrerachse zurückschleifen");
  assert_contains (told.out, " in ");
  assert_null (strstr (told.out, " mm"));
  assert_german (told.out);
}

static void
test_a_retake_in_german (void **state)
{
  g_auto (Run) told =
    ask (german, "measure", "--tool", BLURRED_CARD, "--scale", "0.0178", BLURRED, NULL);
  (void)state;
  assert_int_equal (told.status, 3);
  assert_contains (told.out, "N E U E S");
  assert_contains (told.out, "Auf die Schneiden scharfstellen");
  assert_german (told.out);
}

/* Workers speak as who asked them does. */
static void
test_many_at_once (void **state)
{
  g_auto (Run) told = ask (german, "measure", "--jobs", "2", "--tool", BLURRED_CARD, "--scale",
                           "0.0178", BLURRED, CHIPPED, NULL);
  (void)state;
  g_auto (GStrv) lines = g_strsplit (told.out, "\n", -1);
  assert_true (g_str_has_prefix (lines[0], "neues Bild"));
  assert_german (told.out);
  assert_contains (told.err, "2 Bilder: 0 gut");
  assert_german (told.err);
}

/* ---- Printed ------------------------------------------------------------------------------ */

static void
test_reports_in_german (void **state)
{
  const Fixture *fixture = *state;
  g_autofree char *archive = file_in (fixture, "archive"), *pdf = file_in (fixture, "report.pdf");
  g_autofree char *text = file_in (fixture, "report.txt");
  g_autofree char *program = g_find_program_in_path ("pdftotext");
  if (program == NULL)
    skip ();
  /* What is kept is English, whoever measured. */
  g_auto (Run) kept = ask (english, "measure", "--archive", archive, "--tool", CHIPPED_CARD,
                           "--scale", CHIPPED_SCALE, CHIPPED, NULL);
  g_auto (Run) again = ask (german, "measure", "--archive", archive, "--tool", BLURRED_CARD,
                            "--scale", "0.0178", BLURRED, NULL);
  assert_contains (kept.out, "Archived");
  assert_contains (again.out, "Archiv ");
  const char *const calls[] = { "report", "history" };
  for (gsize i = 0; i < G_N_ELEMENTS (calls); i++)
  {
    g_auto (Run) printed = i == 0 ? ask (german, "report", "--archive", archive, "--pdf", pdf, NULL)
                                  : ask (german, "archive", "history", archive, "--pdf", pdf, NULL);
    assert_int_equal (printed.status, 0);
    assert_german (printed.out);
    const char *const call[] = { program, "-layout", pdf, text, NULL };
    g_autofree char *words = NULL;
    assert_true (g_spawn_sync (NULL, (char **)call, NULL, G_SPAWN_DEFAULT, NULL, NULL, NULL, NULL,
                               NULL, NULL));
    assert_true (g_file_get_contents (text, &words, NULL, NULL));
    assert_contains (words, i == 0 ? "Übersicht der Prüfungen" : "Werkzeuggeschichte");
    assert_contains (words, "SCHLECHT");
    if (i == 0)
      assert_contains (words, "Entscheidungsregel");
    assert_german (words);
  }
}

/* ---- Words around it -------------------------------------------------------------------- */

/* What --help lists under a heading, name by name.  Free with g_strfreev(). */
static char **
names_in (const char *help)
{
  g_autoptr (GPtrArray) names = g_ptr_array_new ();
  g_auto (GStrv) lines = g_strsplit (help, "\n", -1);
  for (char **line = lines; *line != NULL; line++)
    if (g_str_has_prefix (*line, "  ") && g_ascii_islower ((*line)[2]))
      g_ptr_array_add (names, g_strndup (*line + 2, strcspn (*line + 2, " ")));
  g_ptr_array_add (names, NULL);
  return (char **)g_ptr_array_steal (names, NULL);
}

static void
test_help_in_german (void **state)
{
  (void)state;
  g_auto (Run) all = ask (german, "--help", NULL);
  g_auto (GStrv) verbs = names_in (all.out);
  assert_german (all.out);
  assert_true (g_strv_length (verbs) >= 14);
  for (char **verb = verbs; *verb != NULL; verb++)
  {
    g_auto (Run) help = ask (german, *verb, "--help", NULL);
    assert_int_equal (help.status, 0);
    assert_contains (help.out, "Aufruf");
    assert_german (help.out);
    if (strstr (help.out, "\nBefehle:") == NULL && strstr (help.out, "\nVerfahren:") == NULL)
    {
      assert_contains (help.out, "-h, --help");
      continue;
    }
    g_auto (GStrv) commands = names_in (help.out);
    assert_true (g_strv_length (commands) >= 2);
    for (char **command = commands; *command != NULL; command++)
    {
      g_auto (Run) more = ask (german, *verb, *command, "--help", NULL);
      assert_int_equal (more.status, 0);
      assert_german (more.out);
    }
  }
}

static void
test_explained_and_traced_in_german (void **state)
{
  (void)state;
  g_auto (Run) centre =
    ask (german, "explain", "centre-height", "--diameter", "10", "--error", "0.2", NULL);
  assert_contains (centre.out, "Freiwinkel");
  assert_german (centre.out);
  g_auto (Run) clearance = ask (german, "explain", "clearance", "--diameter", "20",
                                "--side-clearance", "1", "--overhang", "9", "--height", "8", NULL);
  assert_contains (clearance.out, "Der Halter TRIFFT das Teil");
  assert_german (clearance.out);
  g_auto (Run) views = ask (german, "views", NULL);
  assert_contains (views.out, "Summe der beiden halben Winkel.");
  assert_german (views.out);
  static const char *const symptoms[] = { "oversize-hole", "rough-hole", "walks", "corners-break",
                                          "lips-chip",     "tip-left",   "burr",  "chatter",
                                          "dulls-early",   "size-drifts" };
  for (gsize i = 0; i < G_N_ELEMENTS (symptoms); i++)
  {
    g_auto (Run) traced = ask (german, "trace", symptoms[i], NULL);
    assert_int_equal (traced.status, 0);
    assert_contains (traced.out, "Wenn ja");
    assert_german (traced.out);
    g_auto (Run) json = ask (english, "trace", "--json", symptoms[i], NULL);
    g_auto (Run) json_there = ask (german, "trace", "--json", symptoms[i], NULL);
    assert_string_equal (json_there.out, json.out);
  }
}

static void
test_errors_in_german (void **state)
{
  static const struct
  {
    const char *words[6], *told;
  } cases[] = {
    { { "measur" }, "gemeint measure?" },
    { { "measure" }, "mindestens ein Bild nennen" },
    { { "measure", "--colour", "x.png" }, "Unbekannte Option --colour" },
    { { "measure", "--scale", "0", "x.png" }, "eine Zahl über 0 mit Dezimalpunkt erwartet" },
    { { "measure", "--jobs", "many", "x.png" }, "keine ganze Zahl für --jobs" },
    { { "measure", "/nowhere/x.png" }, "nicht zu lesen (Datei oder Ordner gibt es nicht)" },
    { { "measure", "--tool", "/nowhere/x.tool", "x.png" }, "gibt es nicht oder ist nicht lesbar" },
    { { "archive", "list", "/nowhere" }, "kein Archiv dort" },
    { { "study" }, "die Tabelle mit --plan nennen" },
    { { "trace", "burrs" }, "gemeint burr?" },
    { { "views", "all" }, "views nimmt keine Argumente" },
  };
  (void)state;
  for (gsize i = 0; i < G_N_ELEMENTS (cases); i++)
  {
    const char *const *w = cases[i].words;
    g_auto (Run) failed = ask (german, w[0], w[1], w[2], w[3], w[4], NULL);
    assert_true (failed.status >= 64);
    assert_contains (failed.err, cases[i].told);
    assert_german (failed.err);
  }
}

int
main (void)
{
  /* The leak checker tells on standard error which leaks of libraries it knows. */
  g_setenv ("LSAN_OPTIONS", "print_suppressions=0", FALSE);
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_language_as_the_surroundings_say),
    cmocka_unit_test (test_english_is_seen),
    cmocka_unit_test_setup_teardown (test_a_picture_is_answered_in_german, set_up, tear_down),
    cmocka_unit_test (test_a_family_has_german_names),
    cmocka_unit_test (test_inches_in_german),
    cmocka_unit_test (test_a_retake_in_german),
    cmocka_unit_test (test_many_at_once),
    cmocka_unit_test_setup_teardown (test_reports_in_german, set_up, tear_down),
    cmocka_unit_test (test_help_in_german),
    cmocka_unit_test (test_explained_and_traced_in_german),
    cmocka_unit_test (test_errors_in_german),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
