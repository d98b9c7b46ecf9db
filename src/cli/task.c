#include "cli/task.h"

#include <math.h>

#include <whetsight/whetsight.h>

#include "base/language.h"
#include "camera/bench.h"
#include "cli/fail.h"
#include "cli/say.h"
#include "cli/suggest.h"
#include "image/taken.h"
#include "report/words.h"

/* Of a size that is told without one, mm: a micrometer read to 0.01 mm, half a step either way,
 * rectangular (JCGM 100:2008, 4.3.7). */
#define U_KNOWN_MM 0.003

void
wsi_task_free (WsTask *task)
{
  if (task == NULL)
    return;
  ws_tool_card_free (task->card);
  ws_calibration_free (task->calibration);
  wsi_taken_free (task->taken);
  g_clear_pointer (&task->job.stored, g_hash_table_unref);
  wsi_regrind_shot_clear (&task->before_shot);
  g_free ((char *)task->before.since);
  g_free (task->card_path);
  g_free (task->settings);
  g_free (task);
}

/* ---- Scale and calibration ---------------------------------------------------------------- */

/* A size of the tool, as typed. */
typedef struct
{
  const char *option, *u_option;
  const char *stem; /* of the quantity that it is */
  double mm, u_mm;
} KnownSize;

/* Which of two that have it. */
static KnownSize
known_size_of (const WsTaskSpec *said)
{
  const KnownSize diameter = { "known-diameter", "known-diameter-u", "diameter",
                               said->known_diameter, said->known_diameter_u };
  const KnownSize width = { "known-width", "known-width-u", "edge_width", said->known_width,
                            said->known_width_u };
  return isnan (width.mm) && isnan (width.u_mm) ? diameter : width;
}

/* A microscope with its strongest lens shows 0.0001 mm a pixel, and a drill of 100 mm, the largest
 * of its standards, is measured over 100 pixels at least. */
#define LEAST_MM_PER_PX 0.0001
#define MOST_MM_PER_PX 1.0

/* Most who are that far off count pixels in a millimetre instead. */
static gboolean
check_scale (double scale, GError **error)
{
  if (isnan (scale) || (scale >= LEAST_MM_PER_PX && scale <= MOST_MM_PER_PX))
    return TRUE;
  return wsi_refuse_usage (
    error,
    "--scale: %g mm a pixel; no tool of this trade is seen with pixels "
    "larger than %g mm or smaller than %g mm; %g pixels a millimetre would be "
    "--scale %.4g",
    scale, MOST_MM_PER_PX, LEAST_MM_PER_PX, scale, 1 / scale);
}

/* Twice the largest drill of the standards. */
#define MOST_KNOWN_MM 200.0

static gboolean
check_known (const KnownSize *known, GError **error)
{
  if (isnan (known->u_mm) || !isnan (known->mm))
    return isnan (known->mm) || known->mm <= MOST_KNOWN_MM ||
           wsi_refuse_usage (error, "--%s: expected millimetres, %g at most, found %g",
                             known->option, MOST_KNOWN_MM, known->mm);
  return wsi_refuse_usage (error, "--%s: makes sense with --%s only", known->u_option,
                           known->option);
}

static gboolean
check_sources (const WsTaskSpec *said, GError **error)
{
  const KnownSize known = known_size_of (said);
  const int n = !isnan (said->scale) + (said->calib != NULL) + (said->bench != NULL) +
                !isnan (said->known_diameter) + !isnan (said->known_width);
  if (n > 1)
    return wsi_refuse_usage (error, "give one of --scale, --calib, --bench, --known-diameter and "
                                    "--known-width, not several");
  if (!isnan (said->scale_u) && isnan (said->scale))
    return wsi_refuse_usage (error, "--scale-u: makes sense with --scale only");
  if (!isnan (said->known_diameter_u) && isnan (said->known_diameter))
    return wsi_refuse_usage (error, "--known-diameter-u: makes sense with --known-diameter only");
  return check_scale (said->scale, error) && check_known (&known, error);
}

