#include "base/testing.h"

#include <glib/gstdio.h>
#include <jansson.h>
#include <whetsight/error.h>
#include <whetsight/exchange.h>

#include "archive/columns.h"
#include "archive/sample_for_tests.h"
#include "archive/schema_for_tests.h"
#include "base/csv.h"

#define TIME "2026-11-25T12:00:00Z"

static const WsQuantityInfo *
lookup (const char *view, const char *name)
{
  static const WsQuantityInfo angle = { "point_angle", WS_UNIT_DEGREE, "SIG", "Point angle",
                                        "Sum of the two half angles." };
  static const WsQuantityInfo diameter = { "diameter", WS_UNIT_LENGTH, "DC", "Diameter",
                                           "At the outer corners." };
  assert_true (g_str_has_prefix (view, "drill-"));
  if (g_str_equal (name, "point_angle_deg"))
    return &angle;
  return g_str_equal (name, "diameter_mm") ? &diameter : NULL;
}

/* Names that each format has to escape. */
static WsInspection *
inspection_new (const char *id, const char *verdict, double angle)
{
  const Sample sample = { id, "2026-11-25T10:15:02Z", "QT-D <&>, 0118", verdict, angle, NULL };
  WsInspection *inspection = sample_inspection (&sample);
  g_free (inspection->station);
  inspection->station = g_strdup ("bench \"2\", left,\nby the \"record\": { door");
  inspection->previous = g_strdup ("");
  assert_true (wsi_columns_fill (inspection, NULL, NULL, NULL));
  return inspection;
}

static void
finish (WsExchange *exchange, GString *out)
{
  gboolean more = TRUE;
  while (more)
    assert_true (ws_exchange_finish (exchange, out, &more, NULL));
}

/* Free with g_free(). */
static char *
write_samples (WsExchangeForm form)
{
  g_autoptr (WsExchange) exchange = ws_exchange_new (form, lookup, TIME);
  GString *out = g_string_new (NULL);
  static const char *const verdicts[] = { "accept", "reject", "undecided" };
  static const double angles[] = { 118.25, 121.25, 120.02 };
  for (guint i = 0; i < G_N_ELEMENTS (verdicts); i++)
  {
    g_autofree char *id = g_strdup_printf ("id-%u", i);
    g_autoptr (WsInspection) inspection = inspection_new (id, verdicts[i], angles[i]);
    assert_true (ws_exchange_add (exchange, inspection, out, NULL));
  }
  finish (exchange, out);
  return g_string_free (out, FALSE);
}

static void
test_csv (void **state)
{
  (void)state;
  g_autofree char *text = write_samples (WS_EXCHANGE_CSV);
  g_autoptr (GPtrArray) rows = wsi_csv_parse ("export", text, NULL);
  assert_non_null (rows);
  assert_int_equal (rows->len, 1 + 3 * 3);
  const WsCsvRow *head = g_ptr_array_index (rows, 0);
  const WsCsvRow *second = g_ptr_array_index (rows, 4);
  for (guint i = 0; i < rows->len; i++)
    assert_int_equal (((WsCsvRow *)g_ptr_array_index (rows, i))->n, head->n);
  assert_string_equal (second->fields[wsi_csv_column (head, "id")], "id-1");
  assert_string_equal (second->fields[wsi_csv_column (head, "tool")], "QT-D <&>, 0118");
  assert_string_equal (second->fields[wsi_csv_column (head, "station")],
                       "bench \"2\", left,\nby the \"record\": { door");
  assert_string_equal (second->fields[wsi_csv_column (head, "symbol")], "SIG");
  assert_string_equal (second->fields[wsi_csv_column (head, "value")], "121.25");
  assert_string_equal (second->fields[wsi_csv_column (head, "upper")], "120");
  /* Records of older versions have none. */
  assert_string_equal (second->fields[wsi_csv_column (head, "smallest_seen")], "");
  const WsCsvRow *last = g_ptr_array_index (rows, 6);
  assert_string_equal (last->fields[wsi_csv_column (head, "smallest_seen")], "0.024");
}

