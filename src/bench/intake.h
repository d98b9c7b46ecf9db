/*
 * Pictures that were sent: measured as `whetsight measure --archive` measures files, and archived.
 */
#ifndef WS_BENCH_INTAKE_H
#define WS_BENCH_INTAKE_H

#include "bench/serve.h"

G_BEGIN_DECLS

/* What came of one; clear with wsi_intake_clear(). */
typedef struct
{
  char *id, *record;
  guint64 number;
} WsIntake;

void wsi_intake_clear (WsIntake *intake);

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (WsIntake, wsi_intake_clear)

/* Measures one file of the request, or `sample`, a picture of the demo, in its place; when this
 * returns TRUE it is archived, on disk.  The request's fields say the view, who measures, the
 * grinder, the station and whether the tool was reground.  Errors: those of wsi_crew_measure(), of
 * finding card and setup, and of storing. */
gboolean wsi_intake_measure (WsServe *serve, const WsServeRequest *request,
                             const WsServePart *picture, WsIntake *intake, GError **error);
gboolean wsi_intake_sample (WsServe *serve, const WsServeRequest *request, const char *sample,
                            WsIntake *intake, GError **error);

/* The same of a picture that is at hand, by that name. */
gboolean wsi_intake_bytes (WsServe *serve, const WsServeRequest *request, const char *name,
                           GBytes *bytes, WsIntake *intake, GError **error);

/* The text of the label in a picture that was sent; NULL without an error when there is none.  Free
 * with g_free(). */
char *wsi_intake_label (WsServe *serve, const WsServePart *picture, GError **error);

/* The name that a change has: who is signed in or, at this computer, who is named.  Free with
 * g_free(). */
char *wsi_intake_by (const WsServeRequest *request);

/* What a process that measures tells of a picture by a task of its own, whose `picture` is set
 * here. Free with g_free(). */
char *wsi_intake_ask (WsServe *serve, const WsCrewTask *task, GBytes *picture, GError **error);

G_END_DECLS

#endif
