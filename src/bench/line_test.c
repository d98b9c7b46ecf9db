/*
 * Who takes his time is cut; how often one asks is bounded; names can't act on a page.
 */
#include "base/testing.h"

#include <sys/socket.h>
#include <unistd.h>

#include "bench/html.h"
#include "bench/limiter.h"
#include "bench/line.h"

#define SECOND G_USEC_PER_SEC

/* TRUE when the other end was shut down. */
static gboolean
is_cut (int end)
{
  char byte;
  return recv (end, &byte, 1, MSG_DONTWAIT) == 0;
}

static void
slow_ones_are_cut (void **state)
{
  int ends[2];
  WsLines *lines = wsi_lines_new ();
  (void)state;
  assert_int_equal (socketpair (AF_UNIX, SOCK_STREAM, 0, ends), 0);
  wsi_lines_add (lines, ends, ends[0]);
  WsLine *line = wsi_lines_find (lines, ends);
  const gint64 now = g_get_monotonic_time ();
  /* A head may take 15 s, a body of 5 MB 110 s, work as long as it takes. */
  wsi_lines_cut (lines, now + 14 * SECOND);
  assert_false (is_cut (ends[1]));
  wsi_line_reads (line, 5000000);
  wsi_lines_cut (lines, now + 100 * SECOND);
  assert_false (is_cut (ends[1]));
  wsi_line_works (line);
  wsi_lines_cut (lines, now + 1000 * SECOND);
  assert_false (is_cut (ends[1]));
  wsi_line_waits (line);
  wsi_lines_cut (lines, now + 16 * SECOND);
  assert_true (is_cut (ends[1]));
  wsi_lines_remove (lines, ends);
  assert_null (wsi_lines_find (lines, ends));
  wsi_lines_free (lines);
  close (ends[0]);
  close (ends[1]);
}

static void
asking_is_bounded (void **state)
{
  guint wait_s, granted = 0;
  WsLimiter *limiter = wsi_limiter_new (10, 0.2);
  (void)state;
  for (guint i = 0; i < 10000; i++)
    granted += wsi_limiter_ask (limiter, "eve", SECOND, &wait_s) ? 1 : 0;
  assert_int_equal (granted, 10);
  assert_int_equal (wait_s, 5);
  assert_true (wsi_limiter_ask (limiter, "oly", SECOND, &wait_s));
  assert_false (wsi_limiter_ask (limiter, "eve", 5 * SECOND, &wait_s));
  assert_true (wsi_limiter_ask (limiter, "eve", 7 * SECOND, &wait_s));
  wsi_limiter_free (limiter);
}

/* Whoever has very many names takes no more memory, and then nobody new gets in. */
static void
many_who_ask_are_bounded (void **state)
{
  guint wait_s, granted = 0;
  WsLimiter *limiter = wsi_limiter_new (10, 0.2);
  (void)state;
  for (guint i = 0; i < 30000; i++)
  {
    g_autofree char *who = g_strdup_printf ("%u", i);
    granted += wsi_limiter_ask (limiter, who, SECOND, &wait_s) ? 1 : 0;
  }
  assert_int_equal (granted, 10000);
  assert_true (wsi_limiter_ask (limiter, "later", 100 * SECOND, &wait_s));
  wsi_limiter_free (limiter);
}

static void
names_are_escaped (void **state)
{
  g_autoptr (GString) html = g_string_new (NULL);
  (void)state;
  wsi_html_add (html, "<a href=\"%s\">%s %u %d %%</a>", "\"><script>", "<b>&'", 7U, -7);
  assert_string_equal (html->str, "<a href=\"&quot;&gt;&lt;script&gt;\">&lt;b&gt;&amp;&#39; 7 -7 "
                                  "%</a>");
  g_autofree char *piece = wsi_html_piece ("a/b?c=\"d\"#<");
  assert_string_equal (piece, "a%2Fb%3Fc%3D%22d%22%23%3C");
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (slow_ones_are_cut),
    cmocka_unit_test (asking_is_bounded),
    cmocka_unit_test (many_who_ask_are_bounded),
    cmocka_unit_test (names_are_escaped),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
