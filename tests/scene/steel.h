/*
 * Ground steel under lamps, for this folder only: reflection spread across the grinding marks,
 * marks that tilt the surface, heat's colours, and the picture that a camera makes of it.
 */
#ifndef SCENE_STEEL_H
#define SCENE_STEEL_H

#include "shade.h"

G_BEGIN_DECLS

typedef enum
{
  STEEL_SOFT_BOXES,
  STEEL_SIDE,
  STEEL_RING,
  STEEL_DOME,
  STEEL_N_LIGHTS
} SteelLight;

#define STEEL_MAX_LAMPS 8

typedef struct
{
  Vec3 from;    /* unit: right, up, toward the camera */
  double width; /* rad, as a Gaussian's deviation */
  double power;
} SteelLamp;

typedef struct
{
  SteelLamp lamps[STEEL_MAX_LAMPS];
  guint n_lamps;
  double ambient; /* from below */
  double sky;     /* and more from above */
  double albedo[SHADE_N_REGIONS];
  double rough[SHADE_N_REGIONS]; /* spread across the marks, rad */
  double marks;                  /* tilt of the surface by a mark, rad */
  double grain;                  /* relative light of single grains */
  Vec3 hot;                      /* place from which heat's colours spread */
  double heat;                   /* how far, mm; 0: none */
  double exposure;               /* light of the drill's brightest 5 % */
  double ground;                 /* light of the ground, part of full scale */
  double slope_x, slope_y;       /* its relative change over the picture */
  double blur_px, noise;         /* noise of full scale at full light */
  gboolean colour;
  guint64 seed;
} SteelLook;

void steel_light_init (SteelLook *look, SteelLight light, SceneRng *rng);

/* The picture, by four samples a pixel.  The caller owns the result. */
SceneImage *steel_picture (const ShadeModel *model, const ShadeCamera *camera,
                           const SteelLook *look);

G_END_DECLS

#endif
