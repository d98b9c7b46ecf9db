#include "archive/archive_for_tests.h"

static void
test_keeps_what_it_got (void **state)
{
  g_autoptr (WsArchive) archive = open_archive (*state, WS_ARCHIVE_WRITE);
  g_autoptr (WsInspection) stored = NULL;
  g_autoptr (GError) error = NULL;
  store_row (archive, 1, &stored);
  assert_int_equal (stored->number, 1);
  g_autoptr (WsInspection) found = ws_archive_find (archive, "id-1", &error);
  assert_non_null (found);
  assert_string_equal (found->record, stored->record);
  assert_string_equal (found->hash, stored->hash);
  assert_string_equal (found->station, "bench 2");
  assert_string_equal (found->tool, "QT-D-0001");
  assert_true (found->has_pictures);
  g_autofree char *path = ws_archive_picture_path (archive, found->annotated);
  g_autofree char *content = NULL;
  assert_true (g_file_get_contents (path, &content, NULL, NULL));
  assert_string_equal (content, "drawn on 1");
  assert_null (ws_archive_find (archive, "id-9", &error));
  assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_NO_INPUT));
}

static void
test_refuses_a_smallest_seen_that_is_none (void **state)
{
  g_autoptr (WsArchive) archive = open_archive (*state, WS_ARCHIVE_WRITE);
  const char *const wrong[] = { "-0.1", "\"little\"", "[0.1]", "true" };
  for (gsize i = 0; i < G_N_ELEMENTS (wrong); i++)
  {
    const Sample sample = { "id-1", "2026-11-25T10:00:00Z", "QT-D-0001", "accept", 118.0, NULL };
    g_autoptr (WsInspection) inspection = sample_inspection (&sample);
    g_autoptr (GError) error = NULL;
    GString *record = g_string_new (inspection->record);
    assert_int_equal (g_string_replace (record, "0.024", wrong[i], 0), 1);
    g_free (inspection->record);
    inspection->record = g_string_free (record, FALSE);
    assert_false (ws_archive_store (archive, inspection, NULL, &error));
    assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_DATA));
    assert_contains (error->message, "smallest_seen");
  }
}

static void
test_refuses_what_is_no_record (void **state)
{
  g_autoptr (WsArchive) archive = open_archive (*state, WS_ARCHIVE_WRITE);
  const char *const records[] = {
    "",    "{}", "[1]", "{\"record\": \"whetsight/1\"}", "{\"record\": \"other\", \"id\": \"x\"}",
    "{\n}"
  };
  for (gsize i = 0; i < G_N_ELEMENTS (records); i++)
  {
    g_autoptr (WsInspection) inspection = g_new0 (WsInspection, 1);
    g_autoptr (GError) error = NULL;
    inspection->record = g_strdup (records[i]);
    assert_false (ws_archive_store (archive, inspection, NULL, &error));
    assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_DATA));
  }
  /* An id that is taken; and a picture that isn't the one measured. */
  store_row (archive, 1, NULL);
  const Sample same = { "id-1", "2026-11-25T10:00:00Z", "QT-D-0001", "accept", 118.0, NULL };
  g_autoptr (WsInspection) again = sample_inspection (&same);
  g_autoptr (GBytes) other = g_bytes_new_static ("other", 5);
  g_autoptr (GError) error = NULL;
  assert_false (ws_archive_store (archive, again, NULL, &error));
  assert_contains (error->message, "id-1");
  g_clear_error (&error);
  const WsPictures pictures = { .original = other };
  assert_false (ws_archive_store (archive, again, &pictures, &error));
  assert_contains (error->message, "changed while");
  guint64 wrong;
  g_autofree char *told = verify (*state, NULL, &wrong);
  assert_string_equal (told, "");
}

static gboolean
count_row (const WsInspection *inspection, gpointer data, GError **error)
{
  (void)error;
  g_string_append_printf (data, "%s ", inspection->id);
  return TRUE;
}

static void
check_found (WsArchive *archive, const WsArchiveFilter *filter, const char *expected)
{
  GString *found = g_string_new (NULL);
  g_autoptr (GError) error = NULL;
  assert_true (ws_archive_each (archive, filter, FALSE, count_row, found, &error));
  assert_string_equal (found->str, expected);
  g_string_free (found, TRUE);
}

