/*
 * Periodic marks in a surface: the picture's spectrum in polar coordinates.
 *
 * By the projection-slice theorem (Bracewell, "Strip integration in radio astronomy", Australian
 * Journal of Physics 9, 1956) the spectrum along a direction is that of the picture summed across
 * it.  docs/methods/part-surface.md, (S1) to (S8).
 */
#ifndef WS_TOOL_PART_SPECTRUM_H
#define WS_TOOL_PART_SPECTRUM_H

#include "tool/part/patch.h"

G_BEGIN_DECLS

typedef struct
{
  GArray *families;  /* of WsMarkFamily, the strongest first; harmonics are left out */
  gboolean has_feed; /* marks that repeat along the lay's square: */
  WsMarkFamily feed; /* the lowest of their harmonics */
  double feed_score;
  gboolean has_lay;      /* streaks along one direction, as cutting leaves them */
  double across_lay;     /* rad, as WsMarkFamily.direction */
  double u_lay;          /* rad */
  double least_contrast; /* of marks that would have been found */
  double radius;         /* of what was looked at, px of the picture */
  WsPoint middle;        /* px */
  double texture;        /* RMS of the light about its own slow change, as a part of it */
} WsMarkSpectrum;

/* Of the picture's middle.  Clear with wsi_mark_spectrum_clear(). */
void wsi_mark_spectrum_find (const WsImage *image, WsMarkSpectrum *spectrum);
void wsi_mark_spectrum_clear (WsMarkSpectrum *spectrum);

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (WsMarkSpectrum, wsi_mark_spectrum_clear)

G_END_DECLS

#endif
