/*
 * One call of `measure`: what to do with each picture.
 */
#ifndef WS_CLI_JOB_H
#define WS_CLI_JOB_H

#include <whetsight/whetsight.h>

G_BEGIN_DECLS

typedef struct
{
  WsToolCard *card;
  const WsView *view;
  WsOptics optics;
  WsCalibrationUse use; /* calibration NULL without --calib */
  WsImageLimits limits;
  const char *out; /* folder, or NULL; borrowed */
  gboolean json;
} WsJob;

/* "drill" for "shelf/drill.png": what output files are named after.  Free with g_free(). */
char *ws_job_stem (const char *image_path);

/* OUT/STEM.annotated.png and OUT/STEM.record.json.  Free with g_free(). */
char *ws_job_picture_path (const WsJob *job, const char *image_path);
char *ws_job_record_path (const WsJob *job, const char *image_path);

/* Measures one picture and prints and saves what was asked for.  Returns the exit
 * status; what went wrong has been told on standard error. */
int ws_job_run (const WsJob *job, const char *image_path);

G_END_DECLS

#endif
