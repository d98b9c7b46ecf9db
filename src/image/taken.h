/*
 * How a camera took a picture, as its file says it.
 */
#ifndef WS_IMAGE_TAKEN_H
#define WS_IMAGE_TAKEN_H

#include <whetsight/taken.h>

G_BEGIN_DECLS

/* "Source", "exposure": as notes of a PNG and in calibrations. */
const char *wsi_taken_keyword (WsTakenName name);

void wsi_taken_clear (WsTaken *taken);
WsTaken *wsi_taken_copy (const WsTaken *taken); /* NULL of NULL */
void wsi_taken_free (WsTaken *taken);

/* Whether all is there that pictures are compared by: camera, pixels and settings. */
gboolean wsi_taken_is_whole (const WsTaken *taken);

/* How `now` differs from how `kept` was taken, in words, or NULL when it doesn't; either is NULL
 * when it doesn't say, and only two of those are alike.  Cameras set numbers in steps: a hundredth
 * off is the same.  `whose` is kept: "the first", "the calibration".  Free with g_free(). */
char *wsi_taken_difference (const WsTaken *kept, const WsTaken *now, const char *whose);

/* The same as an error, WS_ERROR_DATA, with what to do. */
gboolean wsi_taken_check (const WsTaken *kept, const WsTaken *now, const char *whose,
                          GError **error);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsTaken, wsi_taken_free)

G_END_DECLS

#endif
