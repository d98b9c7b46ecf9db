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

  WsArchive *archive; /* NULL: not archived, or it can't be used */
  const char *station;
  const char *grinder;
  gboolean reground;
  char *settings;     /* ws_job_settings() */
  GHashTable *stored; /* SHA-256 of pictures to skip -> id of their inspection; or NULL */
} WsJob;

/* What came of one picture, before anything was printed or saved. */
typedef struct
{
  int status;        /* exit status of measuring alone */
  GError *error;     /* to be told, or NULL */
  char *words;       /* to be printed, or NULL */
  char *record;      /* NULL when there is none */
  GBytes *annotated; /* or NULL */
  GBytes *original;  /* the file's bytes for the archive, or NULL */
  char *skipped;     /* id of the inspection that the archive has already, or NULL */
} WsOutcome;

/* "drill" for "shelf/drill.png": what output files are named after.  Free with g_free(). */
char *ws_job_stem (const char *image_path);

/* OUT/STEM.annotated.png and OUT/STEM.record.json.  Free with g_free(). */
char *ws_job_picture_path (const WsJob *job, const char *image_path);
char *ws_job_record_path (const WsJob *job, const char *image_path);

/* A hash of what a measurement depends on beside the picture: program, view, the card's file (or
 * NULL), scale, calibration.  Free with g_free(). */
char *ws_job_settings (const WsJob *job, const char *card_path);

/* Measures one picture; from any thread.  Free with ws_outcome_free(). */
WsOutcome *ws_job_measure (const WsJob *job, const char *image_path);
void ws_outcome_free (WsOutcome *outcome);

/* Archives, prints and saves; from one thread.  Returns the exit status; what went wrong has been
 * told on standard error.  Takes `outcome->error` over. */
int ws_job_deliver (const WsJob *job, const char *image_path, WsOutcome *outcome);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsOutcome, ws_outcome_free)

G_END_DECLS

#endif
