/*
 * A drill rolled about its axis in a V-block before a fixed camera: a series of silhouettes.
 *
 * The drill's own axis may be bent away from the line that it turns about.  Frame of the drill: z
 * toward the point, 0 where the nominal lip lines meet; x from the axis to lip b, y away from a
 * camera that looks at it with lip b on the right.
 */
#ifndef SCENE_ROLL_H
#define SCENE_ROLL_H

#include "scene.h"

G_BEGIN_DECLS

#define SCENE_ROLL_MOST 200

typedef struct
{
  double turn_deg; /* as SceneCamera's turn_deg; any number of turns */
  double across;   /* mm that the block lets the drill move to the right, */
  double along;    /* and toward its point */
  double wobble_deg;
  guint dust, dust_body;
} SceneRollFrame;

typedef struct
{
  SceneDrill drill;
  SceneCamera camera; /* of all frames; its tilt is that of the line it turns about */
  guint n;
  SceneRollFrame frame[SCENE_ROLL_MOST];
  ScenePoint bend;      /* mm: of the drill's axis at the corners' plane from that line */
  ScenePoint bend_tilt; /* its slope */
  double far;           /* mm below the corners: the other station */
  double pivot;         /* mm below the corners: about which the block's wobble turns it */
  double lobes;         /* mm: the block's three-lobed lift, as an out-of-round shank makes it */
} SceneRoll;

typedef struct
{
  SceneTruth point;
  double run_out_point_mm, run_out_far_mm; /* twice the distance from the line turned about */
  double bend_tilt_deg, bend_direction_deg;
  double helix_deg, lead_mm, body_clearance_mm;
  double web_mm;               /* between the lips, square to them, at 57 % of the radius */
  double margin_width_mm;      /* square to the margin */
  double lip_relief_deg[2][2]; /* of lip a, b, at the outer corner and at half the radius */
  double chisel_edge_angle_deg;
} SceneRollTruth;

/* As a shop may have it; the same seed gives the same series. */
void scene_random_roll (guint64 seed, SceneRoll *roll);

void scene_roll_truth (const SceneRoll *roll, SceneRollTruth *truth);

/* A small one of a drill of 8 mm whose point runs out by 0.24 mm, for show. */
void scene_bent_drill (SceneRoll *roll);

/* Truth as one line of JSON, without a newline.  Free with g_free(). */
char *scene_roll_json (const SceneRoll *roll, const SceneRollTruth *truth);

/* One picture.  The caller owns the result. */
SceneImage *scene_render_roll (const SceneRoll *roll, guint i);

G_END_DECLS

#endif
