/*
 * What goes between the page and those who measure for it, as bytes.
 */
#ifndef WS_BENCH_CREW_LINE_H
#define WS_BENCH_CREW_LINE_H

#include <whetsight/job.h>

G_BEGIN_DECLS

/* Borrowed; paths, and numbers NAN where they aren't known. */
typedef struct
{
  const char *card, *view, *picture, *calibration;
  double scale, scale_u;
  const char *measured_by;
  gboolean check_due; /* of the calibration: nothing is judged by it */
  double length_mm;   /* of the tool, measured by hand; or 0 */

  /* With a picture of before a regrind it is told what that took off (bench/regrind_work.h). */
  const char *before; /* path, or NULL */
  double before_scale, before_scale_u;
  const char *language; /* of the drawing */

  /* With something that is of known size it is told whether the calibration holds
   * (bench/check_work.h). */
  const char *shown;         /* "pin", "disc", or NULL */
  double size, hole, size_u; /* mm; a hole of NAN: none */
} WsCrewTask;

#define WSI_CREW_HEAD 32 /* bytes, without a zero byte */

/* Ends in a line feed.  Free with g_free(). */
char *wsi_crew_write_task (const WsCrewTask *task);

/* The lengths that a head says; FALSE when it is none. */
gboolean wsi_crew_read_head (const char head[WSI_CREW_HEAD], gsize *n_json, gsize *n_picture);

/* What came of a task, `picture` being the annotated one or NULL.  NULL with the error that the
 * answer is.  Free with ws_outcome_free(). */
WsOutcome *wsi_crew_read_answer (const char *json, gsize n_json, GBytes *picture, char **settings,
                                 GError **error);

G_END_DECLS

#endif
