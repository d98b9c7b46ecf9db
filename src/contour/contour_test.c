#include <whetsight/contour.h>
#include <whetsight/error.h>

#include "base/geometry.h"
#include "base/testing.h"

static WsContour *
parse (const char *text)
{
  g_autoptr (GError) error = NULL;
  WsContour *contour = ws_contour_parse (text, strlen (text), "test", &error);
  if (error != NULL)
    print_error ("%s\n", error->message);
  assert_non_null (contour);
  return contour;
}

static const WsContourSegment *
segment (const WsContour *contour, guint i)
{
  assert_true (i < contour->segments->len);
  return &g_array_index (contour->segments, WsContourSegment, i);
}

static void
assert_point (WsPoint p, double x, double y)
{
  assert_near (p.x, x, 1e-9);
  assert_near (p.y, y, 1e-9);
}

/* ---- Plain text ------------------------------------------------------------------- */

static void
plain_text_is_read (void **state)
{
  (void)state;
  g_autoptr (WsContour) contour = parse ("# a step and a round\n"
                                         "unit mm\n"
                                         "start 0 0\n"
                                         "line 5 0   # flat\n"
                                         "\n"
                                         "arc 7 2 2 ccw\n"
                                         "line 7 4\n");
  assert_int_equal (contour->segments->len, 3);
  assert_int_equal (contour->n_numbers, 3);
  assert_false (contour->is_closed);
  const WsContourSegment *arc = segment (contour, 1);
  assert_point (arc->centre, 5, 2);
  assert_near (arc->radius, 2, 1e-12);
  assert_near (arc->sweep, G_PI / 2, 1e-12);
  assert_point (ws_contour_point (arc, 0.5), 5 + sqrt (2), 2 - sqrt (2));
  assert_near (ws_contour_length (arc), G_PI, 1e-12);
}

static void
inches_become_millimetres (void **state)
{
  (void)state;
  g_autoptr (WsContour) contour = parse ("unit inch\nstart 0 0\nline 1 0\n");
  assert_point (segment (contour, 0)->to, 25.4, 0);
}

static void
an_open_contour_runs_to_the_right (void **state)
{
  (void)state;
  g_autoptr (WsContour) contour = parse ("start 5 0\narc 3 2 2 cw\nline 0 2\n");
  assert_point (segment (contour, 0)->from, 0, 2);
  assert_point (segment (contour, 1)->from, 3, 2);
  assert_true (segment (contour, 1)->sweep > 0);
  assert_int_equal (segment (contour, 1)->number, 2);
}

static void
heights_know_arcs (void **state)
{
  (void)state;
  double least, greatest;
  g_autoptr (WsContour) hump = parse ("start -1 0\narc 1 0 1 cw\n");
  ws_contour_heights (hump, &least, &greatest);
  assert_near (least, 0, 1e-9);
  assert_near (greatest, 1, 1e-9);
  g_autoptr (WsContour) hollow = parse ("start -1 0\narc 1 0 1 ccw\n");
  ws_contour_heights (hollow, &least, &greatest);
  assert_near (least, -1, 1e-9);
}

/* Arcs of less than a radian that end short of the highest or lowest place of their circles, or
 * have left it behind. */
static void
short_arcs_are_as_high_as_their_ends (void **state)
{
  (void)state;
  static const struct
  {
    double from, sweep;
  } arcs[] = { { -G_PI / 2 + 0.5, 0.8 }, { -G_PI / 2 - 0.5, -0.8 }, { -G_PI / 2 - 1.3, 0.8 },
               { G_PI / 2 + 0.5, 0.8 },  { G_PI / 2 - 0.5, -0.8 },  { G_PI / 2 - 1.3, 0.8 } };
  for (gsize i = 0; i < G_N_ELEMENTS (arcs); i++)
  {
    const double to = arcs[i].from + arcs[i].sweep;
    const WsContourSegment arc = { .from = { 10 * cos (arcs[i].from), 10 * sin (arcs[i].from) },
                                   .to = { 10 * cos (to), 10 * sin (to) },
                                   .sweep = arcs[i].sweep,
                                   .radius = 10 };
    WsContour contour = { .segments = g_array_new (FALSE, FALSE, sizeof arc) };
    double least, greatest;
    g_array_append_val (contour.segments, arc);
    ws_contour_heights (&contour, &least, &greatest);
    assert_near (least, MIN (arc.from.y, arc.to.y), 1e-9);
    assert_near (greatest, MAX (arc.from.y, arc.to.y), 1e-9);
    g_array_unref (contour.segments);
  }
}

