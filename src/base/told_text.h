/*
 * Sentences that were written down in English, with what was measured in them, in the language of
 * this thread.  Records keep them as they were said, so that no record depends on who asked; the
 * catalogue has their patterns, as the code has them ("Leave lip %s as it is."), and what stood in
 * their places is found again.
 */
#ifndef WS_BASE_TOLD_TEXT_H
#define WS_BASE_TOLD_TEXT_H

#include <glib.h>

G_BEGIN_DECLS

/* Sentence by sentence; what the catalogue doesn't have stays in English.  NULL for NULL.  Free
 * with g_free(). */
char *wsi_told_text (const char *english);

G_END_DECLS

#endif
