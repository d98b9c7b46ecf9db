/*
 * From an archived inspection to the job that measures its picture again: by what its record tells
 * of how it was measured, and by tool cards and calibrations that are there now.
 */
#ifndef WS_CLI_AGAIN_H
#define WS_CLI_AGAIN_H

#include <whetsight/archive.h>

#include "cli/again_shelf.h"

G_BEGIN_DECLS

/* A picture to be measured again, or the pictures of a series. */
typedef struct
{
  char *id, *tool, *was; /* of the inspection; its verdict, NULL without limits */
  WsJob job;             /* borrows from the shelf and from here */
  char *settings;        /* ws_job_settings() */
  char **paths, **names;
  char *measured_by, *machine;
  gboolean is_series;
  gboolean was_no_picture; /* its file was none that could be used */
  gboolean is_exact; /* but for card and program it is measured by what it was, digit by digit */
} WsAgain;

void wsi_again_free (WsAgain *again);

/* How to measure it; its pictures aren't looked at.  NULL with what lacks: WS_ERROR_NO_INPUT for a
 * card or a calibration that isn't there, WS_ERROR_USAGE for a view that this program hasn't; those
 * of wsi_task_new().  Messages name what lacks, not the inspection. */
WsAgain *wsi_again_new (WsAgainShelf *shelf, const WsInspection *inspection, GError **error);

/* FALSE with WS_ERROR_NO_INPUT where the archive hasn't its pictures, or no longer. */
gboolean wsi_again_expect_pictures (WsAgainShelf *shelf, const WsInspection *inspection,
                                    GError **error);

/* Files to measure: what lies in a store is fetched.  Undone by wsi_again_drop_pictures(). */
void wsi_again_take_pictures (WsAgain *again, WsAgainShelf *shelf, const WsInspection *inspection);

/* What was fetched needn't stay. */
void wsi_again_drop_pictures (const WsAgain *again, WsAgainShelf *shelf);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsAgain, wsi_again_free)

G_END_DECLS

#endif