static void
test_jsonl_comes_back_as_it_was (void **state)
{
  (void)state;
  g_autofree char *text = write_samples (WS_EXCHANGE_JSONL);
  g_auto (GStrv) lines = g_strsplit (text, "\n", -1);
  assert_int_equal (g_strv_length (lines), 4);
  g_autoptr (WsExchange) exchange = ws_exchange_new (WS_EXCHANGE_JSONL, lookup, TIME);
  g_autoptr (GString) again = g_string_new (NULL);
  for (guint i = 0; i < 3; i++)
  {
    g_autofree char *id = g_strdup_printf ("id-%u", i);
    g_autoptr (GError) error = NULL;
    g_autoptr (WsInspection) back = ws_exchange_read (lines[i], &error);
    assert_null (error);
    assert_string_equal (back->id, id);
    assert_string_equal (back->grinder, "R. Vane");
    assert_true (ws_exchange_add (exchange, back, again, NULL));
  }
  assert_string_equal (again->str, text);
}

static void
test_reading_other_lines (void **state)
{
  (void)state;
  const Sample sample = { "id-1", "2026-11-25T10:15:02Z", "QT-D-0118", "accept", 118.0, NULL };
  g_autofree char *bare = sample_record (&sample);
  g_autoptr (WsInspection) inspection = ws_exchange_read (bare, NULL);
  assert_non_null (inspection);
  assert_string_equal (inspection->record, bare);
  assert_null (inspection->station);
  /* Members in another order: the same content, written anew. */
  g_autofree char *turned = g_strdup_printf (
    "{\"record\": %s, \"station\": \"x\", \"inspection\": \"whetsight-inspection/1\"}", bare);
  g_autoptr (WsInspection) other = ws_exchange_read (turned, NULL);
  assert_non_null (other);
  assert_string_equal (other->station, "x");
  json_t *a = json_loads (other->record, 0, NULL), *b = json_loads (bare, 0, NULL);
  assert_true (json_equal (a, b));
  json_decref (a);
  json_decref (b);
  const char *const wrong[] = { "", "x", "[]", "{}", "{\"inspection\": 1}", "{\"record\": 2}" };
  for (gsize i = 0; i < G_N_ELEMENTS (wrong); i++)
  {
    g_autoptr (GError) error = NULL;
    assert_null (ws_exchange_read (wrong[i], &error));
    assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_DATA));
  }
}

/* A record's own bytes are kept where it stands last, whatever its texts hold, and only where the
 * name is the line's. */
static void
test_own_bytes (void **state)
{
  (void)state;
  const Sample sample = { "id-1", "2026-11-25T10:15:02Z", "QT-D-0118", "accept", 118.0, NULL };
  g_autofree char *plain = sample_record (&sample);
  g_autofree char *odd =
    g_strdup_printf ("{\"odd\":  \"a \\\"} {[ \\\\\", \"deep\": [[{}]],%s", plain + 1);
  static const char *const in_front[] = { "", "\"other\": \"\\\"record\\\": {\", ",
                                          "\"other\": {\"record\": {\"x\": 1}}, " };
  for (gsize i = 0; i < G_N_ELEMENTS (in_front); i++)
  {
    g_autoptr (GError) error = NULL;
    g_autofree char *line = g_strdup_printf (
      "{\"inspection\": \"whetsight-inspection/1\", %s\"record\": %s}\n", in_front[i], odd);
    g_autoptr (WsInspection) read = ws_exchange_read (line, &error);
    assert_null (error);
    json_t *a = json_loads (read->record, 0, NULL), *b = json_loads (odd, 0, NULL);
    assert_true (json_equal (a, b));
    json_decref (a);
    json_decref (b);
    assert_int_equal (g_str_equal (read->record, odd), i < 2);
  }
}

