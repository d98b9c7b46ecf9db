/*
 * The morning check: something of known size before the camera, and whether the calibration still
 * tells its size.
 */
#include <math.h>

#include <jansson.h>
#include <whetsight/error.h>
#include <whetsight/report.h>

#include "base/language.h"
#include "base/number.h"
#include "bench/api.h"
#include "bench/checks.h"
#include "bench/html.h"
#include "bench/pages.h"
#include "report/words.h"

/* A calibration with all its checks. */
typedef struct
{
  GPtrArray *list;
  const WsServeCalibration *named;
  WsCalibration *calibration;
  GPtrArray *checks;
  WsCheckState state;
  guint newest; /* the first check of the newest run */
} Known;

static void
known_clear (Known *known)
{
  g_clear_pointer (&known->list, g_ptr_array_unref);
  g_clear_pointer (&known->checks, g_ptr_array_unref);
  ws_calibration_free (known->calibration);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Known, known_clear)

static gboolean
read_known (const WsServe *serve, const char *name, Known *known, GError **error)
{
  known->list = wsi_calibrations_list (serve->settings.cards);
  known->named = wsi_calibrations_find (known->list, name);
  if (known->named == NULL)
  {
    g_set_error_literal (error, WS_ERROR, WS_ERROR_NO_INPUT,
                         _ ("The setup names no such calibration."));
    return FALSE;
  }
  known->calibration = ws_calibration_load (known->named->path, error);
  known->checks = known->calibration != NULL ? wsi_checks_all (known->named, error) : NULL;
  if (known->checks == NULL)
    return FALSE;
  const char *id = ws_calibration_id (known->calibration);
  known->state = ws_checks_state (known->checks, id);
  known->newest = wsi_checks_newest (known->checks, id);
  return TRUE;
}

/* ---- What was found -----------------------------------------------------------------------------
 */

static const char *
state_words (const WsCheckState *state)
{
  switch (state->state)
  {
  case WS_CHECKED_PASSED:
    return _ ("Passed: the calibration holds");
  case WS_CHECKED_FAILED:
    return _ ("FAILED: nothing is accepted by it until a check passes");
  default:
    return _ ("Never checked");
  }
}

static const char *
state_verdict (const WsCheckState *state)
{
  return state->state == WS_CHECKED_PASSED   ? "accept"
         : state->state == WS_CHECKED_FAILED ? "reject"
                                             : "none";
}

/* The shape of a verdict with words of its own. */
static void
add_state (GString *html, const WsCheckState *state)
{
  g_autofree char *time = *state->time != '\0' ? wsi_words_local_time (state->time) : NULL;
  wsi_html_add (html, "<p class=\"action\"><span class=\"badge %s\">", state_verdict (state));
  wsi_html_shape (html, state_verdict (state));
  wsi_html_add (html, "%s</span> <span class=\"facts\">%s</span></p>\n", state_words (state), time);
}

static void
add_check (GString *html, const WsCheck *check)
{
  const guint places = wsi_number_places (fmin (check->U, 0.001));
  g_autofree char *value = wsi_number_format (check->value, places);
  g_autofree char *U = wsi_number_format (check->U, places);
  g_autofree char *reference = wsi_number_format (check->reference, places);
  g_autofree char *deviation = wsi_number_format (check->deviation, places);
  g_autofree char *E_n = wsi_number_format (check->E_n, 2);
  wsi_html_add (html, "<tr><th scope=\"row\">%s ± %s</th><td>%s</td><td>%s</td><td>%s</td><td>",
                value, U, reference, deviation, E_n);
  wsi_html_add (html, "<span class=\"badge %s\">", check->pass ? "accept" : "reject");
  wsi_html_shape (html, check->pass ? "accept" : "reject");
  wsi_html_add (html, "%s</span></td></tr>\n", check->pass ? _ ("pass") : _ ("FAIL"));
}

