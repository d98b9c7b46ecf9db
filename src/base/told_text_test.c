/*
 * Sentences of records in German, by the catalogue that is part of the program.
 */
#include "base/told_text.h"

#include "base/testing.h"

#include <string.h>
#include <time.h>

#include "base/language.h"

static void
check (const char *english, const char *german)
{
  g_autofree char *told = wsi_told_text (english);
  assert_string_equal (told, german);
}

static void
what_stood_in_places_is_found_again (void **state)
{
  (void)state;
  wsi_language_use ("de");
  check ("Leave lip a as it is.", "Schneide a lassen, wie sie ist.");
  check ("Lip b has a chip, 0.25 ± 0.01 mm deep.",
         "Schneide b hat einen Ausbruch, 0.25 ± 0.01 mm tief.");
  check (
    "Segment 6 is short of metal by 0.03 mm and leaves the part too big there: the rest of the "
    "profile has to be ground back to it.",
    "Bei Abschnitt 6 fehlen 0.03 mm, und das Teil bleibt dort zu groß: das übrige Profil muss "
    "darauf zurückgeschliffen werden.");
}

/* Places may change their order, and hold sentences and words of their own. */
static void
places_are_told_too (void **state)
{
  (void)state;
  wsi_language_use ("de");
  check ("Lip a is longer than lip b by 0.10 ± 0.02 mm. It can drill oversize.",
         "Schneide a ist um 0.10 ± 0.02 mm länger als Schneide b. Er kann zu groß bohren.");
  check ("Set it aside. The lips can't be told: nothing.",
         "Beiseitelegen. Die Schneiden sind nicht zu bestimmen: nichts.");
}

static void
what_isn_t_known_stays (void **state)
{
  (void)state;
  wsi_language_use ("de");
  check ("", "");
  check ("118.02", "118.02");
  check ("Nobody ever said so.", "Nobody ever said so.");
  check ("Nobody ever said so. Leave lip b as it is.",
         "Nobody ever said so. Schneide b lassen, wie sie ist.");
  check ("100 %s of lip %n", "100 %s of lip %n");
  assert_null (wsi_told_text (NULL));
}

/* Whatever somebody put into a record takes no time that is worth mentioning: these fit the
 * beginnings of very many patterns.  Without a bound the last took minutes. */
static void
long_texts_end (void **state)
{
  static const char *const pieces[] = { "Lip a is a. ", "a: ", "a. ", "A: B " };
  (void)state;
  wsi_language_use ("de");
  for (gsize i = 0; i < G_N_ELEMENTS (pieces); i++)
  {
    g_autoptr (GString) text = g_string_new (NULL);
    while (text->len + strlen (pieces[i]) < 1200)
      g_string_append (text, pieces[i]);
    const clock_t start = clock ();
    g_autofree char *told = wsi_told_text (text->str);
    assert_non_null (told);
    /* Processor time, a hundred times what it takes. */
    assert_true (clock () - start < 3 * CLOCKS_PER_SEC);
  }
}

static void
english_is_as_it_was (void **state)
{
  (void)state;
  wsi_language_use ("en");
  check ("Leave lip a as it is.", "Leave lip a as it is.");
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (what_stood_in_places_is_found_again),
    cmocka_unit_test (places_are_told_too),
    cmocka_unit_test (what_isn_t_known_stays),
    cmocka_unit_test (long_texts_end),
    cmocka_unit_test (english_is_as_it_was),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