/* What a record may not say of itself; each is a good one with one thing changed. */
static void
test_reading_contradictions (void **state)
{
  static const struct
  {
    const char *from, *to, *told;
  } changes[] = {
    { "\"value\": 121.2500", "\"value\": 118.2500", "is told as reject" },
    { "\"upper\": 120.0", "\"upper\": 130.0", "is told as reject" },
    { "\"U\": 0.05", "\"U\": 5.0", "is told as reject" },
    { "\"U\": 0.05", "\"U\": null", "without U" },
    { "\"U\": 0.05", "\"U\": \"0.05\"", "neither a number nor null" },
    { "\"verdict\": \"reject\", \"reason\"", "\"verdict\": \"accept\", \"reason\"", "accepted" },
    { "\"verdict\": \"reject\", \"reason\"", "\"verdict\": \"retake\", \"reason\"", "retake" },
    { "\"verdict\": \"reject\", \"reason\"", "\"verdict\": null, \"reason\"", "isn't" },
    { "\"verdict\": \"reject\", \"reason\"", "\"verdict\": \"good\", \"reason\"", "verdict" },
    { "2026-11-25T10:15:02Z", "2026-02-30T10:15:02Z", "its time" },
    { "2026-11-25T10:15:02Z", "yesterday", "its time" },
    { "\"findings\": [", "\"findings\": 1, \"other\": [", "findings" },
  };
  const Sample sample = { "id-1", "2026-11-25T10:15:02Z", "QT-D-0118", "reject", 121.25, NULL };
  g_autofree char *good = sample_record (&sample);
  g_autoptr (WsInspection) read = ws_exchange_read (good, NULL);
  (void)state;
  assert_non_null (read);
  for (gsize i = 0; i < G_N_ELEMENTS (changes); i++)
  {
    g_autoptr (GError) error = NULL;
    g_auto (GStrv) parts = g_strsplit (good, changes[i].from, 2);
    g_autofree char *changed = g_strjoinv (changes[i].to, parts);
    assert_string_not_equal (changed, good);
    assert_null (ws_exchange_read (changed, &error));
    assert_contains (error->message, changes[i].told);
  }
}

/* ---- By the published schemas ----------------------------------------------------------- */

/* Elements open and close in pairs. */
static void
check_well_formed (const char *text)
{
  const GMarkupParser parser = { NULL, NULL, NULL, NULL, NULL };
  GMarkupParseContext *context = g_markup_parse_context_new (&parser, 0, NULL, NULL);
  g_autoptr (GError) error = NULL;
  g_markup_parse_context_parse (context, text, -1, &error);
  assert_null (error);
  assert_true (g_markup_parse_context_end_parse (context, &error));
  g_markup_parse_context_free (context);
}

static void
test_qif (void **state)
{
  (void)state;
  g_autofree char *text = write_samples (WS_EXCHANGE_QIF);
  check_well_formed (text);
  assert_contains (text, "<CharacteristicStatusEnum>INDETERMINATE<");
  assert_contains (text, "<InspectionStatusEnum>FAIL<");
  assert_contains (text, "<Name>SIG</Name>");
  assert_contains (text, "<Value combinedUncertainty=\"0.025\">121.25</Value>");
  assert_contains (text, "<CharacteristicItems n=\"2\">");
  assert_contains (text, "value=\"QT-D &lt;&amp;&gt;, 0118\"");
  assert_contains (text, "name=\"decision_rule\" value=\"ISO 14253-1:2017: PASS with all of U");
  assert_contains (text, "<MeasurementDevices n=\"1\">");
  assert_contains (text, "<Name>camera, not calibrated</Name>");
  assert_contains (text, "<InspectionStart>2026-11-25T10:15:02Z</InspectionStart>");
}

static void
test_mtconnect (void **state)
{
  (void)state;
  g_autofree char *text = write_samples (WS_EXCHANGE_MTCONNECT);
  check_well_formed (text);
  assert_contains (text, "assetCount=\"1\"");
  assert_contains (text, "<PointAngle code=\"SIG\" units=\"DEGREE\" minimum=\"116\" "
                         "maximum=\"120\">120.02</PointAngle>");
  assert_contains (text, "<CuttingDiameterMax code=\"DC\" units=\"MILLIMETER\"");
  assert_lacks (text, "118.25");
}

/* What is stored of a tool in one go, and what is then said of it. */
typedef struct
{
  struct
  {
    const char *view, *verdict, *time;
    gboolean wrong;
  } seen[3];
  const char *status;
} Published;

static void
add_seen (WsExchange *exchange, GString *out, const Published *published, guint i)
{
  const char *view = published->seen[i].view;
  g_autofree char *id = g_strdup_printf ("id-%u", i);
  const Sample sample = { id,        published->seen[i].time,
                          "QT-D-1",  published->seen[i].verdict,
                          118.0 + i, NULL };
  g_autoptr (WsInspection) inspection = sample_inspection (&sample);
  g_auto (GStrv) parts = g_strsplit (inspection->record, "drill-side", 2);
  g_free (inspection->record);
  inspection->record = g_strjoin (view, parts[0], parts[1], NULL);
  assert_true (wsi_columns_fill (inspection, NULL, NULL, NULL));
  if (published->seen[i].wrong)
    inspection->wrong = g_strdup ("edited");
  assert_true (ws_exchange_add (exchange, inspection, out, NULL));
}