static gboolean
read_optics (const WsTaskSpec *said, WsOptics *optics, GError **error)
{
  const KnownSize known = known_size_of (said);
  *optics = (WsOptics)WS_OPTICS_UNKNOWN;
  if (!check_sources (said, error))
    return FALSE;
  optics->has_scale = !isnan (said->scale);
  optics->mm_per_px = wsi_option_number (said->scale, optics->mm_per_px);
  optics->u_mm_per_px = wsi_option_number (said->scale_u, optics->u_mm_per_px);
  if (isnan (known.mm))
    return TRUE;
  optics->known_mm = known.mm;
  optics->u_known_mm = wsi_option_number (known.u_mm, U_KNOWN_MM);
  return TRUE;
}

/* A calibration knows the lens. */
static gboolean
read_lens (const WsTaskSpec *said, WsOptics *optics, GError **error)
{
  if (!isnan (said->lens_distortion) && (said->calib != NULL || said->bench != NULL))
    return wsi_refuse_usage (error, "--lens-distortion: --calib tells it, and so does --bench; "
                                    "leave one of them out");
  optics->lens_distortion = 0.01 * wsi_option_number (said->lens_distortion, 0);
  return TRUE;
}

/* How well a bar against the fixture's stop shows where tools will point: a few hundredths of a
 * millimetre over some 50 mm (common practice, no source). */
#define FIXTURE_U_DEG 0.05

/* A calibration doesn't know it. */
static gboolean
read_fixture (const WsTaskSpec *said, WsOptics *optics, GError **error)
{
  optics->lean_max = wsi_option_number (said->lean_max, 0) * G_PI / 180;
  optics->has_fixture = !isnan (said->fixture);
  if (!isnan (said->fixture_u) && !optics->has_fixture)
    return wsi_refuse_usage (error, "--fixture-direction-u: makes sense with --fixture-direction "
                                    "only");
  optics->fixture = wsi_option_number (said->fixture, 0) * G_PI / 180;
  optics->u_fixture = wsi_option_number (said->fixture_u, FIXTURE_U_DEG) * G_PI / 180;
  return TRUE;
}

static gboolean
check_camera (const WsTaskSpec *said, const char *path, const WsCalibration *calibration,
              GError **error)
{
  if (said->camera == NULL || g_str_equal (said->camera, ws_calibration_camera (calibration)))
    return TRUE;
  g_set_error (error, WS_ERROR, WS_ERROR_DATA,
               "%s: made for the camera \"%s\", not \"%s\"; use that camera's own calibration",
               path, ws_calibration_camera (calibration), said->camera);
  return FALSE;
}

static gboolean
check_expiry (const WsTaskSpec *said, const char *path, const WsCalibrationUse *use, GError **error)
{
  if (!use->expired || said->allow_expired)
    return TRUE;
  g_autofree char *day = g_date_time_format (ws_calibration_expires (use->calibration), "%Y-%m-%d");
  return wsi_refuse (error, WS_ERROR_DATA,
                     "%s: expired on %s; calibrate again, or use it all the same with "
                     "--allow-expired",
                     path, day);
}

/* Told once a call; what it means for verdicts, the job sees to. */
static void
tell_failed_check (const WsTaskSpec *said, const char *path, WsCalibrationUse *use)
{
  if (!g_str_equal (use->check, "failed"))
    return;
  use->check_ignored = said->ignore_check;
  g_autofree char *when = wsi_words_local_time (use->check_time);
  wsi_say_aside ("whetsight: %s: failed its check on %s; %s\n", path, when,
                 said->ignore_check ? _ ("used all the same, as asked")
                                    : _ ("nothing is accepted until a check passes"));
}

/* From the file at `path`. */
static gboolean
use_calibration (const WsTaskSpec *said, const char *path, WsTask *task, GError **error)
{
  WsCalibrationUse *use = &task->job.use;
  task->calibration = ws_calibration_load (path, error);
  if (task->calibration == NULL || !check_camera (said, path, task->calibration, error) ||
      !ws_job_use_calibration (&task->job, task->calibration, path, error) ||
      !check_expiry (said, path, use, error))
    return FALSE;
  tell_failed_check (said, path, use);
  return TRUE;
}

