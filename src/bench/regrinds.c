#include "bench/regrinds.h"

#include <math.h>
#include <string.h>

#include <whetsight/error.h>

#include "base/language.h"
#include "bench/cards.h"
#include "bench/html.h"
#include "bench/setup.h"
#include "tool/regrind_shots.h"

/* ---- Which pictures ----------------------------------------------------------------------------
 */

static gboolean
is_retake (const WsInspection *inspection)
{
  return g_strcmp0 (inspection->verdict, "retake") == 0;
}

/* The last of that view before the regrind, which is `ground`; one that was measured where there is
 * one. */
static const WsInspection *
before (const GPtrArray *shelf, guint ground, const char *view)
{
  const WsInspection *found = NULL;
  for (guint i = ground; i-- > 0;)
  {
    const WsInspection *older = g_ptr_array_index (shelf, i);
    if (!wsi_html_has_figure (older) || !g_str_equal (older->view, view))
      continue;
    if (!is_retake (older))
      return older;
    found = found != NULL ? found : older;
  }
  return found;
}

/* Measured, and then laid on each other, is best. */
static int
worth (const WsInspection *newer)
{
  return (is_retake (newer) ? 0 : 2) + (wsi_regrind_sees (newer->view) ? 1 : 0);
}

/* Of the pictures since the regrind `ground`, until the next one: the first of those that show most
 * of it, with the last before it of the same view. */
static WsRegrindPair
pair_of (const GPtrArray *shelf, guint ground)
{
  WsRegrindPair pair = { NULL, NULL };
  for (guint i = ground; i < shelf->len; i++)
  {
    const WsInspection *newer = g_ptr_array_index (shelf, i);
    if (i > ground && newer->reground)
      break;
    if (!wsi_html_has_figure (newer) || (pair.after != NULL && worth (newer) <= worth (pair.after)))
      continue;
    const WsInspection *older = before (shelf, ground, newer->view);
    if (older != NULL)
      pair = (WsRegrindPair){ older, newer };
  }
  return pair;
}

WsRegrindPair
wsi_regrinds_last (const GPtrArray *shelf)
{
  for (guint i = shelf->len; i-- > 0;)
  {
    const WsInspection *newer = g_ptr_array_index (shelf, i);
    const WsRegrindPair pair = newer->reground ? pair_of (shelf, i) : (WsRegrindPair){ NULL, NULL };
    if (pair.after != NULL)
      return pair;
  }
  return (WsRegrindPair){ NULL, NULL };
}

/* ---- Asking for it ------------------------------------------------------------------------------
 */

/* One of the pair: its file, and the scale that it was measured by. */
typedef struct
{
  char *path; /* NULL when the archive hasn't it any more */
  double scale, scale_u;
  gboolean is_calibrated;
} Taken;

static double
number_at (const json_t *object, const char *key)
{
  const json_t *value = json_object_get (object, key);
  return json_is_number (value) ? json_number_value (value) : (double)NAN;
}

static Taken
taken_of (WsArchive *archive, const WsInspection *inspection)
{
  json_t *record = json_loads (inspection->record, 0, NULL);
  const json_t *scale = json_object_get (record, "scale");
  g_autofree char *wrong = ws_archive_check_pictures (archive, inspection);
  const gboolean is_there =
    wrong == NULL && ws_archive_has_picture (archive, inspection, inspection->image);
  const Taken taken = {
    .path = is_there ? ws_archive_picture_path (archive, inspection->image) : NULL,
    .scale = number_at (scale, "mm_per_px"),
    .scale_u = number_at (scale, "u_mm_per_px"),
    .is_calibrated = json_is_object (json_object_get (record, "calibration")),
  };
  json_decref (record);
  return taken;
}

static char *
why_not (const WsInspection *inspection, const Taken taken[2])
{
  if (g_str_has_suffix (inspection->view, "-side") && !wsi_regrind_sees (inspection->view))
    return g_strdup (_ ("From the side the top is ground as well as the front, so too little stays "
                        "as it was for one outline to be laid on the other."));
  if (!wsi_regrind_sees (inspection->view))
    return g_strdup (_ ("Outlines are laid on each other in the views drill-side, blade-plan and "
                        "form-plan alone."));
  if (taken[0].path == NULL || taken[1].path == NULL)
    return g_strdup (_ ("The archive has one of the pictures no more."));
  if (!isfinite (taken[0].scale) || !isfinite (taken[1].scale))
    return g_strdup (_ ("One of the pictures was measured without a scale."));
  return NULL;
}

/* Both by the bench's calibration, which knows the lens, when both were measured by one. */
static WsOutcome *
ask_crew (WsServe *serve, const char *tool, const WsInspection *after, const Taken taken[2],
          GError **error)
{
  g_auto (WsSetup) setup = { 0 };
  g_autofree char *settings = NULL;
  g_autoptr (WsServeCard) card = wsi_cards_find (serve->settings.cards, tool, error);
  if (card == NULL ||
      !wsi_setup_find (serve->settings.cards, tool, after->view, after->image_name, &setup, error))
    return NULL;
  const gboolean by_lens =
    taken[0].is_calibrated && taken[1].is_calibrated && setup.calibration != NULL;
  const WsCrewTask task = {
    .card = card->path,
    .view = after->view,
    .picture = taken[1].path,
    .scale = by_lens ? NAN : taken[1].scale,
    .scale_u = by_lens ? NAN : taken[1].scale_u,
    .before = taken[0].path,
    .before_scale = by_lens ? NAN : taken[0].scale,
    .before_scale_u = by_lens ? NAN : taken[0].scale_u,
    .calibration = by_lens ? setup.calibration : NULL,
    .language = wsi_language_code (),
  };
  return wsi_crew_measure (serve->crew, &task, &settings, error);
}

/* What pictures say stays as it is; being busy doesn't. */
static gboolean
ask (WsServe *serve, const char *tool, const WsInspection *after, const Taken taken[2],
     WsRegrindTold *told, GError **error)
{
  GError *cause = NULL;
  told->why = why_not (after, taken);
  if (told->why != NULL)
    return TRUE;
  g_autoptr (WsOutcome) outcome = ask_crew (serve, tool, after, taken, &cause);
  if (outcome != NULL)
  {
    told->said = json_loads (outcome->record, 0, NULL);
    told->drawing = outcome->annotated != NULL ? g_bytes_ref (outcome->annotated) : NULL;
    return TRUE;
  }
  if (!g_error_matches (cause, WS_ERROR, WS_ERROR_DATA))
  {
    g_propagate_error (error, cause);
    return FALSE;
  }
  told->why =
    g_strdup_printf ("%s: %s.", _ ("The outlines can't be laid on each other"), cause->message);
  g_error_free (cause);
  return TRUE;
}

gboolean
wsi_regrinds_tell (WsServe *serve, const char *tool, const WsRegrindPair *pair, WsRegrindTold *told,
                   GError **error)
{
  g_autofree char *name =
    g_strjoin (" ", pair->before->id, pair->after->id, wsi_language_code (), NULL);
  if (wsi_regrinds_kept_find (serve->regrinds, name, told))
    return TRUE;
  WsArchive *archive = wsi_serve_take (serve, error);
  if (archive == NULL)
    return FALSE;
  Taken taken[] = { taken_of (archive, pair->before), taken_of (archive, pair->after) };
  wsi_serve_give (serve, archive);
  const gboolean done = ask (serve, tool, pair->after, taken, told, error);
  if (done)
    wsi_regrinds_keep (serve->regrinds, name, told);
  g_free (taken[0].path);
  g_free (taken[1].path);
  return done;
}
