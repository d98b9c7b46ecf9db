#include "judge/causes.h"

#include "base/testing.h"

#include <math.h>

#include <whetsight/error.h>

static WsCauses *
built_in (void)
{
  GError *error = NULL;
  WsCauses *causes = wsi_causes_parse ("built-in", wsi_causes_text, &error);
  if (causes == NULL)
    fail_msg ("%s", error->message);
  return causes;
}

/* Whatever the symptom and the tool, three checks of a few minutes come before anything is ground
 * or taken apart. */
static void
cheap_checks_come_first (void **state)
{
  (void)state;
  g_autoptr (WsCauses) causes = built_in ();
  assert_true (causes->symptoms->len >= 7);
  for (guint i = 0; i < causes->symptoms->len; i++)
    for (guint kind = 0; kind <= WS_N_KINDS; kind++)
    {
      const WsSymptom *symptom = g_ptr_array_index (causes->symptoms, i);
      guint found = 0;
      for (guint k = 0; k < causes->causes->len && found < 3; k++)
      {
        const WsCause *cause = g_ptr_array_index (causes->causes, k);
        if (!wsi_cause_fits (cause, symptom->name, kind))
          continue;
        assert_int_equal (cause->stage, WS_STAGE_SET_UP);
        assert_true (cause->minutes <= 5);
        found++;
      }
      assert_int_equal (found, 3);
    }
}

static void
every_line_has_its_source (void **state)
{
  (void)state;
  g_autoptr (WsCauses) causes = built_in ();
  for (guint i = 0; i < causes->causes->len; i++)
  {
    const WsCause *cause = g_ptr_array_index (causes->causes, i);
    assert_true (cause->source[0] != '\0' && cause->check[0] != '\0' && cause->cure[0] != '\0');
    assert_true (isnan (cause->explains) || cause->quantities != NULL);
  }
}

#define SYMPTOM "[symptom burr]\ntitle = A burr\n"
#define CAUSE                                                                                      \
  "[cause dull]\nsymptoms = burr\nstage = tool\nminutes = 2\nwhat = Dull\ncheck = Look\n"          \
  "cure = Grind\nsource = common practice\n"

static void
a_shop_writes_its_own (void **state)
{
  (void)state;
  g_autoptr (WsCauses) causes =
    wsi_causes_parse ("own", SYMPTOM CAUSE "tools = cutoff-blade\noutside = below\n", NULL);
  assert_non_null (causes);
  const WsCause *cause = g_ptr_array_index (causes->causes, 0);
  assert_int_equal (cause->outside, -1);
  assert_true (wsi_cause_fits (cause, "burr", WS_KIND_CUTOFF_BLADE));
  assert_false (wsi_cause_fits (cause, "burr", WS_KIND_TWIST_DRILL));
  assert_true (wsi_cause_fits (cause, "burr", WS_N_KINDS));
  assert_false (wsi_cause_fits (cause, "chatter", WS_N_KINDS));
}

static void
what_is_wrong_in_a_table_is_named (void **state)
{
  (void)state;
  static const struct
  {
    const char *text, *expected;
  } cases[] = {
    { SYMPTOM "[causes]\n", "[causes] is neither" },
    { "[symptom burr]\n", "title is missing" },
    { SYMPTOM CAUSE "tools = hammer\n", "tools: expected kinds of tools" },
    { SYMPTOM CAUSE "outside = left\n", "outside: expected below or above, found \"left\"" },
    { SYMPTOM CAUSE "explains = much\n", "explains: expected a number above 0" },
    { SYMPTOM CAUSE "cost = 3\n", "has no key cost" },
    { CAUSE, "there is no [symptom burr]" },
    { "nothing", "not a table of causes" },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (cases); i++)
  {
    g_autoptr (GError) error = NULL;
    assert_null (wsi_causes_parse ("own.conf", cases[i].text, &error));
    assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_DATA));
    assert_contains (error->message, "own.conf: ");
    assert_contains (error->message, cases[i].expected);
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (cheap_checks_come_first),
    cmocka_unit_test (every_line_has_its_source),
    cmocka_unit_test (a_shop_writes_its_own),
    cmocka_unit_test (what_is_wrong_in_a_table_is_named),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
