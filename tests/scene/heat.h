/*
 * Heat's colours, or paint, laid on a tool in a finished picture: on the tool's side of its
 * outline, as deep everywhere, round about one place of the edge.
 */
#ifndef SCENE_HEAT_H
#define SCENE_HEAT_H

#include "scene.h"

G_BEGIN_DECLS

typedef struct
{
  double depth;   /* px */
  double hottest; /* 0 to 1: from straw to grey blue at the edge; 0 for paint of `tint` */
  double tint[3]; /* what paint leaves of each channel */
  guint column;   /* the place: where that column of the picture meets the tool from above */
  double radius;  /* px from there along the edge, with soft ends */
  double tool;    /* light of the tool, 0 to 1, */
  double ground;  /* and of the ground, which is brighter */
} SceneStain;

/* Heat's film as a table of what it leaves of each channel; `t` 0 (none) to 1. */
void scene_film_tint (double t, double tint[3]);

/* `image`: three channels of 8 bits, sRGB. */
void scene_stain (SceneImage *image, const SceneStain *stain);

G_END_DECLS

#endif
