#include "base/testing.h"

#include <whetsight/batch.h>
#include <whetsight/error.h>

#define N 24

typedef struct
{
  guint next;    /* that is to be delivered */
  guint stop_at; /* after so many */
} Delivered;

static gboolean
deliver (guint i, WsOutcome *outcome, gpointer data)
{
  Delivered *delivered = data;
  assert_int_equal (i, delivered->next);
  delivered->next++;
  /* There are no such files. */
  assert_true (g_error_matches (outcome->error, WS_ERROR, WS_ERROR_NO_INPUT));
  assert_null (outcome->record);
  return delivered->next < delivered->stop_at;
}

static gboolean
run (guint n_workers, guint stop_at, guint *n_delivered)
{
  g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_TWIST_DRILL);
  const WsJob job = { .card = card,
                      .view = ws_view_find ("drill-side"),
                      .optics = WS_OPTICS_UNKNOWN,
                      .limits = WS_IMAGE_LIMITS_DEFAULT };
  char *names[N + 1] = { NULL };
  for (guint i = 0; i < N; i++)
    names[i] = g_strdup_printf ("/nowhere/%u.png", i);
  Delivered delivered = { 0, stop_at };
  const gboolean done = ws_batch_run (&job, names, n_workers, deliver, &delivered);
  for (guint i = 0; i < N; i++)
    g_free (names[i]);
  *n_delivered = delivered.next;
  return done;
}

static void
test_all_are_delivered_in_order (void **state)
{
  guint n;
  (void)state;
  for (guint workers = 1; workers <= 4; workers++)
  {
    assert_true (run (workers, G_MAXUINT, &n));
    assert_int_equal (n, N);
  }
}

static void
test_it_can_be_stopped (void **state)
{
  guint n;
  (void)state;
  for (guint workers = 1; workers <= 4; workers++)
  {
    assert_false (run (workers, 3, &n));
    assert_int_equal (n, 3);
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_all_are_delivered_in_order),
    cmocka_unit_test (test_it_can_be_stopped),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
