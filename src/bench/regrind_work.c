#include "bench/regrind_work.h"

#include <stdlib.h>

#include <jansson.h>
#include <whetsight/error.h>
#include <whetsight/view.h>

#include "base/language.h"
#include "report/chart/regrind_chart.h"
#include "tool/regrind_shots.h"

/* A picture with what it was measured by. */
typedef struct
{
  const WsCrewTools *tools;
  WsJob job;
  gpointer data;
  WsResult *result;
} Shot;

static void
shot_clear (Shot *shot)
{
  ws_result_free (shot->result);
  if (shot->data != NULL)
    shot->tools->done (shot->data);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Shot, shot_clear)

static gboolean
take (Shot *shot, const WsCrewTask *task, GError **error)
{
  g_autofree char *settings = NULL;
  if (!shot->tools->prepare (task, &shot->job, &settings, &shot->data, error))
    return FALSE;
  const WsImageFlags flags = shot->job.view->needs | (shot->job.confined ? WS_IMAGE_CONFINED : 0);
  g_autoptr (WsImage) image = ws_image_load (task->picture, &shot->job.limits, flags, error);
  if (image == NULL)
    return FALSE;
  shot->result = ws_measure (shot->job.view, image, shot->job.card, &shot->job.optics);
  return TRUE;
}

static json_t *
place_json (const WsRegrindPlace *place)
{
  return json_pack ("{s:f, s:f, s:f, s:f, s:f, s:f, s:b}", "depth_mm", place->depth, "U_mm",
                    place->U, "length_mm", place->length, "area_mm2", place->area, "x_mm",
                    place->deepest.x, "y_mm", place->deepest.y, "stands_out", place->stands_out);
}

static char *
tell (const WsRegrind *regrind)
{
  json_t *places = json_array ();
  for (guint i = 0; i < regrind->places->len; i++)
    json_array_append_new (places,
                           place_json (&g_array_index (regrind->places, WsRegrindPlace, i)));
  json_t *said =
    json_pack ("{s:f, s:f, s:b, s:f, s:o}", "shorter_mm", regrind->shorter, "U_mm", regrind->U,
               "is_least", regrind->is_least, "agreement_mm", regrind->agreement, "places", places);
  char *dumped = json_dumps (said, JSON_COMPACT | JSON_REAL_PRECISION (6));
  char *text = g_strdup (dumped);
  free (dumped);
  json_decref (said);
  return text;
}

char *
wsi_regrind_work (const WsCrewTools *tools, const WsCrewTask *task, GBytes **drawing,
                  GError **error)
{
  const char *what = NULL;
  g_auto (Shot) after = { .tools = tools };
  g_auto (Shot) before = { .tools = tools };
  WsCrewTask first = *task;
  first.picture = task->before;
  first.scale = task->before_scale;
  first.scale_u = task->before_scale_u;
  if (!take (&after, task, error) || !take (&before, &first, error))
    return NULL;
  const WsRegrindShot shots[] = { { before.result, &before.job.optics },
                                  { after.result, &after.job.optics } };
  g_autoptr (WsRegrind) regrind =
    wsi_regrind_of_shots (after.job.card, &shots[0], &shots[1], &what);
  if (regrind == NULL)
  {
    g_set_error_literal (error, WS_ERROR, WS_ERROR_DATA, _ (what));
    return NULL;
  }
  *drawing = wsi_regrind_chart (regrind, WS_CHART_SVG, error);
  return *drawing != NULL ? tell (regrind) : NULL;
}
