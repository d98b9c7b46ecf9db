#include "cli/regrind.h"

#include <math.h>

#include <jansson.h>
#include <whetsight/whetsight.h>

#include "base/language.h"
#include "cli/archive.h"
#include "cli/fail.h"
#include "optics/calibration.h"

void
wsi_regrind_shot_clear (WsRegrindShot *shot)
{
  g_clear_pointer (&shot->id, g_free);
  g_clear_pointer (&shot->time, g_free);
  g_clear_pointer (&shot->path, g_free);
  g_clear_pointer (&shot->name, g_free);
}

/* ---- Which inspections ------------------------------------------------------------------------
 */

typedef struct
{
  char *id, *time, *view;
  gboolean reground, usable;
} Row;

static void
row_clear (gpointer data)
{
  Row *row = data;
  g_free (row->id);
  g_free (row->time);
  g_free (row->view);
}

static gboolean
note (const WsInspection *inspection, gpointer data, GError **error)
{
  const WsView *view = inspection->view != NULL ? ws_view_find (inspection->view) : NULL;
  const Row row = { .id = g_strdup (inspection->id),
                    .time = g_strdup (inspection->time),
                    .view = g_strdup (inspection->view),
                    .reground = inspection->reground,
                    .usable = view != NULL && ws_set_out_sees (view) && inspection->has_pictures &&
                              g_strcmp0 (inspection->verdict, "retake") != 0 };
  (void)error;
  g_array_append_val ((GArray *)data, row);
  return TRUE;
}

static gint
by_time (gconstpointer a, gconstpointer b)
{
  return g_strcmp0 (((const Row *)a)->time, ((const Row *)b)->time);
}

/* The newest that is usable in rows `from` up to `to`, in that view, or of that id; -1: none. */
static gint
newest (const GArray *rows, guint from, guint to, const char *view, const char *id)
{
  for (guint i = MIN (to, rows->len); i-- > from;)
  {
    const Row *row = &g_array_index (rows, Row, i);
    if (id != NULL ? g_str_equal (row->id, id)
                   : row->usable && (view == NULL || g_str_equal (row->view, view)))
      return (gint)i;
  }
  return -1;
}

/* The last row that was marked as the first after a regrind; -1: none. */
static gint
last_regrind (const GArray *rows)
{
  for (guint i = rows->len; i-- > 0;)
    if (g_array_index (rows, Row, i).reground)
      return (gint)i;
  return -1;
}

static gboolean
lacks (const WsRegrindAsked *asked, const char *what, GError **error)
{
  return wsi_refuse (error, WS_ERROR_NO_INPUT, "tool %s: %s", asked->tool, what);
}

/* Sets `which` to the rows before and after; the second one to -1 when it isn't in the archive. */
static gboolean
choose (const GArray *rows, const WsRegrindAsked *asked, gint which[2], GError **error)
{
  const gint ground = asked->after_is_new ? (gint)rows->len : last_regrind (rows);
  if (rows->len == 0)
    return lacks (
      asked, _ ("the archive has nothing of it; whetsight archive tools shows what it has"), error);
  if (ground < 0 && (asked->before == NULL || asked->after == NULL))
    return lacks (
      asked,
      _ ("no inspection is marked as the first after a regrind (measure --reground); name "
         "both with --before and --after"),
      error);
  which[1] = -1;
  if (!asked->after_is_new)
  {
    which[1] = newest (rows, (guint)MAX (ground, 0), rows->len, asked->view, asked->after);
    if (which[1] < 0)
      return lacks (
        asked,
        _ ("no inspection after the regrind that shows its edge in silhouette, with its "
           "picture"),
        error);
  }
  const char *view = which[1] >= 0 ? g_array_index (rows, Row, which[1]).view : asked->view;
  which[0] = newest (rows, 0, (guint)MAX (ground, 0), view, NULL);
  if (asked->before != NULL)
    which[0] = newest (rows, 0, rows->len, NULL, asked->before);
  return which[0] >= 0 ||
         lacks (asked, _ ("no inspection in the same view before the regrind, with its picture"),
                error);
}

/* ---- How its picture was taken
 * ------------------------------------------------------------------- */

static double
number (const json_t *object, const char *key)
{
  const json_t *value = json_object_get (object, key);
  return json_is_number (value) ? json_number_value (value) : 0;
}

