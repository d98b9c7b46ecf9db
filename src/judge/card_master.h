/*
 * The group [master] of a tool card.
 */
#ifndef WS_JUDGE_CARD_MASTER_H
#define WS_JUDGE_CARD_MASTER_H

#include <whetsight/master.h>

G_BEGIN_DECLS

/* Of WsMasterValue. */
GArray *wsi_card_masters_new (void);

/* NULL when there is none of that quantity. */
const WsMasterValue *wsi_card_masters_find (const GArray *masters, const char *quantity);

/* Adds what the group says; `is_master`: there is one.  `name` of the file is for messages.
 * Errors: WS_ERROR_DATA, naming the key. */
gboolean wsi_card_masters_read (const char *name, GKeyFile *file, GArray *masters,
                                gboolean *is_master, GError **error);

G_END_DECLS

#endif
