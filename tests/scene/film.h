/* From covered area to samples, for this folder only. */
#ifndef SCENE_FILM_H
#define SCENE_FILM_H

#include "scene.h"

G_BEGIN_DECLS

/* The part of the light that tools take away, per pixel, after lens and movement.
 * Free with g_free(). */
float *film_expose (const ScenePolygon *polygons, gsize n, const SceneCamera *camera);

/* Ground light, noise, clipping and encoding. */
SceneImage *film_develop (const float *taken, const SceneCamera *camera);

G_END_DECLS

#endif
