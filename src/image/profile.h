/*
 * Colour profiles: what a file says of its tones.
 */
#ifndef WS_IMAGE_PROFILE_H
#define WS_IMAGE_PROFILE_H

#include "image/tone.h"

G_BEGIN_DECLS

typedef enum
{
  WS_PROFILE_READ,   /* `curve` is set */
  WS_PROFILE_UNUSED, /* none that says something of these samples: the file's other word counts */
  WS_PROFILE_WRONG   /* its light doesn't rise with the code */
} WsProfileFound;

/* What is said of a file with a wrong one. */
#define WS_PROFILE_IS_WRONG "a colour profile in which light doesn't rise with the code"

/*
 * The curve of an ICC profile (ICC.1:2010) for grey, or for RGB along its grey axis: relative
 * colorimetric luminance by code.  Primaries aren't looked at.  A curve nowhere farther than half
 * an 8-bit code from sRGB's is taken for that.
 */
WsProfileFound wsi_profile_read (const void *bytes, gsize n_bytes, gboolean coloured,
                                 WsToneCurve *curve);

G_END_DECLS

#endif
