/*
 * View `drill-end` with known truth: the solid drill's point in front light, the camera on its
 * axis.  A left-hand drill is the mirror picture of the right-hand solid.
 */
#ifndef SCENE_TIP_H
#define SCENE_TIP_H

#include "relief.h"

G_BEGIN_DECLS

typedef struct
{
  guint width, height;
  double mm_per_px;   /* on the plane of the outer corners */
  double distance_mm; /* of the camera from it; 0: parallel projection */
  ScenePoint centre;  /* px, of the axis */
  double roll_deg;
  double look_x_deg, look_y_deg; /* camera off the axis */
  SceneLamps lamps;
  double exposure, ground, blur_px, noise, marks;
  gboolean colour;
  guint64 seed;
} SceneTip;

typedef struct
{
  double chisel_edge_angle_deg; /* obtuse, between lips and the chord of the chisel's ends */
  double chisel_edge_length_mm; /* of that chord, seen along the axis */
  double web_thickness_mm;
  double margin_width_mm; /* square to the helix */
} SceneTipTruth;

/* As a shop may have them; the same seed gives the same scene. */
void scene_random_tip (guint64 seed, SceneDrill *drill, SceneTip *tip);

ShadeCamera scene_tip_camera (const Solid *solid, const SceneTip *tip, gboolean left_hand);

void scene_tip_truth (const SceneDrill *drill, SceneTipTruth *truth);

/* The caller owns the result. */
SceneImage *scene_render_tip (const SceneDrill *drill, const SceneTip *tip);

/* One line of JSON, without a newline.  Free with g_free(). */
char *scene_tip_json (const char *file, const SceneDrill *drill, const SceneTip *tip,
                      const SceneTipTruth *truth);

G_END_DECLS

#endif