/* The bench's calibration, and how it takes pictures. */
static gboolean
use_bench (const WsTaskSpec *said, WsTask *task, GError **error)
{
  g_auto (WsBench) bench = { 0 };
  WsBenchCheck check;
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();
  if (!wsi_bench_load (said->bench, &bench, error) ||
      !wsi_bench_check_calibration (&bench, error) || !wsi_bench_check (&bench, now, &check, error))
    return FALSE;
  task->job.taken = task->taken = wsi_bench_taken (&bench);
  if (bench.calibration == NULL)
    return TRUE;
  if (!use_calibration (said, bench.calibration, task, error))
    return FALSE;
  if (!check.due)
    return TRUE;
  ws_job_hold_until_checked (&task->job);
  if (check.last.state != WS_CHECKED_FAILED)
    wsi_say_aside ("whetsight: %s: the check of its calibration is due; nothing is judged until "
                   "one passes: whetsight verify\n",
                   said->bench);
  return TRUE;
}

static gboolean
read_calibration (const WsTaskSpec *said, WsTask *task, GError **error)
{
  if (said->bench != NULL)
    return use_bench (said, task, error);
  if (said->calib != NULL)
    return use_calibration (said, said->calib, task, error);
  return (said->camera == NULL && !said->allow_expired && !said->ignore_check) ||
         wsi_refuse_usage (error,
                           "--camera, --allow-expired and --ignore-failed-check make sense with "
                           "--calib or --bench only");
}

/* ---- Card and view -------------------------------------------------------------------------- */

/* Full names of what the views for a kind measure, ending in NULL. */
static GPtrArray *
quantity_names (WsToolKind kind)
{
  GPtrArray *names = g_ptr_array_new_with_free_func (g_free);
  for (const WsView *const *view = ws_views (); *view != NULL; view++)
    for (gsize i = 0; (*view)->kinds & 1U << kind && i < (*view)->n_quantities; i++)
    {
      const WsQuantityInfo *info = &(*view)->quantities[i];
      const char *unit = ws_unit_suffix (info->unit, TRUE);
      g_ptr_array_add (names, g_strdup_printf ("%s_%s", info->stem, unit));
    }
  g_ptr_array_add (names, NULL);
  return names;
}

/* `where` on the card it stands. */
static gboolean
check_quantity_name (const char *path, const WsToolCard *card, const char *where,
                     const char *quantity, GError **error)
{
  g_autoptr (GPtrArray) names = quantity_names (card->kind);
  const char *const *candidates = (const char *const *)names->pdata;
  g_autofree char *family = ws_quantity_family (quantity);
  if (g_strv_contains (candidates, quantity) || g_strv_contains (candidates, family))
    return TRUE;
  g_autofree char *hint =
    wsi_suggest_or (quantity, candidates, _ ("whetsight views lists the names"));
  g_set_error (error, WS_ERROR, WS_ERROR_DATA, "%s: %s %s: not measured on a %s; %s", path, where,
               quantity, ws_tool_kind_name (card->kind), hint);
  return FALSE;
}

/* The kind that a view is for, where there is no card to say it. */
static WsToolKind
kind_shown (const char *view_name)
{
  const WsView *view = view_name != NULL ? ws_view_find (view_name) : NULL;
  WsToolKind kind = WS_KIND_TWIST_DRILL;
  for (guint i = 0; view != NULL && i < WS_N_KINDS && !(view->kinds & 1U << kind); i++)
    kind = (WsToolKind)i;
  return kind;
}

/* The card's own views are those that its kind of tool has. */
static gboolean
check_views (const WsTaskSpec *said, const WsToolCard *card, GError **error)
{
  g_autoptr (GPtrArray) names = g_ptr_array_new ();
  for (const WsView *const *view = ws_views (); *view != NULL; view++)
    if ((*view)->kinds & 1U << card->kind)
      g_ptr_array_add (names, (gpointer)(*view)->name);
  g_ptr_array_add (names, NULL);
  const char *const *known = (const char *const *)names->pdata;
  for (gsize i = 0; card->views != NULL && card->views[i] != NULL; i++)
    if (!g_strv_contains (known, card->views[i]))
    {
      g_autofree char *hint =
        wsi_suggest_or (card->views[i], known, _ ("whetsight views lists them"));
      return wsi_refuse (error, WS_ERROR_DATA, "%s: [tool] views: no view \"%s\" of a %s; %s",
                         said->tool, card->views[i], ws_tool_kind_name (card->kind), hint);
    }
  return TRUE;
}

