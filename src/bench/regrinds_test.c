/*
 * Which pictures are shown as before and after a regrind.
 */
#include "bench/regrinds.h"

#include "base/testing.h"

typedef struct
{
  const char *view, *verdict;
  gboolean reground;
} Row;

#define MOST 6

static GPtrArray *
shelf_of (const Row *rows)
{
  GPtrArray *shelf = g_ptr_array_new_with_free_func (g_free);
  for (guint i = 0; i < MOST && rows[i].view != NULL; i++)
  {
    WsInspection *inspection = g_new0 (WsInspection, 1);
    inspection->view = (char *)rows[i].view;
    inspection->verdict = (char *)rows[i].verdict;
    inspection->reground = rows[i].reground;
    inspection->has_pictures = TRUE;
    inspection->annotated = (char *)"a";
    g_ptr_array_add (shelf, inspection);
  }
  return shelf;
}

#define NONE 99

/* Oldest first; `before` and `after` are the rows that are shown. */
static const struct
{
  Row rows[MOST];
  guint before, after;
} cases[] = {
  { { { "drill-side", "reject", FALSE }, { "drill-side", "accept", TRUE } }, 0, 1 },
  { { { "drill-side", "reject", FALSE } }, NONE, NONE },
  { { { "drill-side", "accept", TRUE } }, NONE, NONE },
  /* The end is looked at first; the side shows what was ground off. */
  { { { "drill-side", "reject", FALSE },
      { "drill-end", "reject", FALSE },
      { "drill-end", "accept", TRUE },
      { "drill-side", "accept", FALSE } },
    0,
    3 },
  { { { "blade-side", "reject", FALSE }, { "blade-side", "accept", TRUE } }, 0, 1 },
  /* Not of a picture that couldn't be measured, where another could. */
  { { { "drill-side", "reject", FALSE },
      { "drill-side", "retake", FALSE },
      { "drill-side", "retake", TRUE },
      { "drill-side", "accept", FALSE },
      { "drill-side", "reject", FALSE } },
    0,
    3 },
  { { { "drill-side", "retake", FALSE }, { "drill-side", "retake", TRUE } }, 0, 1 },
  /* The last regrind that has both; what came after the next one is of that. */
  { { { "blade-plan", "reject", FALSE },
      { "blade-plan", "accept", TRUE },
      { "blade-side", "accept", TRUE },
      { "blade-plan", "reject", FALSE } },
    1,
    3 },
  { { { "blade-plan", "reject", FALSE },
      { "blade-plan", "accept", TRUE },
      { "blade-side", "accept", TRUE } },
    0,
    1 },
};

static void
test_which_pictures (void **state)
{
  (void)state;
  for (gsize i = 0; i < G_N_ELEMENTS (cases); i++)
  {
    g_autoptr (GPtrArray) shelf = shelf_of (cases[i].rows);
    const WsRegrindPair pair = wsi_regrinds_last (shelf);
    const gpointer before = cases[i].before < shelf->len ? shelf->pdata[cases[i].before] : NULL;
    const gpointer after = cases[i].after < shelf->len ? shelf->pdata[cases[i].after] : NULL;
    if (pair.before != before || pair.after != after)
      fail_msg ("case %zu", i);
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_which_pictures),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
