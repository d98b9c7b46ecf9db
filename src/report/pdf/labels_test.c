#include "report/pdf/labels.h"

#include <string.h>

#include "base/testing.h"
#include <whetsight/error.h>

static const WsPdfStyle style = { .paper = WS_PAPER_A4 };

/* Bytes may be zero before it. */
static guint
pages_of (GBytes *pdf)
{
  static const char key[] = "/Count ";
  gsize n;
  const char *bytes = g_bytes_get_data (pdf, &n);
  for (gsize i = 0; i + sizeof key < n; i++)
    if (memcmp (bytes + i, key, sizeof key - 1) == 0)
      return (guint)g_ascii_strtoull (bytes + i + sizeof key - 1, NULL, 10);
  return 0;
}

static void
a_sheet_has_24 (void **state)
{
  static const struct
  {
    gsize n;
    guint pages;
  } cases[] = { { 1, 1 }, { 24, 1 }, { 25, 2 }, { 49, 3 } };
  WsLabel labels[49];
  (void)state;
  for (gsize i = 0; i < G_N_ELEMENTS (labels); i++)
    labels[i] = (WsLabel){ "QT-D-0118", "twist-drill 6.5 mm" };
  for (gsize i = 0; i < G_N_ELEMENTS (cases); i++)
  {
    g_autoptr (GBytes) pdf = wsi_labels_print (labels, cases[i].n, &style, NULL);
    assert_non_null (pdf);
    assert_int_equal (pages_of (pdf), cases[i].pages);
  }
}

static void
an_id_that_no_code_holds_is_refused (void **state)
{
  GError *error = NULL;
  g_autofree char *id = g_strnfill (4000, 'Q');
  const WsLabel label = { id, "too long" };
  (void)state;
  assert_null (wsi_labels_print (&label, 1, &style, &error));
  assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_DATA));
  g_error_free (error);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (a_sheet_has_24),
    cmocka_unit_test (an_id_that_no_code_holds_is_refused),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