static void
mirroring_keeps_the_order_from_left_to_right (void **state)
{
  (void)state;
  g_autoptr (WsContour) contour = parse ("start 0 0\nline 5 0\narc 7 2 2 ccw\n");
  ws_contour_mirror (contour);
  assert_point (segment (contour, 0)->from, -7, 2);
  assert_point (segment (contour, 1)->to, 0, 0);
  assert_int_equal (segment (contour, 0)->number, 2);
  /* Still on its circle. */
  assert_point (ws_contour_point (segment (contour, 0), 1), -5, 0);
}

/* ---- DXF -------------------------------------------------------------------------- */

#define HEAD "0\nSECTION\n2\nENTITIES\n"
#define TAIL "0\nENDSEC\n0\nEOF\n"
#define LINE(x1, y1, x2, y2)                                                                       \
  "0\nLINE\n8\n0\n10\n" #x1 "\n20\n" #y1 "\n30\n0.0\n11\n" #x2 "\n21\n" #y2 "\n31\n0.0\n"

static void
dxf_lines_and_arcs_are_joined (void **state)
{
  (void)state;
  /* Out of order, the last line backwards, an arc about (5, 2). */
  g_autoptr (WsContour) contour = parse (HEAD LINE (7, 4.5, 7, 2) LINE (
    0.0, 0.0, 5.0, 0.0) "0\nARC\n8\n0\n10\n5.0\n20\n2.0\n40\n2.0\n50\n270.0\n51\n360.0\n" TAIL);
  assert_int_equal (contour->segments->len, 3);
  assert_point (segment (contour, 0)->from, 0, 0);
  assert_point (segment (contour, 1)->centre, 5, 2);
  assert_near (segment (contour, 1)->sweep, G_PI / 2, 1e-9);
  assert_point (segment (contour, 2)->to, 7, 4.5);
}

static void
dxf_light_polyline_with_bulge (void **state)
{
  (void)state;
  /* Bulge tan (90 / 4 deg): a quarter circle to the left. */
  g_autoptr (WsContour) contour =
    parse ("  0\r\nSECTION\r\n  2\r\nENTITIES\r\n  0\r\nLWPOLYLINE\r\n 90\r\n3\r\n 70\r\n0\r\n"
           " 10\r\n0.\r\n 20\r\n.0\r\n 10\r\n5.0\r\n 20\r\n0.0\r\n 42\r\n0.41421356237309503\r\n"
           " 10\r\n7.0\r\n 20\r\n2.0\r\n  0\r\nENDSEC\r\n  0\r\nEOF\r\n");
  assert_int_equal (contour->segments->len, 2);
  assert_point (segment (contour, 1)->centre, 5, 2);
  assert_near (segment (contour, 1)->sweep, G_PI / 2, 1e-12);
}

static void
dxf_old_polyline_closed_and_in_inches (void **state)
{
  (void)state;
  g_autoptr (WsContour) contour =
    parse ("999\na comment\n0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n1\n0\nENDSEC\n" HEAD
           "0\nPOLYLINE\n66\n1\n70\n1\n10\n0.0\n20\n0.0\n"
           "0\nVERTEX\n10\n0.0\n20\n0.0\n0\nVERTEX\n10\n1.0\n20\n0.0\n0\nVERTEX\n10\n0.0\n20\n1.0\n"
           "0\nSEQEND\n" TAIL);
  assert_true (contour->is_closed);
  assert_int_equal (contour->segments->len, 3);
  assert_point (segment (contour, 0)->to, 25.4, 0);
}

static void
dxf_texts_are_passed_over (void **state)
{
  (void)state;
  g_autoptr (WsContour) contour =
    parse (HEAD "0\nTEXT\n10\nx\n1\nR2\n" LINE (0, 0, 5, 0) "0\nPOINT\n10\n3\n20\n3\n" TAIL);
  assert_int_equal (contour->segments->len, 1);
}

/* ---- What must be refused --------------------------------------------------------- */