static gboolean
read_card (const WsTaskSpec *said, WsTask *task, GError **error)
{
  if (said->tool == NULL)
  {
    task->card = ws_tool_card_new (kind_shown (said->view));
    return TRUE;
  }
  task->card = ws_tool_card_load (said->tool, error);
  if (task->card == NULL)
    return FALSE;
  task->card_path = g_strdup (said->tool);
  if (!check_views (said, task->card, error))
    return FALSE;
  for (guint i = 0; i < task->card->limits->len; i++)
  {
    const WsLimit *limit = &g_array_index (task->card->limits, WsLimit, i);
    if (!check_quantity_name (said->tool, task->card, "[limits]", limit->quantity, error))
      return FALSE;
  }
  for (char **name = task->card->required; name != NULL && *name != NULL; name++)
    if (!check_quantity_name (said->tool, task->card, "[tool] required:", *name, error))
      return FALSE;
  return TRUE;
}

static gboolean
refuse_view (const char *name, GError **error)
{
  g_autoptr (GPtrArray) names = g_ptr_array_new ();
  for (const WsView *const *view = ws_views (); *view != NULL; view++)
    g_ptr_array_add (names, (gpointer)(*view)->name);
  g_ptr_array_add (names, NULL);
  g_autofree char *hint =
    wsi_suggest_or (name, (const char *const *)names->pdata, _ ("whetsight views lists them"));
  return wsi_refuse_usage (error, "--view: no view \"%s\"; %s", name, hint);
}

static gboolean
choose_view (const WsTaskSpec *said, WsTask *task, GError **error)
{
  WsJob *job = &task->job;
  const char *kind = ws_tool_kind_name (task->card->kind);
  job->card = task->card;
  job->view = said->view != NULL ? ws_view_find (said->view) : ws_view_for_kind (job->card->kind);
  if (job->view == NULL && said->view != NULL)
    return refuse_view (said->view, error);
  if (job->view == NULL)
    return wsi_refuse_usage (error, "no view measures a %s", kind);
  if (!(job->view->kinds & 1U << job->card->kind))
    return wsi_refuse_usage (error, "--view: %s doesn't show a %s", job->view->name, kind);
  return TRUE;
}

/* A size gives a scale only where the view sees it. */
static gboolean
check_known_size (const WsTaskSpec *said, const WsView *view, GError **error)
{
  const KnownSize known = known_size_of (said);
  if (isnan (known.mm) || g_strcmp0 (view->own_size, known.stem) == 0)
    return TRUE;
  return wsi_refuse_usage (error, "--%s: %s doesn't show it%s; give --scale or --calib",
                           known.option, view->name,
                           view->own_size == NULL                     ? ""
                           : g_str_equal (view->own_size, "diameter") ? _ (", but --known-diameter")
                                                                      : _ (", but --known-width"));
}

WsTask *
wsi_task_new (const WsTaskSpec *said, GError **error)
{
  WsTask *task = g_new0 (WsTask, 1);
  WsOptics *optics = &task->job.optics;
  if (read_optics (said, optics, error) && read_lens (said, optics, error) &&
      read_calibration (said, task, error) && read_fixture (said, optics, error) &&
      read_card (said, task, error) && choose_view (said, task, error) &&
      check_known_size (said, task->job.view, error))
    return task;
  wsi_task_free (task);
  return NULL;
}

/* ---- Options ----------------------------------------------------------------------------------
 */

static const WsOptionCheck is_distortion = {
  .phrase = "expected a number of per cent above 0, 20 at most", .most = 20.0, .above = TRUE
};

static const WsOptionCheck is_lean = { .phrase = "expected a number of degrees above 0, 10 at most",
                                       .most = 10.0,
                                       .above = TRUE };

