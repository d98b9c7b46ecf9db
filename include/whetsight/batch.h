/*
 * Many pictures: folders, and several measured at once.
 */
#ifndef WHETSIGHT_BATCH_H
#define WHETSIGHT_BATCH_H

#include <whetsight/job.h>

G_BEGIN_DECLS

/* Folders become the pictures in them and below, by the endings of their names, in the order of
 * their names; hidden ones and annotated pictures are left out.  `paths` ends in NULL; sets
 * `has_folders` when there is one.  NULL with WS_ERROR_NO_INPUT for a folder without pictures. Free
 * with g_strfreev(). */
char **ws_batch_expand (char *const *paths, gboolean *has_folders, GError **error);

/* Called for each picture in their order, in the thread that called ws_batch_run(); `outcome` is
 * freed afterwards.  FALSE stops the batch. */
typedef gboolean (*WsBatchFunc) (guint i, WsOutcome *outcome, gpointer data);

/* Measures `images`, ending in NULL, each by the job of its place, `n_workers` at once (0: as many
 * as there are processors), and delivers what came of each.  FALSE when it was stopped: pictures
 * that were not delivered by then are dropped, those that were being measured are waited for. */
gboolean ws_batch_run_each (const WsJob *const *jobs, char *const *images, guint n_workers,
                            WsBatchFunc deliver, gpointer data);

/* The same with one job for all. */
gboolean ws_batch_run (const WsJob *job, char *const *images, guint n_workers, WsBatchFunc deliver,
                       gpointer data);

G_END_DECLS

#endif