/* A tool is available when all its views are good, not when its last picture is. */
/* Of what somebody else measured, names beyond the exchange's end. */
static void
test_mtconnect_keeps_no_names (void **state)
{
  static const char name[] = "\"another angle of nothing\":";
  (void)state;
  g_autoptr (WsExchange) exchange = ws_exchange_new (WS_EXCHANGE_MTCONNECT, lookup, TIME);
  g_autoptr (WsInspection) inspection = inspection_new ("id-1", "accept", 118.25);
  g_auto (GStrv) parts = g_strsplit (inspection->record, "\"point_angle_deg\":", 2);
  assert_int_equal (g_strv_length (parts), 2);
  g_free (inspection->record);
  inspection->record = g_strjoinv (name, parts);
  GString *out = g_string_new (NULL);
  assert_true (ws_exchange_add (exchange, inspection, out, NULL));
  assert_int_equal (g_quark_try_string ("another angle of nothing"), 0);
  finish (exchange, out);
  g_string_free (out, TRUE);
}

static void
test_mtconnect_joins_views (void **state)
{
  static const Published cases[] = {
    { { { "drill-side", "accept", "1", FALSE }, { "drill-end", "accept", "2", FALSE } },
      "AVAILABLE" },
    { { { "drill-side", "reject", "1", FALSE }, { "drill-end", "accept", "2", FALSE } },
      "UNAVAILABLE" },
    { { { "drill-side", "reject", "1", FALSE }, { "drill-side", "accept", "2", FALSE } },
      "AVAILABLE" },
    /* Stored later, taken earlier. */
    { { { "drill-side", "reject", "2", FALSE }, { "drill-side", "accept", "1", FALSE } },
      "UNAVAILABLE" },
    { { { "drill-side", "accept", "1", FALSE }, { "drill-end", "undecided", "2", FALSE } },
      "UNKNOWN" },
    { { { "drill-side", "accept", "1", FALSE }, { "drill-side", "accept", "2", TRUE } },
      "UNKNOWN" },
  };
  (void)state;
  for (gsize i = 0; i < G_N_ELEMENTS (cases); i++)
  {
    g_autoptr (WsExchange) exchange = ws_exchange_new (WS_EXCHANGE_MTCONNECT, lookup, TIME);
    g_autoptr (GString) out = g_string_new (NULL);
    for (guint k = 0; cases[i].seen[k].view != NULL; k++)
      add_seen (exchange, out, &cases[i], k);
    finish (exchange, out);
    check_well_formed (out->str);
    g_autofree char *said = g_strdup_printf ("<Status>%s</Status>", cases[i].status);
    assert_contains (out->str, said);
    assert_contains (out->str, "<PointAngle");
  }
}

/* A line end is kept, a control character left out, and a byte that is no UTF-8 replaced. */
static void
test_text_that_xml_cannot_hold (void **state)
{
  (void)state;
  g_autoptr (WsExchange) exchange = ws_exchange_new (WS_EXCHANGE_QIF, lookup, TIME);
  g_autoptr (GString) out = g_string_new (NULL);
  g_autoptr (WsInspection) inspection = inspection_new ("id-1", "accept", 118.0);
  g_free (inspection->grinder);
  inspection->grinder = g_strdup ("R.\x01\x1b\r\nVane\t\xff\xef\xbf\xbf|");
  assert_true (ws_exchange_add (exchange, inspection, out, NULL));
  finish (exchange, out);
  check_well_formed (out->str);
  assert_contains (out->str, "name=\"grinder\" value=\"R.&#10;Vane&#9;");
  assert_lacks (out->str, "\x1b");
  assert_lacks (out->str, "\xff");
  assert_lacks (out->str, "\xef\xbf\xbf|");
}

