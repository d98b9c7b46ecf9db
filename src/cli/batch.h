/*
 * Many pictures: folders, worker threads, progress, a summary.
 */
#ifndef WS_CLI_BATCH_H
#define WS_CLI_BATCH_H

#include "cli/job.h"

G_BEGIN_DECLS

/* Folders become the pictures in them and below, by the endings of their names, in the order of
 * their names; hidden ones and annotated pictures are left out.  NULL with WS_ERROR_NO_INPUT for a
 * folder without pictures.  Free with g_strfreev(). */
char **ws_batch_expand (char **paths, gboolean *has_folders, GError **error);

/* Measures `images`, `jobs` at once (0: as many as there are processors), and delivers in their
 * order.  With `summary`, or with more than a few pictures, ends with how many came out how, on
 * standard error.  Returns the worst status. */
int ws_batch_run (const WsJob *job, char **images, guint jobs, gboolean summary);

G_END_DECLS

#endif
