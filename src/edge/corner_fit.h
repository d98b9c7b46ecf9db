/*
 * A rounded corner between two straight edges, fitted to the light of its pixels.
 *
 * Scan lines of an outline are fitted with a straight step, which a corner isn't: within a blur or
 * two of one they are off by what the bend does.  Here the shape itself, two straight lines and the
 * arc that touches both, is blurred by the normal distribution and laid on the pixels by least
 * squares.  The light that an arc of radius r takes away is (cot(a / 2) - (pi - a) / 2) r^2 for an
 * interior angle a: proportional to the square of r, which is therefore the unknown.
 */
#ifndef WS_EDGE_CORNER_FIT_H
#define WS_EDGE_CORNER_FIT_H

#include <whetsight/image.h>
#include <whetsight/point.h>

G_BEGIN_DECLS

typedef struct
{
  WsPoint place;   /* where the two lines meet, px */
  WsPoint inward;  /* unit bisector, into the tool */
  double interior; /* angle inside the tool, rad */
  double reach;    /* px from `place`: pixels beyond tell nothing of the corner, or of others */
  double blur;     /* standard deviation of the edge spread, px */
  double u_blur;   /* its standard uncertainty, px */
  double u_line;   /* of the place of either line at the corner, across it, px */
} WsCorner;

typedef struct
{
  double radius; /* px; 0 where the square came out negative */
  double square; /* of the radius, px^2, as fitted */
  /* Standard uncertainties of the square, px^2: by the pixels' noise, the lines' places, the
   * blur. */
  double u_pixels, u_lines, u_blur;
  double per_shift; /* px^2 of the square for each px by which a wrong tone shifts edges */
  double misfit;    /* RMS of the residuals / step */
} WsCornerFit;

/* `guess`: of the radius, px.  FALSE where too little of the corner is in the picture, or no
 * rounded corner comes out. */
gboolean wsi_corner_fit (const WsImage *image, const WsCorner *corner, double guess,
                         WsCornerFit *fit);

G_END_DECLS

#endif