static void
add_newest (GString *html, const Known *known, const char *piece)
{
  const char *const heads[] = { _ ("Measured, mm"), _ ("Known, mm"), _ ("Deviation, mm"), "E_n",
                                _ ("Outcome") };
  if (known->newest == known->checks->len)
    return;
  wsi_html_add (html,
                "<section><h2>%s</h2>\n<div class=\"wide\" tabindex=\"0\" role=\"region\" "
                "aria-label=\"%s\"><table><thead><tr>",
                _ ("The last check"), _ ("The last check"));
  for (gsize i = 0; i < G_N_ELEMENTS (heads); i++)
    wsi_html_add (html, "<th scope=\"col\">%s</th>", heads[i]);
  g_string_append (html, "</tr></thead><tbody>\n");
  for (guint i = known->newest; i < known->checks->len; i++)
    add_check (html, g_ptr_array_index (known->checks, i));
  wsi_html_add (html,
                "</tbody></table></div>\n<p><img class=\"chart\" "
                "src=\"/api/calibrations/%s/checks.svg\" alt=\"%s\"></p></section>\n",
                piece, _ ("All checks in time"));
}

static void
add_signals (GString *html, const Known *known)
{
  g_auto (GStrv) signals = ws_report_checks_signals (known->calibration, known->checks);
  for (char **signal = signals; *signal != NULL; signal++)
    wsi_html_add (html, "<p class=\"trouble\">%s; %s</p>\n", *signal,
                  _ ("look for what changed, or calibrate again"));
}

static void
add_what_now (GString *html, const Known *known)
{
  if (known->state.state != WS_CHECKED_FAILED)
    return;
  wsi_html_add (html, "<p class=\"trouble\">%s</p>\n",
                _ ("Wipe artefact and light, look for what moved, check again. If it fails again, "
                   "calibrate again, and measure anew what was measured since the last pass."));
}

/* ---- The walk -----------------------------------------------------------------------------------
 */

/* As it was last time. */
static void
add_sizes (GString *html, const Known *known)
{
  const gboolean has_last = known->newest < known->checks->len;
  const WsCheck *last = has_last ? g_ptr_array_index (known->checks, known->newest) : NULL;
  g_autofree char *size = has_last ? wsi_number_exact (last->reference) : g_strdup ("");
  g_autofree char *u = has_last ? wsi_number_exact (last->U_reference / 2) : g_strdup ("0");
  const gboolean is_disc = has_last && !g_str_equal (last->quantity, "diameter_mm");
  wsi_html_add (html,
                "<p><label for=\"kind\">%s</label> <select id=\"kind\" name=\"kind\"><option "
                "value=\"pin\">%s</option><option value=\"disc\"%s>%s</option></select></p>\n",
                _ ("What it is"), _ ("a pin"), is_disc ? " selected" : "", _ ("a disc or ring"));
  const struct
  {
    const char *name, *words, *value;
  } fields[] = {
    { "size", _ ("Its diameter, mm"), size },
    { "hole", _ ("A ring's inner diameter, mm; empty: none"), "" },
    { "u", _ ("Standard uncertainty of these, mm"), u },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (fields); i++)
    wsi_html_add (html,
                  "<p><label for=\"%s\">%s</label> <input id=\"%s\" name=\"%s\" "
                  "inputmode=\"decimal\" autocomplete=\"off\" value=\"%s\"></p>\n",
                  fields[i].name, fields[i].words, fields[i].name, fields[i].name, fields[i].value);
}

static void
add_live (GString *html, const WsServe *serve, const char *piece)
{
  if (serve->eye == NULL)
    return;
  wsi_html_add (html,
                "<section class=\"live\" data-live=\"/api/calibrations/%s/live?\" "
                "data-form=\"check\" data-waiting=\"%s\" data-speed=\"%s\" data-taken=\"%s\">\n",
                piece, _ ("Waiting for the camera"), _ ("# frames a second"),
                _ ("Taken; measuring"));
  wsi_html_add (html,
                "<p class=\"hint\" role=\"status\"><span class=\"arrow\" aria-hidden=\"true\">"
                "</span> <span class=\"words\">%s</span></p>\n<canvas class=\"eye\" role=\"img\" "
                "aria-label=\"%s\" width=\"1280\" height=\"960\"></canvas>\n<p class=\"facts\"></p>"
                "\n</section>\n",
                _ ("Waiting for the camera"), _ ("The camera's picture with the edge drawn on it"));
}