/* More results than are handed on at a time; none is lost, none stays in memory until the end. */
static void
test_qif_comes_in_pieces (void **state)
{
  (void)state;
  enum
  {
    N = 400
  };
  g_autoptr (WsExchange) exchange = ws_exchange_new (WS_EXCHANGE_QIF, lookup, TIME);
  g_autoptr (GString) out = g_string_new (NULL);
  gboolean more = TRUE;
  gsize longest = 0;
  for (guint i = 0; i < N; i++)
  {
    g_autofree char *id = g_strdup_printf ("id-%u", i);
    g_autoptr (WsInspection) inspection = inspection_new (id, "accept", 118.0);
    assert_true (ws_exchange_add (exchange, inspection, out, NULL));
  }
  assert_int_equal (out->len, 0);
  while (more)
  {
    const gsize before = out->len;
    assert_true (ws_exchange_finish (exchange, out, &more, NULL));
    longest = MAX (longest, out->len - before);
  }
  check_well_formed (out->str);
  assert_contains (out->str, "<MeasurementResultsSet n=\"400\">");
  for (guint i = 0; i < N; i++)
  {
    g_autofree char *name = g_strdup_printf ("name=\"inspection\" value=\"id-%u\"", i);
    assert_contains (out->str, name);
  }
  assert_true (4 * longest < out->len);
}

/* Free with g_free(). */
static char *
write_nothing (WsExchangeForm form)
{
  g_autoptr (WsExchange) exchange = ws_exchange_new (form, lookup, TIME);
  GString *out = g_string_new (NULL);
  finish (exchange, out);
  return g_string_free (out, FALSE);
}

static void
test_nothing_to_export (void **state)
{
  (void)state;
  g_autofree char *csv = write_nothing (WS_EXCHANGE_CSV);
  g_autoptr (GPtrArray) rows = wsi_csv_parse ("export", csv, NULL);
  assert_true (rows == NULL || rows->len <= 1);
  g_autofree char *jsonl = write_nothing (WS_EXCHANGE_JSONL);
  assert_string_equal (jsonl, "");
  g_autofree char *qif = write_nothing (WS_EXCHANGE_QIF);
  check_well_formed (qif);
  assert_lacks (qif, "<Characteristic ");
  g_autofree char *mtconnect = write_nothing (WS_EXCHANGE_MTCONNECT);
  check_well_formed (mtconnect);
  assert_contains (mtconnect, "assetCount=\"0\"");
}

/* A share beyond its limit, and a length that has one and couldn't be seen; free with g_free(). */
static char *
write_judged (void)
{
  const Sample sample = { "id-1", "2026-11-25T10:15:02Z", "QT-D-1", "reject", 121.25, NULL };
  g_autoptr (WsExchange) exchange = ws_exchange_new (WS_EXCHANGE_QIF, lookup, TIME);
  g_autoptr (WsInspection) inspection = sample_inspection (&sample);
  GString *out = g_string_new (NULL);
  g_auto (GStrv) parts = g_strsplit (inspection->record, "\"lip_length_a_mm\": {", 2);
  g_free (inspection->record);
  inspection->record = g_strjoinv (
    "\"burn_area_share\": {\"value\": 0.05, \"U\": 0.01, \"k\": 2.0, \"lower\": null, \"upper\":"
    " 0.02, \"verdict\": \"reject\"}, \"web_thickness_mm\": {\"value\": null, \"U\": null,"
    " \"lower\": 0.6, \"upper\": 0.8, \"verdict\": \"undecided\"}, \"lip_length_a_mm\": {",
    parts);
  assert_true (wsi_columns_fill (inspection, NULL, NULL, NULL));
  assert_true (ws_exchange_add (exchange, inspection, out, NULL));
  finish (exchange, out);
  return g_string_free (out, FALSE);
}

/* Whoever reads characteristics alone sees each thing that was judged. */
static void
test_qif_has_all_that_was_judged (void **state)
{
  (void)state;
  g_autofree char *text = write_judged ();
  check_well_formed (text);
  assert_contains (text, "<MaxValue unitName=\"share of 1\">0.02</MaxValue>");
  assert_contains (text, ">0.05</Value>");
  assert_contains (text, "web_thickness_mm");
  assert_contains (text, "<CharacteristicStatusEnum>INDETERMINATE</CharacteristicStatusEnum>");
  assert_lacks (text, "lip_length_a_mm");
}

