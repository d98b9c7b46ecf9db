/*
 * The picture that benchmarks measure: a drill at 12 megapixels, before light that falls off, with
 * dust.
 */
#ifndef WS_BENCHMARK_BIG_PICTURE_H
#define WS_BENCHMARK_BIG_PICTURE_H

#include "scene/scene.h"

#define BIG_WIDTH 4000
#define BIG_HEIGHT 3000

static inline gboolean
render_big_picture (const char *path, gboolean colour)
{
  SceneDrill drill;
  SceneCamera camera;
  scene_drill_init (&drill, 8.0);
  scene_camera_init (&camera);
  camera.width = BIG_WIDTH;
  camera.height = BIG_HEIGHT;
  camera.blur_px = 1.5;
  camera.shot = 0.008;
  camera.read = 0.001;
  camera.light_x = 0.1;
  camera.vignette = 0.1;
  camera.dust = 30;
  camera.roll_deg = 12.0;
  camera.colour = colour;
  scene_camera_aim (&camera, &drill, 0.4);
  g_autoptr (SceneImage) image = scene_render (&drill, &camera, NULL);
  return scene_image_save (image, path, 92);
}

#endif
