/*
 * A tool's label in a picture, read in a process that measures.
 */
#ifndef WS_BENCH_LABEL_SCAN_H
#define WS_BENCH_LABEL_SCAN_H

#include <glib.h>

G_BEGIN_DECLS

/* Stands in place of a view in a task that asks for it. */
#define WSI_LABEL_TASK "label"

/* The text of the first QR code in the picture file; NULL without an error when there is none.  The
 * process is ended by SIGALRM when it takes longer than a few seconds.  Errors: those of
 * wsi_image_read_confined(); WS_ERROR_NO_INPUT where libzbar isn't installed.  Free with g_free().
 */
char *wsi_label_scan (const char *path, GError **error);

G_END_DECLS

#endif
