/*
 * The card of one tool as each bench has it: where they differ, all stand side by side, and nothing
 * decides between them.
 */
#ifndef WS_ARCHIVE_CARD_SIDES_H
#define WS_ARCHIVE_CARD_SIDES_H

#include <whetsight/archive.h>

G_BEGIN_DECLS

typedef struct
{
  char *bench;     /* or NULL for this archive itself, in a folder */
  char *time, *by; /* of the newest entry on the card */
  char *text;      /* the card as it is since then; NULL where the entry isn't as it was written */
  gboolean own;    /* the entry stands in the bench's own chain, not in one that took it in */
} WsCardSide;

/* Of WsCardSide, in the order of the first entries; more than one only where they differ.  Free
 * with g_ptr_array_unref(). */
GPtrArray *wsi_card_sides (WsArchive *archive, const char *tool, GError **error);

G_END_DECLS

#endif
