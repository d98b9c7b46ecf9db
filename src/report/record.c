#include <jansson.h>
#include <math.h>

#include <whetsight/judge.h>
#include <whetsight/report.h>

#include "base/shown.h"
#include "optics/calibration.h"

/* Enough for a micro-degree and a nanometre on any drill; short enough to read. */
#define SIGNIFICANT_DIGITS 10

/* Unknown is null: infinities and NaN have no place in JSON. */
static json_t *
number (double value)
{
  return isfinite (value) ? json_real (value) : json_null ();
}

/* Names of files need not be UTF-8; JSON must be. */
static json_t *
text (const char *string)
{
  if (string == NULL)
    return json_null ();
  g_autofree char *valid = g_utf8_make_valid (string, -1);
  return json_string (valid);
}

static json_t *
size (guint pixels)
{
  return pixels > 0 ? json_integer (pixels) : json_null ();
}

static void
set (json_t *object, const char *key, json_t *value)
{
  json_object_set_new (object, key, value);
}

/* null where the card doesn't say. */
static json_t *
views_of (const WsToolCard *card)
{
  if (card->views == NULL)
    return json_null ();
  json_t *views = json_array ();
  for (gsize i = 0; card->views[i] != NULL; i++)
    json_array_append_new (views, text (card->views[i]));
  return views;
}

static json_t *
tool_of (const WsToolCard *card)
{
  json_t *tool = json_object ();
  set (tool, "id", text (card->id));
  set (tool, "card_sha256", text (card->sha256));
  set (tool, "kind", text (ws_tool_kind_name (card->kind)));
  set (tool, "diameter_mm", number (card->diameter_mm));
  set (tool, "width_mm", number (card->width_mm));
  set (tool, "web_mm", number (card->web_mm));
  if (isfinite (card->length_mm))
    set (tool, "length_mm", number (card->length_mm));
  if (isfinite (card->min_length_mm))
    set (tool, "min_length_mm", number (card->min_length_mm));
  set (tool, "hand", text (ws_hand_name (card->hand)));
  set (tool, "views", views_of (card));
  set (tool, "material", text (ws_material_name (card->material)));
  if (card->coating != WS_COATING_UNKNOWN)
    set (tool, "coating", text (ws_coating_name (card->coating)));
  return tool;
}

/* By hand, not from the picture. */
static json_t *
length_of (const WsReport *report)
{
  json_t *length = json_object ();
  set (length, "value_mm", number (report->length_mm));
  set (length, "u_mm", number (report->u_length_mm));
  return length;
}

static json_t *
image_of (const WsReport *report)
{
  json_t *image = json_object ();
  set (image, "name", text (report->image_name));
  set (image, "sha256", text (report->image_sha256));
  set (image, "width", size (report->image_width));
  set (image, "height", size (report->image_height));
  return image;
}

/* By how much the tool was turned there, against the first; null where the picture was left out. */
static json_t *
turn_in (const WsResult *result, guint picture)
{
  for (guint i = 0; result->turned != NULL && i < result->turned->len; i++)
  {
    const WsTurned *turned = &g_array_index (result->turned, WsTurned, i);
    if (turned->picture == picture)
      return number (turned->turn_deg);
  }
  return json_null ();
}

/* All pictures of a series, in their order. */
static json_t *
images_of (const WsReport *report)
{
  json_t *images = json_array ();
  for (guint i = 0; i < report->n_images; i++)
  {
    const WsReportImage *of = &report->images[i];
    json_t *image = json_object ();
    set (image, "name", text (of->name));
    set (image, "sha256", text (of->sha256));
    set (image, "width", size (of->width));
    set (image, "height", size (of->height));
    set (image, "turn_deg", turn_in (report->result, i));
    json_array_append_new (images, image);
  }
  return images;
}

static json_t *
scale_of (const WsOptics *optics)
{
  if (optics == NULL || !optics->has_scale)
    return json_null ();
  json_t *scale = json_object ();
  set (scale, "mm_per_px", number (optics->mm_per_px));
  /* 0: nobody said. */
  set (scale, "u_mm_per_px", number (optics->u_mm_per_px > 0.0 ? optics->u_mm_per_px : NAN));
  if (optics->known_mm > 0)
  {
    set (scale, "known_size_mm", number (optics->known_mm));
    set (scale, "u_known_size_mm", number (optics->u_known_mm));
  }
  return scale;
}

