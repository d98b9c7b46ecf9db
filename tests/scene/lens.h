/* From millimetres to pixels, for this folder only. */
#ifndef SCENE_LENS_H
#define SCENE_LENS_H

#include "scene.h"

G_BEGIN_DECLS

/* mm on the plane of the axis to px of the picture that a lens without distortion shows. */
ScenePoint lens_to_ideal (const SceneCamera *camera, ScenePoint mm);

/* What distortion makes of that. */
ScenePoint lens_distort (const SceneCamera *camera, ScenePoint ideal);

/* Where the line of sight meets the plane of the axis, mm. */
ScenePoint lens_foot (const SceneCamera *camera);

/* Height, mm, below which nothing is in the picture. */
double lens_bottom (const SceneCamera *camera);

/* Moves the outline inward by shrink_px; the mitre of a corner is moved whole. */
void lens_shrink (const SceneCamera *camera, ScenePolygon *outline);

G_END_DECLS

#endif
