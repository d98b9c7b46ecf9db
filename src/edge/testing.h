/*
 * What tests of edge finding share: exact edges as pictures in memory, and random numbers
 * that are the same on every machine.
 */
#ifndef WS_EDGE_TESTING_H
#define WS_EDGE_TESTING_H

#include "base/testing.h"

#include <whetsight/image.h>

#include "scene/scene.h"

/* Box and Muller 1958. */
static inline double
random_normal (GRand *random)
{
  const double u = 1.0 - g_rand_double (random), v = g_rand_double (random);
  return sqrt (-2.0 * log (u)) * cos (2.0 * G_PI * v);
}

/* 16 bits of linear light, so that nothing but the edge finding is tested. */
static inline SceneCamera
plain_camera (guint width, guint height)
{
  SceneCamera camera;
  scene_camera_init (&camera);
  camera.width = width;
  camera.height = height;
  camera.bits = 16;
  camera.encoding = SCENE_LINEAR;
  return camera;
}

/* The caller owns the result. */
static inline WsImage *
take_picture (const SceneEdge *edge, const SceneCamera *camera)
{
  g_autoptr (SceneImage) scene = scene_render_edge (edge, camera);
  assert_true (scene->bits == 16 && scene->channels == 1 && scene->encoding == SCENE_LINEAR);
  WsImage *image = ws_image_new (scene->width, scene->height, NULL);
  memcpy (image->linear, scene->data, (gsize)2 * scene->width * scene->height);
  image->tone = WS_TONE_LINEAR;
  return image;
}

#endif
