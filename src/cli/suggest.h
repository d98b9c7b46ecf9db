#ifndef WS_CLI_SUGGEST_H
#define WS_CLI_SUGGEST_H

#include <glib.h>

G_BEGIN_DECLS

/* The candidate that `word` is most likely a slip of, or NULL when none comes near;
 * owned by `candidates`, which ends in NULL. */
const char *wsi_suggest (const char *word, const char *const *candidates);

/* "did you mean drill-side?", or `otherwise` when no candidate comes near.  Free with g_free(). */
char *wsi_suggest_or (const char *word, const char *const *candidates, const char *otherwise);

G_END_DECLS

#endif
