/*
 * What a camera sees of the solid drill: the nearest surface at each pixel, by a depth buffer over
 * fine meshes of body and flanks.  Edges are exact: a piece of surface counts where the solid's own
 * functions say that it is there.  For this folder only.
 */
#ifndef SCENE_SHADE_H
#define SCENE_SHADE_H

#include "solid.h"

G_BEGIN_DECLS

typedef enum
{
  SHADE_GROUND, /* no drill here */
  SHADE_FLANK,
  SHADE_MARGIN,
  SHADE_LAND, /* the cleared body behind the margin */
  SHADE_STEP, /* between both */
  SHADE_FLUTE,
  SHADE_N_REGIONS
} ShadeRegion;

/* The picture's directions are unit vectors of the solid's frame. */
typedef struct
{
  guint width, height;
  Vec3 origin;            /* mm, seen at `at` */
  ScenePoint at;          /* px */
  Vec3 right, up, toward; /* `toward` the camera */
  double mm_per_px;       /* on the plane through the origin square to `toward` */
  double distance;        /* mm, of the camera from that plane; 0: parallel projection */
  gboolean mirrored;      /* left-hand drills: x is turned over about `at` */
} ShadeCamera;

typedef struct
{
  float depth;  /* mm from the origin's plane, away from the camera */
  float along;  /* mm along the grinding marks */
  float across; /* and across them */
  float p[3];   /* place, mm, the solid's frame */
  float normal[3];
  guint8 region; /* ShadeRegion */
} ShadeFragment;

typedef struct ShadeModel ShadeModel;

/* Meshes from `bottom` (mm, below the point) up.  `solid` must stay.  Free with
 * shade_model_free(). */
ShadeModel *shade_model_new (const Solid *solid, double bottom);
void shade_model_free (ShadeModel *model);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (ShadeModel, shade_model_free)

const Solid *shade_solid (const ShadeModel *model);

/* Fills width x height fragments, seen `offset` px off the pixels' centres. */
void shade_cast (const ShadeModel *model, const ShadeCamera *camera, ScenePoint offset,
                 ShadeFragment *plane);

/* Where a point is seen, px. */
ScenePoint shade_project (const ShadeCamera *camera, Vec3 p);

double shade_dot (Vec3 a, Vec3 b);
Vec3 shade_cross (Vec3 a, Vec3 b);
Vec3 shade_unit (Vec3 a);

G_END_DECLS

#endif