/* Lengths of one that was measured by a near camera mean nothing without it. */
static gboolean
read_lens (const json_t *record, const WsRegrindAsked *asked, WsRegrindShot *shot, GError **error)
{
  const json_t *calibration = json_object_get (record, "calibration");
  const char *sha256 = json_string_value (json_object_get (calibration, "sha256"));
  if (sha256 == NULL)
    return TRUE;
  if (asked->calibration != NULL &&
      g_str_equal (sha256, ws_calibration_sha256 (asked->calibration)))
  {
    shot->optics = ws_optics_of_lens (&asked->calibration->lens);
    return TRUE;
  }
  return wsi_refuse (error, WS_ERROR_DATA,
                     "inspection %s was measured by the calibration %s%s; give its file with "
                     "--calib",
                     shot->id, json_string_value (json_object_get (calibration, "id")),
                     asked->calibration != NULL ? _ (", not by the one that was given") : "");
}

static gboolean
read_record (const WsInspection *inspection, const WsRegrindAsked *asked, WsRegrindShot *shot,
             GError **error)
{
  json_t *record = json_loads (inspection->record, 0, NULL);
  const json_t *scale = json_object_get (record, "scale");
  shot->optics = (WsOptics)WS_OPTICS_UNKNOWN;
  shot->optics.has_scale = number (scale, "mm_per_px") > 0;
  if (shot->optics.has_scale)
    shot->optics.mm_per_px = number (scale, "mm_per_px");
  shot->optics.u_mm_per_px = number (scale, "u_mm_per_px");
  shot->optics.lens_distortion = number (record, "lens_distortion");
  const gboolean ok = read_lens (record, asked, shot, error);
  json_decref (record);
  return ok;
}

static gboolean
take (WsArchive *archive, const Row *row, const WsRegrindAsked *asked, WsRegrindShot *shot,
      GError **error)
{
  g_autoptr (WsInspection) inspection = ws_archive_find (archive, row->id, error);
  if (inspection == NULL)
    return FALSE;
  shot->id = g_strdup (row->id);
  shot->time = g_strdup (row->time);
  shot->name = g_strdup (inspection->image_name);
  shot->view = row->view != NULL ? ws_view_find (row->view) : NULL;
  g_autofree char *wrong = inspection->wrong != NULL
                             ? g_strdup (inspection->wrong)
                             : ws_archive_check_pictures (archive, inspection);
  if (wrong != NULL)
    return wsi_refuse (error, WS_ERROR_DATA, "inspection %s: %s", row->id, wrong);
  if (!row->usable || !ws_archive_has_picture (archive, inspection, inspection->image))
    return wsi_refuse (error, WS_ERROR_NO_INPUT,
                       "inspection %s has no picture that shows the edge in silhouette, or it "
                       "couldn't be measured",
                       row->id);
  shot->path = ws_archive_picture_path (archive, inspection->image);
  return read_record (inspection, asked, shot, error);
}

gboolean
wsi_regrind_find (WsArchive *archive, const WsRegrindAsked *asked, WsRegrindShot shots[2],
                  GError **error)
{
  const WsArchiveFilter filter = { .tool = asked->tool, .above = NAN, .below = NAN };
  g_autoptr (GArray) rows = g_array_new (FALSE, FALSE, sizeof (Row));
  gint which[2];
  g_array_set_clear_func (rows, row_clear);
  if (!ws_archive_each (archive, &filter, FALSE, note, rows, error))
    return FALSE;
  g_array_sort (rows, by_time);
  if (!choose (rows, asked, which, error))
    return FALSE;
  for (guint i = 0; i < 2; i++)
    if (which[i] >= 0 &&
        !take (archive, &g_array_index (rows, Row, which[i]), asked, &shots[i], error))
      return FALSE;
  if (which[1] >= 0 && shots[0].view != shots[1].view)
    return wsi_refuse_usage (error, "--before, --after: one is of %s, the other of %s",
                             shots[0].view->name, shots[1].view->name);
  return TRUE;
}

/* ---- Measuring
 * -------------------------------------------------------------------------------------- */

WsResult *
wsi_regrind_measure (const WsRegrindShot shots[2], WsReference reference, GError **error)
{
  const WsImageLimits limits = WS_IMAGE_LIMITS_DEFAULT;
  WsSetOutPicture pictures[2];
  g_autoptr (WsImage) before =
    ws_image_load (shots[0].path, &limits, WS_IMAGE_GREY | WS_IMAGE_CONFINED, error);
  g_autoptr (WsImage) after =
    before != NULL
      ? ws_image_load (shots[1].path, &limits, WS_IMAGE_GREY | WS_IMAGE_CONFINED, error)
      : NULL;
  if (after == NULL)
    return NULL;
  pictures[0] = (WsSetOutPicture){ before, &shots[0].optics };
  pictures[1] = (WsSetOutPicture){ after, &shots[1].optics };
  return ws_set_out_measure (shots[0].view, &pictures[0], &pictures[1], reference);
}

static const char *
reference (guint i)
{
  return i < WS_N_REFERENCES ? ws_reference_name ((WsReference)i) : NULL;
}

const WsOptionCheck wsi_check_reference = { .word = reference };