/* Where the fixture makes tools point, by who measured. */
static json_t *
fixture_of (const WsOptics *optics)
{
  if (optics == NULL || !optics->has_fixture)
    return json_null ();
  json_t *fixture = json_object ();
  set (fixture, "direction_deg", number (optics->fixture * 180 / G_PI));
  set (fixture, "u_direction_deg", number (optics->u_fixture * 180 / G_PI));
  return fixture;
}

/* Null: nobody told it, or a calibration does. */
static json_t *
lens_distortion_of (const WsOptics *optics)
{
  return number (optics != NULL && optics->lens_distortion > 0 ? optics->lens_distortion
                                                               : (double)NAN);
}

/* Null for a calibration that never expires. */
static json_t *
time_of (GDateTime *time)
{
  g_autofree char *iso = time != NULL ? g_date_time_format (time, "%Y-%m-%dT%H:%M:%SZ") : NULL;
  return text (iso);
}

static json_t *
calibration_of (const WsReport *report)
{
  const WsCalibrationUse *use = report->calibration;
  if (use == NULL)
    return json_null ();
  const WsCalibration *calibration = use->calibration;
  json_t *entry = json_object ();
  set (entry, "id", text (calibration->id));
  set (entry, "sha256", text (calibration->sha256));
  set (entry, "camera", text (calibration->camera));
  set (entry, "model", text (ws_lens_model_name (calibration->lens.model)));
  set (entry, "made", time_of (calibration->made));
  set (entry, "expires", time_of (calibration->expires));
  set (entry, "expired", json_boolean (use->expired));
  set (entry, "check", text (use->check));
  set (entry, "check_time", text (use->check_time[0] != '\0' ? use->check_time : NULL));
  set (entry, "check_ignored", json_boolean (use->check_ignored));
  return entry;
}

/* What of the camera's faults was undone before measuring. */
static json_t *
corrected_of (const WsReport *report)
{
  const gboolean lens = report->calibration != NULL;
  json_t *entry = json_object ();
  set (entry, "lens", json_boolean (lens));
  set (entry, "perspective",
       json_boolean ((lens && report->calibration->calibration->lens.model == WS_LENS_PINHOLE) ||
                     report->result->perspective_undone));
  return entry;
}

static json_t *
budget_of (const WsQuantity *quantity)
{
  json_t *budget = json_array ();
  for (guint i = 0; i < quantity->budget->len; i++)
  {
    const WsBudgetLine *line = &g_array_index (quantity->budget, WsBudgetLine, i);
    json_t *entry = json_object ();
    set (entry, "name", text (line->name));
    set (entry, "distribution", text (ws_distribution_name (line->distribution)));
    set (entry, "standard_uncertainty", number (line->u));
    set (entry, "sensitivity", number (line->sensitivity));
    set (entry, "contribution", number (ws_budget_line_contribution (line)));
    json_array_append_new (budget, entry);
  }
  return budget;
}

/* Probability that the true value lies inside the limits. */
static double
conformance_of (const WsQuantity *quantity)
{
  return quantity->known ? ws_conformance_probability (quantity->value, quantity->U / quantity->k,
                                                       quantity->lower, quantity->upper)
                         : (double)NAN;
}

static json_t *
quantity_of (const WsQuantity *quantity)
{
  const gboolean measured = quantity->known && !quantity->given;
  json_t *entry = json_object ();
  set (entry, "value", number (measured ? quantity->value : NAN));
  set (entry, "U", number (measured ? quantity->U : NAN));
  if (quantity->given)
    set (entry, "given", number (quantity->value));
  set (entry, "k", number (quantity->k));
  set (entry, "smallest_seen", number (quantity->smallest_seen));
  set (entry, "lower", number (quantity->lower));
  set (entry, "upper", number (quantity->upper));
  set (entry, "limit_source", text (quantity->limit_source));
  set (entry, "conformance", number (conformance_of (quantity)));
  set (entry, "verdict", text (ws_verdict_name (quantity->verdict)));
  set (entry, "budget", budget_of (quantity));
  return entry;
}