static void
add_form (GString *html, const WsServe *serve, const WsServeRequest *request, const Known *known,
          const char *piece)
{
  wsi_html_add (
    html, "<section><h2>%s</h2>\n<ol><li>%s</li><li>%s</li><li>%s</li></ol>\n", _ ("Check it now"),
    _ ("Wipe the light, the lens and something of known size that the calibration "
       "wasn't made with."),
    _ ("Put it where tools lie, sharp and still."), _ ("Say what it is, and take its picture."));
  add_live (html, serve, piece);
  wsi_html_add (html,
                "<form id=\"check\" method=\"post\" action=\"/quality/check/%s\" "
                "enctype=\"multipart/form-data\">\n",
                piece);
  wsi_html_token (html, request);
  if (request->actor.is_local)
    wsi_html_add (html,
                  "<p><label for=\"by\">%s</label> <input id=\"by\" name=\"by\" "
                  "autocomplete=\"name\"></p>\n",
                  _ ("Checked by"));
  add_sizes (html, known);
  if (serve->eye != NULL)
    wsi_html_add (html, "<p><button class=\"main\" name=\"camera\" value=\"yes\">%s</button></p>\n",
                  _ ("Take the picture and check"));
  wsi_html_add (html,
                "<p class=\"file\"><label for=\"picture\">%s</label> <input id=\"picture\" "
                "name=\"picture\" type=\"file\" accept=\"image/*\"></p>\n<p><button>%s</button></p>"
                "</form></section>\n",
                serve->eye != NULL ? _ ("Or choose a picture") : _ ("Choose its picture"),
                _ ("Check by this picture"));
}

WsServeReply *
wsi_page_check (WsServe *serve, WsServeRequest *request)
{
  GError *error = NULL;
  g_auto (Known) known = { 0 };
  const char *name = request->ids[0], *why = wsi_request_query (request, "why");
  if (!read_known (serve, name, &known, &error))
    return wsi_serve_take_error (serve, request, error);
  g_autofree char *piece = wsi_html_piece (name);
  GString *html = wsi_html_page (request, _ ("Morning check"));
  wsi_html_add (html, "<h1>%s: %s</h1>\n<p class=\"facts\">%s, %s</p>\n", _ ("Morning check"), name,
                ws_calibration_camera (known.calibration), known.named->groups);
  add_state (html, &known.state);
  if (why != NULL)
    wsi_html_add (html, "<p class=\"trouble\" role=\"alert\">%s: %s</p>\n",
                  _ ("The picture can't be measured"), why);
  add_what_now (html, &known);
  add_signals (html, &known);
  add_form (html, serve, request, &known, piece);
  add_newest (html, &known, piece);
  wsi_html_add (html, "<p><a class=\"way\" href=\"/quality\">%s</a></p>\n", _ ("Back"));
  return wsi_html_take_page (200, html);
}

/* ---- Doing it -----------------------------------------------------------------------------------
 */

static GBytes *
picture_of (WsServe *serve, const WsServeRequest *request, const Known *known, GError **error)
{
  g_autofree char *by_camera = wsi_request_field (request, "camera");
  const WsEyeTask task = { .calibration = known->named->path };
  for (guint i = 0; by_camera == NULL && i < request->parts->len; i++)
  {
    const WsServePart *part = g_ptr_array_index (request->parts, i);
    if (g_str_equal (part->name, "picture") && part->n_bytes > 0)
      return g_bytes_new (part->bytes, part->n_bytes);
  }
  if (by_camera != NULL && serve->eye != NULL)
    return wsi_eye_take (serve->eye, &task, 0, error);
  g_set_error_literal (error, WS_ERROR, WS_ERROR_USAGE,
                       _ ("No picture was sent. Go back and choose one."));
  return NULL;
}

static gboolean
check (WsServe *serve, const WsServeRequest *request, Known *known, char **why, GError **error)
{
  if (!read_known (serve, request->ids[0], known, error))
    return FALSE;
  g_autoptr (GBytes) picture = picture_of (serve, request, known, error);
  return picture != NULL && wsi_checks_make (serve, request, known->named, picture, why, error);
}

WsServeReply *
wsi_page_make_check (WsServe *serve, WsServeRequest *request)
{
  GError *error = NULL;
  g_autofree char *why = NULL;
  g_auto (Known) known = { 0 };
  if (!check (serve, request, &known, &why, &error))
    return wsi_serve_take_error (serve, request, error);
  g_autofree char *piece = wsi_html_piece (known.named->name);
  g_autofree char *words = why != NULL ? wsi_html_piece (why) : NULL;
  return wsi_reply_take_location (
    g_strconcat ("/quality/check/", piece, words != NULL ? "?why=" : NULL, words, NULL));
}