static void
damaged_files_are_refused (void **state)
{
  (void)state;
  static const struct
  {
    const char *text, *says;
  } bad[] = {
    { "", "there is no line or arc" },
    { "0", "ends too early" },
    { "0\nSECTION\n2\nENTITIES\n0\nLINE\n10\n1.0\n20", "ends too early" },
    { HEAD LINE (0, 0, 5, 0), "ends too early" },
    { HEAD LINE (nan, 0, 5, 0) TAIL, "expected a number, found \"nan\"" },
    { HEAD LINE (1e999, 0, 5, 0) TAIL, "expected a number" },
    { HEAD LINE (0, 0, 5x, 0) TAIL, "expected a number, found \"5x\"" },
    { HEAD LINE (0, 0, 99999, 0) TAIL, "beyond" },
    { HEAD "0\nLINE\n10\n0\n20\n0\n11\n4\n" TAIL, "missing" },
    { HEAD "x\nLINE\n" TAIL, "expected a group code, found \"x\"" },
    { HEAD "99999\nLINE\n" TAIL, "expected a group code" },
    { HEAD "0\nSPLINE\n10\n0\n" TAIL, "SPLINE isn't read" },
    { HEAD "0\nARC\n10\n0\n20\n0\n40\n-2\n50\n0\n51\n90\n" TAIL, "lacks its radius" },
    { HEAD "0\nARC\n10\n0\n20\n0\n40\n2\n51\n90\n" TAIL, "lacks its radius or an angle" },
    { HEAD "0\nVERTEX\n10\n0\n20\n0\n" TAIL, "outside a POLYLINE" },
    { HEAD "0\nPOLYLINE\n70\n0\n" TAIL, "isn't ended by SEQEND" },
    { HEAD "0\nLINE\n10\n0\n20\n0\n11\n4\n21\n0\n230\n-1.0\n" TAIL, "drawn from behind" },
    { "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n6\n0\nENDSEC\n0\nEOF\n", "millimetres or inches" },
    { "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n77777777777777774\n0\nENDSEC\n0\nEOF\n",
      "$INSUNITS 7.77778e+16: draw the profile in millimetres or inches" },
    { "0\nSECTION\n2\nTABLES\n0\nENDSEC\n0\nEOF\n", "no section ENTITIES" },
    { HEAD TAIL, "there is no line or arc" },
    { HEAD LINE (0, 0, 5, 0) LINE (6, 0, 8, 0) TAIL, "gap" },
    { HEAD LINE (0, 0, 5, 0) LINE (5, 0, 8, 0) LINE (5, 0, 5, 4) TAIL, "branches" },
    { "line 4 4\n", "expected start X Y first" },
    { "start 0 0\nstart 1 1\n", "one start" },
    { "start 0 0\nline 0 0\n", "no length" },
    { "start 0 0\narc 9 0 2 cw\n", "no arc of this radius" },
    { "start 0 0\narc 1 0 2 round\n", "expected cw or ccw" },
    { "start 0 0\nline 1\n", "expected line X Y" },
    { "start 0 nan\n", "expected a length" },
    { "start 0 0\nunit inch\n", "before the first point" },
    { "unit furlong\n", "unit mm or unit inch" },
    { "hello\n", "expected unit, start, line or arc, found \"hello\"" },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (bad); i++)
  {
    g_autoptr (GError) error = NULL;
    g_autoptr (WsContour) contour =
      ws_contour_parse (bad[i].text, strlen (bad[i].text), "bad", &error);
    if (contour != NULL)
      print_error ("taken: %s\n", bad[i].text);
    assert_null (contour);
    assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_DATA));
    assert_contains (error->message, bad[i].says);
    assert_null (strchr (error->message, '\n'));
  }
}

static void
binary_files_are_refused (void **state)
{
  (void)state;
  g_autoptr (GError) error = NULL;
  g_autoptr (WsContour) contour = ws_contour_parse ("0\0SECTION", 9, "bad", &error);
  assert_null (contour);
  assert_contains (error->message, "text file");
}

static void
too_many_segments_are_refused (void **state)
{
  (void)state;
  g_autoptr (GString) text = g_string_new ("start 0 0\n");
  g_autoptr (GString) dxf = g_string_new (HEAD "0\nLWPOLYLINE\n90\n4000000000\n");
  for (guint i = 1; i <= WS_CONTOUR_MAX_SEGMENTS + 2; i++)
  {
    g_string_append_printf (text, "line %u %u\n", i, i % 2);
    g_string_append_printf (dxf, "10\n%u\n20\n%u\n", i, i % 2);
  }
  g_string_append (dxf, TAIL);
  const char *const texts[] = { text->str, dxf->str };
  for (gsize i = 0; i < G_N_ELEMENTS (texts); i++)
  {
    g_autoptr (GError) error = NULL;
    g_autoptr (WsContour) contour = ws_contour_parse (texts[i], strlen (texts[i]), "bad", &error);
    assert_null (contour);
    assert_contains (error->message, "more than 1000 segments");
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (plain_text_is_read),
    cmocka_unit_test (inches_become_millimetres),
    cmocka_unit_test (an_open_contour_runs_to_the_right),
    cmocka_unit_test (heights_know_arcs),
    cmocka_unit_test (short_arcs_are_as_high_as_their_ends),
    cmocka_unit_test (mirroring_keeps_the_order_from_left_to_right),
    cmocka_unit_test (dxf_lines_and_arcs_are_joined),
    cmocka_unit_test (dxf_light_polyline_with_bulge),
    cmocka_unit_test (dxf_old_polyline_closed_and_in_inches),
    cmocka_unit_test (dxf_texts_are_passed_over),
    cmocka_unit_test (damaged_files_are_refused),
    cmocka_unit_test (binary_files_are_refused),
    cmocka_unit_test (too_many_segments_are_refused),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
