/*
 * Tools before and after a regrind: two pictures, and what was ground off between them.
 *
 * The tool lies beside a bar that is fixed to its stop; the camera, the light and how the tool lies
 * across are others the second time.
 */
#ifndef SCENE_REGRIND_H
#define SCENE_REGRIND_H

#include "scene.h"

G_BEGIN_DECLS

typedef enum
{
  SCENE_REGRIND_DRILL,
  SCENE_REGRIND_BLADE,
  SCENE_REGRIND_SIDE, /* of a blade */
  SCENE_REGRIND_FORM,
  SCENE_REGRIND_SPOT, /* drill of 90 degrees */
  SCENE_N_REGRINDS
} SceneRegrindKind;

const char *scene_regrind_name (SceneRegrindKind kind);

typedef struct
{
  SceneImage *before, *after;
  double mm_per_px;
  double shorter;          /* of the edge, along the tool, mm */
  double shorter_at_point; /* a drill's */
  double lower;            /* from the side, over the base */
} SceneRegrind;

/* The same seed gives the same. */
void scene_regrind (SceneRegrindKind kind, guint64 seed, SceneRegrind *regrind);
void scene_regrind_clear (SceneRegrind *regrind);

G_END_DECLS

#endif
