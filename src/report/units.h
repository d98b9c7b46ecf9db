/*
 * Sentences in the units that people read them in.
 */
#ifndef WS_REPORT_UNITS_H
#define WS_REPORT_UNITS_H

#include <whetsight/result.h>

G_BEGIN_DECLS

/* `text` with its lengths in mm told in `units`: "0.017 ± 0.014 mm" becomes "0.00067 ± 0.00055 in".
 * What stands with ± is rounded to two figures of U, other numbers get two places more than they
 * had.  Free with g_free(). */
char *wsi_units_sentence (const char *text, WsUnits units);

G_END_DECLS

#endif
