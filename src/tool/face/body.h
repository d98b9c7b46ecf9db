/*
 * What lies about a face's edge: the tool's body below it between two straight sides, and the plain
 * ground beyond.  Without them a straight edge belongs to anything.
 */
#ifndef WS_TOOL_FACE_BODY_H
#define WS_TOOL_FACE_BODY_H

#include "tool/face/face.h"

G_BEGIN_DECLS

typedef struct
{
  double depth;       /* px below the edge to which all this was looked at */
  double found[2];    /* share of each side's length in which it was found, left and right */
  double straight[2]; /* and of that, on a straight line */
  double corner[2];   /* px from the edge's ends at which the sides meet its line */
  double lean[2];     /* tangent of each side from the square of the edge, inward positive */
  double blur_px;     /* of the sides, standard deviation; NAN where they aren't found */
  double filled;      /* share of what lies between edge and sides that is tool */
  double beside;      /* area of tool beyond edge and sides, of that between them */
  gboolean sharp[2];  /* grain of the flank isn't smeared along the edge, away from it */
  double plain;       /* share of what lies before the edge that is ground */
} WsFaceBody;

/* `face` has its strip laid. */
void wsi_face_body_look (const WsFace *face, const WsSampler *sampler, const WsOptics *optics,
                         WsFaceBody *body);

/* Are edge and sides sharp?  FALSE makes the result a retake. */
gboolean wsi_face_focus_check (const WsFace *face, const WsFaceBody *body, WsResult *result);

/* Is it a tool's end?  FALSE makes the result a retake that says what it isn't. */
gboolean wsi_face_body_check (const WsFace *face, const WsFaceBody *body, WsResult *result);

G_END_DECLS

#endif
