/* Light on front-lit tools, their ground, and what lies beside them; for this folder only. */
#ifndef SCENE_SHEEN_H
#define SCENE_SHEEN_H

#include "scene.h"

G_BEGIN_DECLS

/* Whether neither factor is ever other than 1. */
gboolean sheen_is_plain (const SceneCamera *camera);

/* Factors of the tool's and the ground's light at a pixel; 1 when lit from behind. */
double sheen_on_tool (const SceneCamera *camera, guint i, guint j);
double sheen_on_ground (const SceneCamera *camera, guint i, guint j);

/* Where `beside` lies: a corner of the picture that `taken` leaves free. */
typedef struct
{
  gboolean is_there;
  double x, y, width, height; /* px; the middle, and the sides */
} SheenBeside;

SheenBeside sheen_place (const SceneCamera *camera, const float *taken);

/* Light of card or pin at a pixel; NAN beside it. */
double sheen_beside (const SceneCamera *camera, const SheenBeside *place, guint i, guint j);

G_END_DECLS

#endif
