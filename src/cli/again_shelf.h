/*
 * Cards and calibrations that pictures are measured again by.
 */
#ifndef WS_CLI_AGAIN_SHELF_H
#define WS_CLI_AGAIN_SHELF_H

#include <whetsight/archive.h>

#include "cli/task.h"

G_BEGIN_DECLS

/* Tool cards, calibrations, and what was made of them. */
typedef struct WsAgainShelf WsAgainShelf;

/* Each is a file or a folder of them, or NULL: then the archive's own newest cards count, those
 * that people changed at the bench page.  With `as_recorded` what a record doesn't tell is taken
 * for not said.  Errors: WS_ERROR_NO_INPUT; those of loading. */
WsAgainShelf *wsi_again_shelf_new (WsArchive *archive, const char *cards, const char *calibrations,
                                   GError **error);
void wsi_again_shelf_free (WsAgainShelf *shelf);

/* Borrowed. */
typedef struct
{
  const char *tool;                             /* id, or NULL for none */
  const char *calibration, *calibration_sha256; /* NULL: measured without */
  WsTaskSpec *spec;                             /* all else; card and calibration are filled in */
} WsAgainNeeds;

/* Made once for all inspections that need the same; owned by the shelf.  Errors: as of
 * wsi_again_new(). */
const WsTask *wsi_again_task (WsAgainShelf *shelf, const WsAgainNeeds *needs, GError **error);

WsArchive *wsi_again_archive (const WsAgainShelf *shelf);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsAgainShelf, wsi_again_shelf_free)

G_END_DECLS

#endif
