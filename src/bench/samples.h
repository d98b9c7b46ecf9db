/*
 * The demo's pictures: a folder with shots.csv, which says how each was taken.
 */
#ifndef WS_BENCH_SAMPLES_H
#define WS_BENCH_SAMPLES_H

#include <glib.h>

G_BEGIN_DECLS

typedef struct
{
  char *file, *card, *view, *what;
  char *scale, *scale_u; /* mm a pixel, as they are written; "" where it isn't known */
} WsSample;

/* Of WsSample; those whose card has that id, all with NULL, none without a folder.  Free with
 * g_ptr_array_unref(). */
GPtrArray *wsi_samples_of (const char *folder, const char *tool);

G_END_DECLS

#endif
