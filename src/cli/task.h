/*
 * What is to be measured how: card, view and scale, as typed or as a plan has them, made into a
 * job.
 */
#ifndef WS_CLI_TASK_H
#define WS_CLI_TASK_H

#include <whetsight/job.h>

#include "cli/options.h"
#include "cli/regrind.h"

G_BEGIN_DECLS

/* mm: standard uncertainty of a length by a caliper: a limit of error of 0.05 mm, rectangular. */
#define WSI_U_LENGTH 0.03

/* As typed; numbers are NAN when not given. */
typedef struct
{
  char *tool;
  char *view;
  double scale, scale_u;
  double known_diameter, known_diameter_u;
  double known_width, known_width_u;
  double lens_distortion;    /* % */
  double lean_max;           /* degrees */
  double fixture, fixture_u; /* degrees */
  char *bench;
  char *calib;
  char *camera;
  gboolean allow_expired;
  gboolean ignore_check;
} WsTaskSpec;

/* The options that a WsTaskSpec is read from. */
extern const WsOption wsi_task_options[];

typedef struct
{
  WsJob job;                  /* limits, wants and what is stored are the caller's to set */
  WsToolCard *card;           /* the job's */
  WsCalibration *calibration; /* likewise, or NULL */
  WsTaken *taken;             /* likewise, or NULL */
  WsRegrindShot before_shot;  /* what job.before borrows from */
  WsJobBefore before;         /* likewise */
  char *card_path;            /* NULL without one */
  char *settings;             /* for the archive, or NULL */
} WsTask;

/* Loads what is named.  Errors: those of loading, WS_ERROR_USAGE for what doesn't go together. */
WsTask *wsi_task_new (const WsTaskSpec *said, GError **error);
void wsi_task_free (WsTask *task);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsTask, wsi_task_free)

G_END_DECLS

#endif