static json_t *
quantities_of (const WsResult *result)
{
  json_t *quantities = json_object ();
  for (guint i = 0; i < result->quantities->len; i++)
  {
    const WsQuantity *quantity = g_ptr_array_index (result->quantities, i);
    set (quantities, quantity->name, quantity_of (quantity));
  }
  return quantities;
}

static json_t *
place_of (const WsFinding *finding)
{
  if (!finding->has_place)
    return json_null ();
  json_t *place = json_array ();
  json_array_append_new (place, number (finding->where_px.x));
  json_array_append_new (place, number (finding->where_px.y));
  return place;
}

static json_t *
findings_of (const WsResult *result)
{
  json_t *findings = json_array ();
  for (guint i = 0; i < result->findings->len; i++)
  {
    const WsFinding *finding = g_ptr_array_index (result->findings, i);
    json_t *entry = json_object ();
    set (entry, "code", text (finding->code));
    set (entry, "text", text (finding->text));
    set (entry, "where_px", place_of (finding));
    json_array_append_new (findings, entry);
  }
  return findings;
}

static json_t *
texts_of (const GPtrArray *strings)
{
  json_t *texts = json_array ();
  for (guint i = 0; i < strings->len; i++)
    json_array_append_new (texts, text (g_ptr_array_index (strings, i)));
  return texts;
}

static json_t *
grinding_of (const WsResult *result)
{
  json_t *grinding = json_object ();
  for (guint i = 0; i < result->grinding->len; i++)
  {
    const WsGrinding *entry = &g_array_index (result->grinding, WsGrinding, i);
    set (grinding, entry->name, number (entry->value));
  }
  return grinding;
}

static json_t *
record_of (const WsReport *report)
{
  const WsResult *result = report->result;
  json_t *record = json_object ();
  set (record, "record", json_string ("whetsight/1"));
  set (record, "id", text (report->id));
  set (record, "time", text (report->time));
  set (record, "program", json_string ("whetsight " WS_VERSION));
  if (report->measured_by != NULL)
    set (record, "measured_by", text (report->measured_by));
  if (report->machine != NULL)
    set (record, "machine", text (report->machine));
  set (record, "tool", tool_of (report->card));
  if (report->length_mm > 0)
    set (record, "tool_length", length_of (report));
  set (record, "view", text (result->view));
  set (record, "image", image_of (report));
  if (report->images != NULL)
    set (record, "images", images_of (report));
  set (record, "calibration", calibration_of (report));
  set (record, "corrected", corrected_of (report));
  set (record, "scale", scale_of (report->optics));
  set (record, "lens_distortion", lens_distortion_of (report->optics));
  if (report->optics != NULL && report->optics->lean_max > 0)
    set (record, "lean_max_deg", number (report->optics->lean_max * 180 / G_PI));
  set (record, "fixture", fixture_of (report->optics));
  if (report->tone_told != NULL)
    set (record, "tone_told", text (report->tone_told));
  set (record, "verdict", text (ws_verdict_name (result->verdict)));
  set (record, "reason", text (ws_result_reason (result)));
  set (record, "detail", text (result->detail));
  set (record, "action", text (ws_action_name (ws_result_action (result))));
  set (record, "set_aside",
       text (ws_result_action (result) == WS_ACTION_SET_ASIDE ? result->set_aside : NULL));
  set (record, "hand", text (result->hand));
  set (record, "quantities", quantities_of (result));
  set (record, "findings", findings_of (result));
  set (record, "advice", texts_of (result->advice));
  set (record, "grinding", grinding_of (result));
  set (record, "cautions", texts_of (result->cautions));
  return record;
}

char *
ws_report_record (const WsReport *report)
{
  json_t *record = record_of (report);
  char *dumped = json_dumps (record, JSON_COMPACT | JSON_REAL_PRECISION (SIGNIFICANT_DIGITS));
  /* Whoever looks at the file on a terminal. */
  char *line = wsi_shown_json (dumped);
  free (dumped);
  json_decref (record);
  return line;
}
