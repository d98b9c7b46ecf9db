/*
 * Shaded pictures in front light: the flank under a blade's edge, and a drill's point from the
 * end.  Plain shading of plane regions, ground streaks, a wear land, heat's colours by a table of
 * its own, blur and noise.
 */
#ifndef SCENE_FLANK_H
#define SCENE_FLANK_H

#include "scene.h"

G_BEGIN_DECLS

typedef struct
{
  guint width, height;
  double mm_per_px;
  double roll_deg; /* clockwise; 0: the blade's edge is at the top */
  double blur_px;
  double noise;   /* of full scale, linear */
  double ground;  /* light of the ground, 0 to 1 */
  double steel;   /* and of the flank */
  double streaks; /* relative deviation of the flank's light from streak to streak */
  double lamp[3]; /* colour of the light */
  guint64 seed;
} SceneLamp;

/* Heat's colours from the edge, gone at `depth`, more or less. */
typedef struct
{
  double depth;    /* mm; 0: none */
  double hottest;  /* 0 to 1: from straw to grey blue at the edge */
  double from, to; /* stretch of the edge, as parts of it */
  double uneven;   /* the border wanders by this part of the depth */
  double bend;     /* how colour grows from the border, a power; 1: in proportion */
} SceneHeat;

typedef enum
{
  SCENE_BARE,
  SCENE_BLUE_COATING, /* all of the tool */
  SCENE_BLUE_PAINT,   /* a patch at the edge */
  SCENE_GOLD_COATING,
  SCENE_COOLANT, /* a pale drop with a soft border at the edge */
  SCENE_WOOD,    /* a brown ground, mirrored in the flank near the edge */
  SCENE_N_COVERS
} SceneCover;

typedef struct
{
  double width;      /* mm, of the blade */
  double taper_deg;  /* of each side */
  double land;       /* mean width of the wear land, mm; 0: none */
  double land_wave;  /* its amplitude, mm */
  double land_light; /* times the flank's */
  SceneHeat heat;
  SceneCover cover;
  gboolean card; /* a card of six greys and six colours lies at the left; lamp.roll_deg small */
  SceneLamp lamp;
} SceneFace;

typedef struct
{
  double diameter, web;
  double chisel_deg; /* obtuse, to the lips */
  gboolean left_hand;
  double margin_deg; /* arc of each margin */
  double land;       /* on both lips, mm */
  double land_light;
  double flank_a, flank_b; /* light of either flank */
  SceneHeat heat;          /* on both lips */
  SceneLamp lamp;
} SceneEnd;

/* As a shop may have them; the same seed gives the same scene.  Burn on every other seed and a land
 * on every third. */
void scene_random_face (guint64 seed, SceneFace *face);
void scene_random_end (guint64 seed, SceneEnd *end);

/* With its wave, mm. */
double scene_face_land_mean (const SceneFace *face);

/* Of the border at its deepest, mm; `seed` is the lamp's. */
double scene_heat_greatest (const SceneHeat *heat, guint64 seed);

/* The caller owns the result. */
SceneImage *scene_render_face (const SceneFace *face);
SceneImage *scene_render_end (const SceneEnd *end);

/* One line of JSON, without a newline.  Free with g_free(). */
char *scene_face_json (const char *file, const SceneFace *face);
char *scene_end_json (const char *file, const SceneEnd *end);

G_END_DECLS

#endif
