/*
 * The group [part] of a tool card: what the tool works on, and what turns beside it.
 */
#ifndef WS_JUDGE_CARD_PART_H
#define WS_JUDGE_CARD_PART_H

#include <whetsight/part.h>

G_BEGIN_DECLS

void wsi_part_spec_init (WsPartSpec *part);
void wsi_part_spec_clear (WsPartSpec *part);

/* `name` of the file is for messages.  Errors: WS_ERROR_DATA, naming the key. */
gboolean wsi_part_spec_read (const char *name, GKeyFile *file, WsPartSpec *part, GError **error);

G_END_DECLS

#endif
