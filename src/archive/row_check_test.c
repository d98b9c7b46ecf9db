/*
 * A row that was just written, read back and held against what was bound: whatever differs is told.
 */
#include "archive/row_check.h"

#include <math.h>

#include "archive/archive_for_tests.h"
#include "archive/statements.h"
#include "archive/store.h"

/* A row as it was bound, and its record's quantities. */
typedef struct
{
  WsArchive *archive;
  WsInspection *written;
  json_t *record;
  GArray *quantities;
} Written;

static void
keep (const WsRow *row, gpointer data)
{
  g_array_append_val ((GArray *)data, *row);
}

static void
write_one (Written *written, const Fixture *fixture)
{
  *written = (Written){ .archive = open_archive (fixture, WS_ARCHIVE_WRITE),
                        .quantities = g_array_new (FALSE, FALSE, sizeof (WsRow)) };
  store_row (written->archive, 1, NULL);
  store_row (written->archive, 2, &written->written);
  store_row (written->archive, 3, NULL);
  written->record = wsi_columns_parse (written->written->record, NULL);
  wsi_columns_each_quantity (written->record, keep, written->quantities);
  g_array_sort (written->quantities, wsi_columns_by_name);
}

static void
written_clear (Written *written)
{
  ws_archive_free (written->archive);
  ws_inspection_free (written->written);
  json_decref (written->record);
  g_array_unref (written->quantities);
}

/* What is told; free with g_free(). */
static char *
told_of (const Written *written)
{
  char *what = NULL;
  g_autoptr (GError) error = NULL;
  assert_true (
    wsi_store_expect (written->archive, written->written, written->quantities, &what, &error));
  return what;
}

static void
expect_told (const Written *written, const char *words)
{
  g_autofree char *what = told_of (written);
  assert_non_null (what);
  assert_contains (what, words);
}

static void
nothing_is_told_of_what_is_there (void **state)
{
  Written written;
  write_one (&written, *state);
  assert_null (told_of (&written));
  written_clear (&written);
}

static void
each_text_is_compared (void **state)
{
  Written written;
  write_one (&written, *state);
  WsInspection *row = written.written;
  char **const texts[] = { &row->record,  &row->previous,  &row->settings, &row->station,
                           &row->grinder, &row->annotated, &row->imported, &row->clock,
                           &row->hash,    &row->time,      &row->tool,     &row->kind,
                           &row->view,    &row->verdict,   &row->reason,   &row->image_name,
                           &row->image };
  for (gsize i = 0; i < G_N_ELEMENTS (texts); i++)
  {
    char *there = *texts[i];
    *texts[i] = g_strconcat (there != NULL ? there : "", "x", NULL);
    g_autofree char *what = told_of (&written);
    assert_non_null (what);
    g_free (*texts[i]);
    *texts[i] = there;
  }
  assert_null (told_of (&written));
  written_clear (&written);
}

static void
flags_and_place_are_compared (void **state)
{
  Written written;
  write_one (&written, *state);
  WsInspection *row = written.written;
  row->reground = !row->reground;
  expect_told (&written, "another row");
  row->reground = !row->reground;
  row->has_pictures = !row->has_pictures;
  expect_told (&written, "another row");
  row->has_pictures = !row->has_pictures;
  row->place++;
  expect_told (&written, "another row");
  row->place--;
  assert_null (told_of (&written));
  written_clear (&written);
}

static void
each_quantity_is_compared (void **state)
{
  Written written;
  write_one (&written, *state);
  assert_true (written.quantities->len > 2);
  for (guint i = 0; i < written.quantities->len; i++)
  {
    WsRow *row = &g_array_index (written.quantities, WsRow, i);
    const WsRow there = *row;
    double *const numbers[] = { &row->value, &row->U, &row->lower, &row->upper };
    for (gsize n = 0; n < G_N_ELEMENTS (numbers); n++)
    {
      *numbers[n] = isnan (*numbers[n]) ? 1 : nextafter (*numbers[n], 0);
      expect_told (&written, row->name);
      *row = there;
    }
    row->verdict = "none";
    expect_told (&written, row->name);
    *row = there;
  }
  g_array_set_size (written.quantities, written.quantities->len - 1);
  expect_told (&written, "");
  written_clear (&written);
}

/* Whoever made the archive chose them, and may have chosen millions. */
static void
names_are_not_kept (void **state)
{
  Fixture *fixture = *state;
  Written written;
  write_one (&written, fixture);
  change (fixture, "UPDATE quantity SET name = 'a name of nothing' WHERE name = 'point_angle_deg'");
  expect_told (&written, "a name of nothing");
  assert_int_equal (g_quark_try_string ("a name of nothing"), 0);
  written_clear (&written);
}

/* The head, and the rows beside it. */
static void
its_place_is_checked (void **state)
{
  Fixture *fixture = *state;
  Written written;
  write_one (&written, fixture);
  change (fixture, "UPDATE inspection SET previous = 'x' WHERE id = 'id-3'");
  expect_told (&written, "its place in the chain");
  written_clear (&written);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown (nothing_is_told_of_what_is_there, set_up, tear_down),
    cmocka_unit_test_setup_teardown (each_text_is_compared, set_up, tear_down),
    cmocka_unit_test_setup_teardown (flags_and_place_are_compared, set_up, tear_down),
    cmocka_unit_test_setup_teardown (each_quantity_is_compared, set_up, tear_down),
    cmocka_unit_test_setup_teardown (names_are_not_kept, set_up, tear_down),
    cmocka_unit_test_setup_teardown (its_place_is_checked, set_up, tear_down),
  };
  return run_on_both_engines (tests);
}
