/*
 * View `drill-relief` with known truth: the solid drill in front light, the camera square to the
 * margin at one outer corner.  The corner that is seen is lip b's of the right-hand solid; a
 * left-hand drill is its mirror picture.
 */
#ifndef SCENE_RELIEF_H
#define SCENE_RELIEF_H

#include "shade.h"

G_BEGIN_DECLS

/* Under which lamps, on which ground. */
typedef enum
{
  SCENE_SOFT_BOXES,
  SCENE_SIDE,
  SCENE_RING,
  SCENE_DOME,
  SCENE_N_LAMPS
} SceneLamps;

typedef struct
{
  guint width, height;
  double mm_per_px;   /* on the plane square to the line of sight through the corner */
  double distance_mm; /* of the camera from it; 0: parallel projection */
  ScenePoint corner;  /* px */
  double roll_deg;    /* clockwise; 0: point up */
  double turn_deg;    /* drill turned about its axis from square; positive: its near side moves to
                         the right on right-hand drills */
  double tilt_deg;    /* axis out of the picture, point toward the camera */
  SceneLamps lamps;
  double exposure, ground, blur_px, noise, marks;
  double burn; /* mm from the corner; 0: none */
  gboolean colour;
  guint64 seed;
} SceneRelief;

typedef struct
{
  double lip_relief_deg; /* tangent at the corner, in the plane tangent to the periphery */
  double chord_deg;      /* over the margin */
  ScenePoint corner_px;
  ScenePoint edge_px[5]; /* on the flank's edge across the margin, from corner to step, evenly */
} SceneReliefTruth;

/* As a shop may have them; the same seed gives the same scene. */
void scene_random_relief (guint64 seed, SceneDrill *drill, SceneRelief *relief);

/* How it is looked at; `solid` is the drill's. */
ShadeCamera scene_relief_camera (const Solid *solid, const SceneRelief *relief, gboolean left_hand);

void scene_relief_truth (const SceneDrill *drill, const SceneRelief *relief,
                         SceneReliefTruth *truth);

/* The caller owns the result. */
SceneImage *scene_render_relief (const SceneDrill *drill, const SceneRelief *relief);

/* One line of JSON, without a newline.  Free with g_free(). */
char *scene_relief_json (const char *file, const SceneDrill *drill, const SceneRelief *relief,
                         const SceneReliefTruth *truth);

G_END_DECLS

#endif
