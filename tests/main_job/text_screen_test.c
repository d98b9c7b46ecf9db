/*
 * What is printed of the pictures in images/: a screen each, verdict and work first.
 */
#include <string.h>

#include "base/testing.h"
#include "trial/gates.h"
#include "trial/trial.h"

/* 24 lines, less the prompt's. */
#define SCREEN_LINES 23
#define SCREEN_COLUMNS 80

enum
{
  SHOT_FILE,
  SHOT_CARD,
  SHOT_VIEW,
  SHOT_SCALE,
  SHOT_SCALE_U,
  SHOT_N
};

/* Free with g_free(). */
static char *
print (char **shot, const char *option)
{
  g_autofree char *picture = g_build_filename (WS_SOURCE_DIR, "images", shot[SHOT_FILE], NULL);
  g_autofree char *card = g_build_filename (WS_SOURCE_DIR, "images", shot[SHOT_CARD], NULL);
  const char *const call[] = { trial_program (),
                               "measure",
                               "--tool",
                               card,
                               "--view",
                               shot[SHOT_VIEW],
                               "--scale",
                               shot[SHOT_SCALE],
                               "--scale-u",
                               shot[SHOT_SCALE_U],
                               picture,
                               option,
                               NULL };
  char *said = NULL;
  assert_true (
    g_spawn_sync (NULL, (char **)call, NULL, G_SPAWN_DEFAULT, NULL, NULL, &said, NULL, NULL, NULL));
  return said;
}

static void
check_screen (const char *name, const char *text)
{
  g_auto (GStrv) lines = g_strsplit (text, "\n", -1);
  const guint n = g_strv_length (lines) - 1;
  if (n > SCREEN_LINES)
    fail_msg ("%s: %u lines:\n%s", name, n, text);
  for (guint i = 0; i < n; i++)
    if (g_utf8_strlen (lines[i], -1) >= SCREEN_COLUMNS)
      fail_msg ("%s: too long a line: %s", name, lines[i]);
  const char *work = strstr (text, "\nWhat to do:\n"), *table = strstr (text, "\nQuantity ");
  assert_true (g_str_has_prefix (text, "==== "));
  assert_true (work == NULL || table == NULL || work < table);
  if (work != NULL && strstr (text, "Take care: ") != NULL)
    assert_true (work < strstr (text, "Take care: "));
}

/* Every row of the screen's table is in the whole one, and all that the screen leaves out is there:
 * sources of limits, scale, camera. */
static void
check_details (const char *name, const char *screen, const char *all)
{
  g_auto (GStrv) lines = g_strsplit (screen, "\n", -1);
  gboolean in_table = FALSE;
  for (char **line = lines; *line != NULL; line++)
  {
    const gboolean ends = **line == '\0' || **line == '*' || g_str_has_prefix (*line, "More ");
    g_auto (GStrv) words = g_strsplit (*line, "  ", 2);
    if (in_table && !ends && strstr (all, words[0]) == NULL)
      fail_msg ("%s: no \"%s\" among the details", name, words[0]);
    in_table = g_str_has_prefix (*line, "Quantity ") || (in_table && !ends);
  }
  assert_contains (all, "\nScale     ");
  assert_contains (all, "\nCamera    ");
  assert_contains (all, "\nRecord    ");
  if (strstr (screen, " *  ") != NULL)
    assert_contains (all, "\n  [1] ");
}

static void
texts_fit_a_screen (void **state)
{
  (void)state;
  guint n = 0;
  g_autofree char *text = NULL;
  g_autofree char *path = g_build_filename (WS_SOURCE_DIR, "images", "shots.csv", NULL);
  assert_true (g_file_get_contents (path, &text, NULL, NULL));
  g_auto (GStrv) lines = g_strsplit (text, "\n", -1);
  for (char **line = lines + 1; *line != NULL && **line != '\0'; line++, n++)
  {
    if (n % trial_scenes (1, 4) != 0)
      continue;
    g_auto (GStrv) shot = g_strsplit (*line, ",", -1);
    assert_true (g_strv_length (shot) > SHOT_N);
    g_autofree char *screen = print (shot, NULL);
    g_autofree char *all = print (shot, "--details");
    check_screen (shot[SHOT_FILE], screen);
    check_details (shot[SHOT_FILE], screen, all);
  }
  assert_true (n >= 20);
}

int
main (void)
{
  if (trial_program () == NULL)
  {
    print_error ("set WHETSIGHT to the program to test\n");
    return 1;
  }
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (texts_fit_a_screen),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
