/*
 * Which pictures are to be measured, and each by which card, view and scale: the same for all, or a
 * line of a file each.
 */
#ifndef WS_CLI_PLAN_H
#define WS_CLI_PLAN_H

#include "cli/task.h"

G_BEGIN_DECLS

typedef struct
{
  char **images;        /* paths, ending in NULL */
  GPtrArray *tasks;     /* of WsTask, one a picture; borrowed from `different` */
  GPtrArray *different; /* each task once */
  gboolean has_folders;
  gboolean is_series; /* all pictures are of one tool, and measured together */
  char *series_name;  /* of the folder, list or video that they are, else NULL */
  char *unpacked;     /* folder of a video's pictures, removed with the plan; else NULL */
} WsPlan;

/* Pictures and folders of one tool.  Errors: those of wsi_task_new(); WS_ERROR_NO_INPUT for a
 * folder without pictures; WS_ERROR_USAGE for one that is of other tools too. */
WsPlan *wsi_plan_of_one (const WsTaskSpec *said, char *const *paths, GError **error);

/*
 * A CSV file with the columns picture, card, view, and where wanted scale, scale_u,
 * known_diameter, known_diameter_u, known_width, known_width_u and calib; files are looked for from
 * the plan's folder.  What `said` tells of scale or calibration holds for lines without their own.
 * Errors: WS_ERROR_DATA with the line, WS_ERROR_NO_INPUT.
 */
WsPlan *wsi_plan_load (const char *path, const WsTaskSpec *said, GError **error);

void wsi_plan_free (WsPlan *plan);

WsTask *wsi_plan_task (const WsPlan *plan, guint i);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsPlan, wsi_plan_free)

G_END_DECLS

#endif
