/*
 * Pictures of machined surfaces: feed marks, chatter, the streaks of a cutting edge, shade.  A
 * field of slopes under one lamp; sizes in mm, angles in degrees.
 */
#ifndef SCENE_SURFACE_H
#define SCENE_SURFACE_H

#include "scene.h"

G_BEGIN_DECLS

typedef struct
{
  guint width, height; /* px */
  double mm_per_px;
  double axis_deg;      /* direction of the part's axis in the picture, from x toward y */
  double feed;          /* mm a turn: scallops that far apart along the axis; 0: none */
  double feed_contrast; /* of their light */
  double helix_deg;     /* by which they lean from square to the axis */
  double chatter;       /* mm from mark to mark along the cut; 0: none */
  double chatter_deg;   /* by which their lines lean from the axis */
  double chatter_contrast;
  double ripple;  /* by which the chatter's pitch wanders along the axis: phase noise, rad a mm */
  double streaks; /* RMS of the streaks that nicks in the edge leave */
  double streak;  /* mm, their width */
  double grain;   /* RMS of spots of about two px */
  double shade;   /* part by which the light falls off to one side */
  double round;   /* mm, the part's diameter, whose light falls off across the axis; 0: flat */
  double blur_px, noise;
  guint64 seed;
} SceneSurface;

/* Random ones as shops have them, `with_chatter` or none. */
void scene_random_surface (guint64 seed, gboolean with_chatter, SceneSurface *surface);

SceneImage *scene_render_surface (const SceneSurface *surface);

G_END_DECLS

#endif