/* ---- For programs -------------------------------------------------------------------------------
 */

static json_t *
check_json (const WsCheck *check)
{
  return json_pack ("{s:s, s:s, s:s, s:f, s:f, s:f, s:f, s:f, s:f, s:b}", "run", check->run, "time",
                    check->time, "quantity", check->quantity, "value", check->value, "U", check->U,
                    "reference", check->reference, "U_reference", check->U_reference, "deviation",
                    check->deviation, "E_n", check->E_n, "pass", check->pass);
}

static json_t *
checks_json (const Known *known)
{
  static const char *const states[] = {
    [WS_CHECKED_NEVER] = "never", [WS_CHECKED_PASSED] = "passed", [WS_CHECKED_FAILED] = "failed"
  };
  json_t *list = json_array ();
  for (guint i = 0; i < known->checks->len; i++)
    json_array_append_new (list, check_json (g_ptr_array_index (known->checks, i)));
  return json_pack ("{s:s, s:s, s:s, s:s, s:o}", "calibration", known->named->name, "camera",
                    ws_calibration_camera (known->calibration), "state", states[known->state.state],
                    "since", known->state.time, "checks", list);
}

WsServeReply *
wsi_api_calibrations (WsServe *serve, WsServeRequest *request)
{
  (void)request;
  json_t *names = json_array ();
  g_autoptr (GPtrArray) list = wsi_calibrations_list (serve->settings.cards);
  for (guint i = 0; i < list->len; i++)
  {
    const WsServeCalibration *one = g_ptr_array_index (list, i);
    json_array_append_new (names,
                           json_pack ("{s:s, s:s}", "calibration", one->name, "for", one->groups));
  }
  return wsi_reply_take_json (200, json_pack ("{s:o}", "calibrations", names));
}

WsServeReply *
wsi_api_checks (WsServe *serve, WsServeRequest *request)
{
  GError *error = NULL;
  g_auto (Known) known = { 0 };
  return read_known (serve, request->ids[0], &known, &error)
           ? wsi_reply_take_json (200, checks_json (&known))
           : wsi_serve_take_error (serve, request, error);
}

WsServeReply *
wsi_api_make_check (WsServe *serve, WsServeRequest *request)
{
  GError *error = NULL;
  g_autofree char *why = NULL;
  g_auto (Known) known = { 0 };
  g_auto (Known) after = { 0 };
  if (!check (serve, request, &known, &why, &error))
    return wsi_serve_take_error (serve, request, error);
  if (why != NULL)
    return wsi_serve_trouble (request, 422, why);
  return read_known (serve, request->ids[0], &after, &error)
           ? wsi_reply_take_json (201, checks_json (&after))
           : wsi_serve_take_error (serve, request, error);
}

WsServeReply *
wsi_api_checks_chart (WsServe *serve, WsServeRequest *request)
{
  GError *error = NULL;
  g_auto (Known) known = { 0 };
  g_autoptr (GBytes) chart =
    read_known (serve, request->ids[0], &known, &error)
      ? ws_report_checks_chart (known.calibration, known.checks, WS_CHART_SVG, &error)
      : NULL;
  if (chart == NULL)
    return wsi_serve_take_error (serve, request, error);
  return wsi_reply_chart (chart);
}

WsServeReply *
wsi_api_check_live (WsServe *serve, WsServeRequest *request)
{
  GError *error = NULL;
  g_autoptr (GPtrArray) list = wsi_calibrations_list (serve->settings.cards);
  const WsServeCalibration *named = wsi_calibrations_find (list, request->ids[0]);
  if (serve->eye == NULL || named == NULL)
    return wsi_serve_trouble (request, 404,
                              _ ("There is no bench camera; whetsight serve --camera names one."));
  const WsEyeTask task = { .calibration = named->path };
  const guint64 after = wsi_request_count (request, "after", G_MAXINT64, 0);
  g_autoptr (GBytes) frame = wsi_eye_next (serve->eye, &task, after, &error);
  return frame != NULL ? wsi_live_reply (frame) : wsi_serve_take_error (serve, request, error);
}