const WsOption wsi_task_options[] = {
  { WS_OPTION_FILE, "tool", 't', G_STRUCT_OFFSET (WsTaskSpec, tool), "CARD",
    "Tool card; without it, a tool of unknown size that the view shows", NULL },
  { WS_OPTION_TEXT, "view", 'v', G_STRUCT_OFFSET (WsTaskSpec, view), "VIEW",
    "View; the usual one for the kind of tool by default (see: whetsight views)", &wsi_check_view },
  { WS_OPTION_LENGTH, "scale", 's', G_STRUCT_OFFSET (WsTaskSpec, scale), "MM_PER_PX",
    "Millimetres a pixel; without it lengths are in pixels", &wsi_check_above_zero },
  { WS_OPTION_LENGTH, "scale-u", 0, G_STRUCT_OFFSET (WsTaskSpec, scale_u), "MM_PER_PX",
    "Standard uncertainty of the scale, 0 by default", &wsi_check_above_zero },
  { WS_OPTION_LENGTH, "known-diameter", 0, G_STRUCT_OFFSET (WsTaskSpec, known_diameter), "MM",
    "The drill's diameter over its margins, by micrometer; the scale follows from it, in place of "
    "--scale",
    &wsi_check_above_zero },
  { WS_OPTION_LENGTH, "known-diameter-u", 0, G_STRUCT_OFFSET (WsTaskSpec, known_diameter_u), "MM",
    "Its standard uncertainty, 0.003 by default", &wsi_check_above_zero },
  { WS_OPTION_LENGTH, "known-width", 0, G_STRUCT_OFFSET (WsTaskSpec, known_width), "MM",
    "The same for a cutoff blade: the width of its edge", &wsi_check_above_zero },
  { WS_OPTION_LENGTH, "known-width-u", 0, G_STRUCT_OFFSET (WsTaskSpec, known_width_u), "MM",
    "Its standard uncertainty, 0.003 by default", &wsi_check_above_zero },
  { WS_OPTION_NUMBER, "lens-distortion", 0, G_STRUCT_OFFSET (WsTaskSpec, lens_distortion),
    "PERCENT",
    "What the lens' data sheet says it distorts the picture's corner by, 0.3 by default; a "
    "calibration knows",
    &is_distortion },
  { WS_OPTION_NUMBER, "lean-max", 0, G_STRUCT_OFFSET (WsTaskSpec, lean_max), "DEG",
    "By which drills in the block lie out of the picture's plane at most, for pictures whose "
    "outline doesn't tell; 2 by default",
    &is_lean },
  { WS_OPTION_NUMBER, "fixture-direction", 0, G_STRUCT_OFFSET (WsTaskSpec, fixture), "DEG",
    "Where the fixture makes blades' bodies point, from the picture's rows, counter-clockwise; the "
    "view form-plan tells it of a bar in their place",
    &wsi_check_number },
  { WS_OPTION_NUMBER, "fixture-direction-u", 0, G_STRUCT_OFFSET (WsTaskSpec, fixture_u), "DEG",
    "Its standard uncertainty, 0.05 by default", &wsi_check_above_zero },
  { WS_OPTION_FILE, "calib", 'c', G_STRUCT_OFFSET (WsTaskSpec, calib), "NAME.calib",
    "Calibration of the camera (see: whetsight calibrate); in place of --scale", NULL },
  { WS_OPTION_FILE, "bench", 'b', G_STRUCT_OFFSET (WsTaskSpec, bench), "FILE.conf",
    "The bench that took the pictures (see: whetsight capture), with its calibration; pictures "
    "taken otherwise are refused",
    NULL },
  { WS_OPTION_TEXT, "camera", 0, G_STRUCT_OFFSET (WsTaskSpec, camera), "NAME",
    "Refuse a calibration made for another camera than NAME", NULL },
  { WS_OPTION_FLAG, "allow-expired", 0, G_STRUCT_OFFSET (WsTaskSpec, allow_expired), NULL,
    "Use an expired calibration; the record says so", NULL },
  { WS_OPTION_FLAG, "ignore-failed-check", 0, G_STRUCT_OFFSET (WsTaskSpec, ignore_check), NULL,
    "Accept tools although the calibration failed its last check; the record says so", NULL },
  WS_OPTIONS_END
};
