/*
 * The solid drill, for this folder only.
 *
 * Frame: z toward the point, z = 0 where the nominal lip lines meet the axis; the lips lie
 * across x, lip b at x > 0; the camera looks along y.
 */
#ifndef SCENE_SOLID_H
#define SCENE_SOLID_H

#include "scene.h"

G_BEGIN_DECLS

#define SCENE_DEG (G_PI / 180.0)

typedef struct
{
  double x, y, z;
} Vec3;

enum
{
  LIP_A,
  LIP_B,
  N_LIPS
};

/* One ground flank in the frame of lip b; lip a's is turned half a turn about the axis. */
typedef struct
{
  double half_angle; /* radians, of the generator that makes the lip */
  double corner_z;   /* height over (radius, half web) */
  Vec3 apex;         /* cone only */
  double axis_x, axis_z;
  double cos2; /* cone: squared cosine of its own half angle */
} Flank;

typedef struct
{
  double radius;
  double half_web;
  double twist; /* radians of turn per mm of z */
  double phase; /* turn of the section at z = 0 that puts the lips across x */
  double design_cot;
  double relief;        /* tangent */
  double cone_distance; /* mm; 0: plane flanks */
  double cone_share;
  ScenePoint *section; /* at z = 0, closed, each half the other turned half a turn */
  gsize n_section;
  Flank flank[N_LIPS];
} Solid;

/* How the solid is looked at. */
typedef struct
{
  double turn, tilt; /* radians */
  double distance;   /* of the camera from the axis' plane; 0: parallel projection */
  ScenePoint foot;   /* where the camera looks square at that plane */
} SolidView;

/* The plane of all points seen at one height v: z c + depth s = v, depth away from the camera. */
typedef struct
{
  double c, s;
} SolidLean;

/* A lip line in the picture plane, both lips as if on lip b's side. */
typedef struct
{
  double half_angle;   /* radians */
  double corner_z;     /* at the envelope radius */
  double straightness; /* peak to valley */
  double bow;          /* greatest departure */
} LipLine;

/* Builds the drill with right-hand flutes; a left-hand one is its mirror picture, so
 * there lip a of the picture is LIP_B here. */
void solid_init (Solid *solid, const SceneDrill *drill);
void solid_clear (Solid *solid);

/* Height of one lip's flank over (x, y), also where the other one lies below. */
double solid_flank_height (const Solid *solid, int lip, double x, double y);

/* Height of the lower of both flanks over (x, y). */
double solid_top (const Solid *solid, double x, double y);

gboolean solid_contains (const Solid *solid, Vec3 p);

/* Where a point of the section at z = 0 is at height z. */
ScenePoint solid_turn (const Solid *solid, ScenePoint p, double z);

/* How far the section, turned by an angle of cosine c and sine s, reaches to the left and right. */
void solid_reach (const Solid *solid, double c, double s, double *left, double *right);

/* Point of a lip; s = sqrt (r^2 - w^2), w half the web. */
Vec3 solid_lip_point (const Solid *solid, int lip, double s);

/* The value of s at which the lip meets the other flank. */
double solid_lip_start (const Solid *solid, int lip);

/* The edge where both flanks meet, between the lips' inner ends. */
Vec3 solid_chisel_point (const Solid *solid, double y);

/* Where a point is seen; for a near camera, projected onto the plane of the axis. */
ScenePoint solid_view (const SolidView *view, Vec3 p);

/* How much greater a near camera sees things at p than on the plane of the axis. */
double solid_growth (const SolidView *view, Vec3 p);

SolidLean solid_lean (const SolidView *view, double v);

/* The near camera's place. */
Vec3 solid_eye (const SolidView *view);

/* Total least squares through the lip as seen, from 24 % to 90 % of the radius. */
LipLine solid_lip_line (const Solid *solid, int lip, const SolidView *view);

G_END_DECLS

#endif
