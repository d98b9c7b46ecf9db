/*
 * Form tools: any profile of lines and arcs on a bar, with known errors.
 */
#ifndef SCENE_PROFILE_H
#define SCENE_PROFILE_H

#include "scene.h"

G_BEGIN_DECLS

#define SCENE_PROFILE_MOST 40

/* From the end of the one before to `to`, mm, y up, the tool below, from left to right.  bulge:
 * tan of a quarter of the arc's angle, counter-clockwise positive; 0 for a line. */
typedef struct
{
  ScenePoint to;
  double bulge;
  double error; /* of this segment: shifted square to itself, mm, positive: too much metal */
} SceneSegment;

typedef struct
{
  ScenePoint start;
  SceneSegment segments[SCENE_PROFILE_MOST];
  guint n;
  double depth; /* of the bar below the lower end, mm; it may leave the picture */
} SceneProfile;

/* The tool's polygon, mm (across, up), with the errors. */
ScenePolygon scene_profile_outline (const SceneProfile *profile);

/* The nominal profile, without errors, as text in the form of .profile files and of DXF.  Free
 * with g_free(). */
char *scene_profile_text (const SceneProfile *profile);
char *scene_profile_dxf (const SceneProfile *profile);

/* Five lines and three arcs; the same seed gives the same.  No errors. */
void scene_profile_random (guint64 seed, SceneProfile *profile, SceneCamera *camera);

/* The form of a brass hose fitting: three barbs and a collar. */
void scene_profile_fitting (SceneProfile *profile);

/* Puts the profile in the picture's middle so that it fills `share` of its width. */
void scene_profile_aim (const SceneProfile *profile, SceneCamera *camera, double share);

/* Takes the picture.  The caller owns the result. */
SceneImage *scene_render_profile (const SceneProfile *profile, const SceneCamera *camera);

G_END_DECLS

#endif
