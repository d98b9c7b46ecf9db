/*
 * The strip of flank along a cutting edge, laid out straight: s runs along the edge, d from the
 * edge into the flank, a cell a px.  Made by views; light is linear.
 */
#ifndef WS_COLOUR_BAND_H
#define WS_COLOUR_BAND_H

#include "colour/colour.h"

G_BEGIN_DECLS

/* A channel this bright may have been cut off, 0 .. 1 in linear light. */
#define WS_BAND_CLIPPED 0.97

typedef struct
{
  guint length, depth; /* cells along and across, each 1 .. 32767 */
  float *rgb;          /* 3 a cell, cell (s, d) at d * length + s; r is NAN off the tool */
} WsBand;

/* All cells off the tool.  Free with wsi_band_free(). */
WsBand *wsi_band_new (guint length, guint depth);
void wsi_band_free (WsBand *band);

static inline float *
wsi_band_cell (const WsBand *band, guint s, guint d)
{
  return band->rgb + 3 * ((gsize)d * band->length + s);
}

static inline gboolean
wsi_band_is_tool (const float *cell)
{
  return cell[0] >= 0; /* NAN is not */
}

static inline gboolean
wsi_band_is_clipped (const float *cell)
{
  return cell[0] > WS_BAND_CLIPPED || cell[1] > WS_BAND_CLIPPED || cell[2] > WS_BAND_CLIPPED;
}

static inline double
wsi_band_luminance (const float *cell)
{
  return wsi_colour_xyz ((WsLight){ cell[0], cell[1], cell[2] }).y;
}

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsBand, wsi_band_free)

G_END_DECLS

#endif
