/*
 * Measuring in processes of their own: a picture that attacks what reads it can end one of them,
 * never the page.  Each has a bound on its memory and its time, and works off one picture after the
 * other.
 *
 * The program starts itself for it.  A task goes in as a line of JSON; what comes of it comes back
 * as "JSON-BYTES PICTURE-BYTES\n", JSON, PNG.
 */
#ifndef WS_BENCH_CREW_H
#define WS_BENCH_CREW_H

#include "bench/crew_line.h"

G_BEGIN_DECLS

typedef struct WsCrew WsCrew;

typedef struct
{
  char **command; /* starts one, ending in NULL */
  guint size;     /* how many at once */
  guint most_waiting;
  guint wait_s;    /* for one to be free */
  guint measure_s; /* that one picture may take */
} WsCrewSettings;

/* Copies the settings.  Free with wsi_crew_free(), which ends them. */
WsCrew *wsi_crew_new (const WsCrewSettings *settings);
void wsi_crew_free (WsCrew *crew);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsCrew, wsi_crew_free)

/* From any thread.  `settings` becomes ws_job_settings(); free with g_free().  Errors:
 * WS_ERROR_CANCELLED when too many wait already; WS_ERROR_DATA when the picture broke what measured
 * it off, or took too long; those of loading card and calibration. */
WsOutcome *wsi_crew_measure (WsCrew *crew, const WsCrewTask *task, char **settings, GError **error);

/* After how many seconds it makes sense to try again. */
guint wsi_crew_retry_after (WsCrew *crew);

/* ---- The other side ---------------------------------------------------------------------------
 */

/* Makes what is to be measured ready; free its data with `done`. */
typedef struct
{
  gboolean (*prepare) (const WsCrewTask *task, WsJob *job, char **settings, gpointer *data,
                       GError **error);
  void (*done) (gpointer data);
} WsCrewTools;

/* Works tasks off from standard input to standard output until there are no more.  Returns the
 * exit status. */
int wsi_crew_work (const WsCrewTools *tools);

G_END_DECLS

#endif