/* Two of one camera, and one of the same with another check.  Free with g_free(). */
static char *
write_calibrated (void)
{
  static const char *const checks[] = { "passed", "passed", "failed" };
  g_autoptr (WsExchange) exchange = ws_exchange_new (WS_EXCHANGE_QIF, lookup, TIME);
  GString *out = g_string_new (NULL);
  for (guint i = 0; i < G_N_ELEMENTS (checks); i++)
  {
    g_autoptr (WsInspection) inspection = inspection_new ("id-1", "accept", 118.0);
    g_autofree char *calibration = g_strdup_printf (
      "\"measured_by\": \"M. Quill\", \"calibration\": {\"id\": \"cal-1\", \"sha256\": \"ca11\","
      " \"camera\": \"cam-7\", \"model\": \"pinhole\", \"made\": \"2026-11-01T08:00:00Z\","
      " \"expires\": \"2027-11-01T08:00:00Z\", \"expired\": false, \"check\": \"%s\"}",
      checks[i]);
    GString *record = g_string_new (inspection->record);
    assert_int_equal (g_string_replace (record, "\"calibration\": null", calibration, 1), 1);
    g_free (inspection->record);
    inspection->record = g_string_free (record, FALSE);
    assert_true (ws_exchange_add (exchange, inspection, out, NULL));
  }
  finish (exchange, out);
  return g_string_free (out, FALSE);
}

static void
test_qif_names_the_camera (void **state)
{
  (void)state;
  g_autofree char *text = write_calibrated ();
  check_well_formed (text);
  assert_contains (text, "<MeasurementDevices n=\"2\">");
  assert_contains (text, "<Name>cam-7</Name>");
  assert_contains (text, "name=\"calibration_check\" value=\"failed\"");
  assert_contains (text, "<CalibrationDate>2026-11-01T08:00:00Z</CalibrationDate>"
                         "<ExpirationDate>2027-11-01T08:00:00Z</ExpirationDate>");
  assert_contains (text, "<InspectionOperator><Name>M. Quill</Name></InspectionOperator>");
}

static void
test_qif_is_valid (void **state)
{
  (void)state;
  g_autofree char *schema = schema_path ("qif3/QIFDocument.xsd");
  if (schema == NULL)
    skip ();
  g_autofree char *text = write_samples (WS_EXCHANGE_QIF);
  assert_valid (text, schema);
  g_autofree char *nothing = write_nothing (WS_EXCHANGE_QIF);
  assert_valid (nothing, schema);
  g_autofree char *judged = write_judged ();
  assert_valid (judged, schema);
  g_autofree char *calibrated = write_calibrated ();
  assert_valid (calibrated, schema);
}

static void
test_mtconnect_is_valid (void **state)
{
  (void)state;
  g_autofree char *published = schema_path ("mtconnect/MTConnectAssets_2.4.xsd");
  if (published == NULL)
    skip ();
  g_autofree char *folder = g_dir_make_tmp ("whetsight-schema-XXXXXX", NULL);
  g_autofree char *schema = plain_schema (published, folder);
  g_autofree char *text = write_samples (WS_EXCHANGE_MTCONNECT);
  assert_valid (text, schema);
  sample_remove_tree (folder);
}

int
main (int argc, char **argv)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_csv),
    cmocka_unit_test (test_jsonl_comes_back_as_it_was),
    cmocka_unit_test (test_reading_other_lines),
    cmocka_unit_test (test_own_bytes),
    cmocka_unit_test (test_reading_contradictions),
    cmocka_unit_test (test_qif),
    cmocka_unit_test (test_mtconnect),
    cmocka_unit_test (test_mtconnect_keeps_no_names),
    cmocka_unit_test (test_mtconnect_joins_views),
    cmocka_unit_test (test_qif_names_the_camera),
    cmocka_unit_test (test_qif_has_all_that_was_judged),
    cmocka_unit_test (test_text_that_xml_cannot_hold),
    cmocka_unit_test (test_qif_comes_in_pieces),
    cmocka_unit_test (test_nothing_to_export),
  };
  const struct CMUnitTest published[] = {
    cmocka_unit_test (test_qif_is_valid),
    cmocka_unit_test (test_mtconnect_is_valid),
  };
  return argc > 1 && strcmp (argv[1], "references") == 0
           ? cmocka_run_group_tests (published, NULL, NULL)
           : cmocka_run_group_tests (tests, NULL, NULL);
}
