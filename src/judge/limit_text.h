/*
 * Limits as a tool card has them: "lip_height_difference_mm = -0.05 .. 0.05".
 */
#ifndef WS_JUDGE_LIMIT_TEXT_H
#define WS_JUDGE_LIMIT_TEXT_H

#include <glib.h>

G_BEGIN_DECLS

/* Has the text the form of a quantity's name?  Which ones there are depends on the views. */
gboolean wsi_limit_is_quantity_name (const char *name);

/* Reads a line, whose value is `text` or NULL; what is in inches becomes mm.  An end that is left
 * out is infinite.  `quantity` is free with g_free().  Returns NULL, or what was expected instead;
 * static. */
const char *wsi_limit_parse (const char *key, const char *text, char **quantity, double *lower,
                             double *upper);

G_END_DECLS

#endif
