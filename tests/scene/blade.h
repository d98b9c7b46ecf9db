/*
 * Cutoff blades with known truth, as outlines in parallel projection.
 */
#ifndef SCENE_BLADE_H
#define SCENE_BLADE_H

#include "scene.h"

G_BEGIN_DECLS

/* --- From above ----------------------------------------------------------- */

/* Ahead is up at roll 0.  Each side's clearance and the rake are ground against the blade's own
 * axis, which the picture doesn't show; truth is against the sides' centreline, but for the
 * clearances, which are as ground. */
typedef struct
{
  double width;                           /* between the theoretical corners, square to the axis */
  double rake_deg;                        /* of the front, positive where the right corner leads */
  double clearance_left, clearance_right; /* degrees */
  double radius_left, radius_right;       /* of worn corners; 0: sharp */
  SceneChip chip;                         /* place: fraction of the width from the left corner */
  double rough;                           /* standard deviation of the front's waves; 0: none */
  double rough_length;                    /* of a typical wave */
  guint64 seed;                           /* of chip and waves */
} SceneBladePlan;

typedef struct
{
  double side_rake_deg;
  const char *hand; /* static */
  double side_clearance_mean_deg, side_clearance_left_deg, side_clearance_right_deg;
  double edge_width_mm, leading_corner_advance_mm;
  double corner_radius_left_mm, corner_radius_right_mm;
  double edge_straightness_mm; /* peak to valley of the waves between the corners */
  double chip_depth_mm;
} SceneBladePlanTruth;

/* A good blade, 7 degrees of side rake. */
void scene_blade_plan_init (SceneBladePlan *blade, double width);

/* In mm; its sides go `reach` back. */
ScenePolygon scene_blade_plan_outline (const SceneBladePlan *blade, double reach,
                                       SceneBladePlanTruth *truth);

SceneImage *scene_render_blade_plan (const SceneBladePlan *blade, const SceneCamera *camera,
                                     SceneBladePlanTruth *truth);

/* --- From the side --------------------------------------------------------- */

/* Front to the right and top up at roll 0, or front to the left when `mirrored`. */
typedef struct
{
  double height; /* of the tip over the base */
  double relief_deg, top_rake_deg;
  double tip_radius;    /* of a worn tip; 0: sharp */
  double hollow;        /* radius of the wheel whose rim ground the front; 0: plane */
  double primary;       /* height of a first relief at the edge, mm; 0: the front has one */
  double secondary_deg; /* the relief below it */
  gboolean mirrored;

  /* A top ground only near the edge: 0 when all of it is. */
  double ground;   /* length of the ground stretch, mm */
  double drop;     /* of the tip below the top as the blade came */
  double rise_deg; /* at which the wheel has left it */
  double rear_deg; /* by which top and base of the blade diverge toward the back */

  /* The front face seen beside the side, as side rake makes it; 0: not seen. */
  double face, face_spread_deg; /* its width at the tip, and by how much its borders diverge */
  double face_weight;           /* how dark it is: 1 as the side, 0 as the ground */
} SceneBladeSide;

typedef struct
{
  double front_relief_deg; /* right behind the edge */
  double top_rake_deg, tip_height_mm;
} SceneBladeSideTruth;

/* Without a face beside it. */
ScenePolygon scene_blade_side_outline (const SceneBladeSide *blade, double reach);

SceneImage *scene_render_blade_side (const SceneBladeSide *blade, const SceneCamera *camera,
                                     SceneBladeSideTruth *truth);

/* --- Whole scenes ----------------------------------------------------------- */

typedef enum
{
  SCENE_BLADE_GOOD,
  SCENE_BLADE_WORN,
  SCENE_BLADE_CHIP,
  SCENE_BLADE_ROUGH,
  SCENE_BLADE_RAKE,
  SCENE_BLADE_N_MODES
} SceneBladeMode;

const char *scene_blade_mode_name (SceneBladeMode mode);

/* The same seed gives the same scene. */
void scene_random_blade_plan (guint64 seed, SceneBladeMode mode, SceneBladePlan *blade,
                              SceneCamera *camera);

/* GOOD and WORN differ; the other modes are as GOOD. */
void scene_random_blade_side (guint64 seed, SceneBladeMode mode, SceneBladeSide *blade,
                              SceneCamera *camera);

/* Other looks of a blade from the side. */
typedef enum
{
  SCENE_SIDE_STEPPED, /* as in scene_random_blade_side(), with a top ground near the edge only */
  SCENE_SIDE_OPEN,    /* the same, its base outside the picture */
  SCENE_SIDE_FACE,    /* the same, lit from the front before a ground at full scale in places */
  SCENE_SIDE_PLAIN,   /* no rake ground, base outside the picture; lies about level */
  SCENE_SIDE_N_LOOKS
} SceneSideLook;

const char *scene_side_look_name (SceneSideLook look);

void scene_random_side_look (guint64 seed, SceneSideLook look, SceneBladeSide *blade,
                             SceneCamera *camera);

/* Puts the front in view, `width` (or height) filling `share` of the shorter side, and what lies
 * behind it leaving the picture. */
void scene_aim_blade (SceneCamera *camera, double width, double share);

/* One line of JSON, without a newline.  Free with g_free(). */
char *scene_blade_plan_json (const char *file, const char *mode, guint64 seed,
                             const SceneCamera *camera, const SceneBladePlanTruth *truth);
char *scene_blade_side_json (const char *file, const char *mode, guint64 seed,
                             const SceneCamera *camera, const SceneBladeSideTruth *truth);

G_END_DECLS

#endif