static void
test_filters (void **state)
{
  fill (*state);
  g_autoptr (WsArchive) archive = open_archive (*state, WS_ARCHIVE_READ);
  const struct
  {
    WsArchiveFilter filter;
    const char *expected;
  } cases[] = {
    { { .above = NAN, .below = NAN }, "id-1 id-2 id-3 id-4 id-5 " },
    { { .tool = "QT-D-0002", .above = NAN, .below = NAN }, "id-2 " },
    { { .tool = "' OR 1 --", .above = NAN, .below = NAN }, "" },
    { { .verdict = "reject", .above = NAN, .below = NAN }, "id-3 id-4 id-5 " },
    { { .kind = "spot-drill", .above = NAN, .below = NAN }, "" },
    { { .station = "bench 2", .last = 2, .above = NAN, .below = NAN }, "id-4 id-5 " },
    { { .grinder = "R. Vane", .from = "2026-11-25T14", .above = NAN, .below = NAN }, "id-4 id-5 " },
    { { .to = "2026-11-25T12", .above = NAN, .below = NAN }, "id-1 id-2 " },
    { { .to = "2026-10", .above = NAN, .below = NAN }, "" },
    { { .quantity = "point_angle_deg", .above = 120.5, .below = NAN }, "id-4 id-5 " },
    { { .quantity = "point_angle_deg", .above = 118.5, .below = 120.5 }, "id-2 id-3 " },
    { { .quantity = "lip_length_a_mm", .above = NAN, .below = NAN }, "" },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (cases); i++)
    check_found (archive, &cases[i].filter, cases[i].expected);
}

static void
test_values_in_time (void **state)
{
  fill (*state);
  g_autoptr (WsArchive) archive = open_archive (*state, WS_ARCHIVE_READ);
  g_autoptr (GError) error = NULL;
  const WsArchiveFilter filter = {
    .quantity = "point_angle_deg", .from = "2026-11-25T12", .above = NAN, .below = NAN
  };
  g_autoptr (GPtrArray) values = ws_archive_values (archive, &filter, &error);
  assert_non_null (values);
  assert_int_equal (values->len, 4);
  const WsArchiveValue *first = g_ptr_array_index (values, 0);
  assert_near (first->value, 119.0, 1e-12);
  assert_near (first->U, 0.05, 1e-12);
  assert_near (first->upper, 120.0, 1e-12);
  assert_string_equal (first->tool, "QT-D-0002");
}

static void
test_a_batch_is_whole_or_not_at_all (void **state)
{
  const Sample sample = { "id-1", "2026-11-25T10:00:00Z", "QT-D-0001", "accept", 118.0, NULL };
  g_autoptr (WsArchive) archive = open_archive (*state, WS_ARCHIVE_WRITE);
  g_autoptr (WsInspection) inspection = sample_inspection (&sample);
  g_autoptr (GError) error = NULL;
  const WsArchiveFilter all = WS_ARCHIVE_ALL;
  assert_true (ws_archive_begin (archive, &error));
  assert_true (ws_archive_store (archive, inspection, NULL, &error));
  ws_archive_roll_back (archive);
  check_found (archive, &all, "");
  assert_true (ws_archive_begin (archive, &error));
  assert_true (ws_archive_store (archive, inspection, NULL, &error));
  assert_true (ws_archive_commit (archive, &error));
  check_found (archive, &all, "id-1 ");
}

/* Numbers that a database might give back otherwise than it got them. */
static void
test_odd_numbers (void **state)
{
  static const double odd[] = { -0.0, 0.0, 118.0, -3.0, 1e-300, 1e300, 0.1, 9007199254740993.0 };
  guint64 wrong;
  g_autoptr (WsArchive) archive = open_archive (*state, WS_ARCHIVE_WRITE);
  for (gsize i = 0; i < G_N_ELEMENTS (odd); i++)
  {
    char id[16], number[G_ASCII_DTOSTR_BUF_SIZE];
    g_snprintf (id, sizeof id, "odd-%u", (guint)i);
    const Sample sample = { id, "2026-11-25T10:00:00Z", "QT-D-0001", "accept", 118.0, NULL };
    g_autoptr (WsInspection) inspection = sample_inspection (&sample);
    g_auto (GStrv) parts = g_strsplit (inspection->record, "118.0000", 2);
    g_ascii_dtostr (number, sizeof number, odd[i]);
    g_autofree char *text = g_strconcat (number, strpbrk (number, ".e") != NULL ? "" : ".0", NULL);
    g_free (inspection->record);
    inspection->record = g_strjoin (text, parts[0], parts[1], NULL);
    assert_true (ws_archive_store (archive, inspection, NULL, NULL));
  }
  g_autofree char *told = verify (*state, NULL, &wrong);
  assert_string_equal (told, "");
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown (test_keeps_what_it_got, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_refuses_what_is_no_record, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_refuses_a_smallest_seen_that_is_none, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_filters, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_values_in_time, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_a_batch_is_whole_or_not_at_all, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_odd_numbers, set_up, tear_down),
  };
  return run_on_both_engines (tests);
}
