#include "film.h"
#include "scene_test.h"

#include <string.h>

/* A pixel's square, blurred and averaged over pixels: variance sigma^2 + 2 / 12. */
static void
blur_has_the_sigma_asked_for (void **state)
{
  (void)state;
  const double sigmas[] = { 0.6, 1.2, 3.1 };
  for (gsize k = 0; k < G_N_ELEMENTS (sigmas); k++)
  {
    SceneCamera camera;
    scene_camera_init (&camera);
    camera.width = camera.height = 61;
    camera.blur_px = sigmas[k];
    ScenePoint corners[4] = { { 29.5, 29.5 }, { 30.5, 29.5 }, { 30.5, 30.5 }, { 29.5, 30.5 } };
    const ScenePolygon dot = { corners, 4, 1.0 };
    g_autofree float *plane = film_expose (&dot, 1, &camera);
    double sum = 0.0, xx = 0.0, yy = 0.0;
    for (int j = 0; j < 61; j++)
      for (int i = 0; i < 61; i++)
      {
        const double weight = plane[j * 61 + i];
        sum += weight;
        xx += weight * (i - 30) * (i - 30);
        yy += weight * (j - 30) * (j - 30);
      }
    assert_near (sum, 1.0, 1e-5);
    assert_near (xx / sum, sigmas[k] * sigmas[k] + 1.0 / 6.0, 1e-4);
    assert_near (yy / sum, sigmas[k] * sigmas[k] + 1.0 / 6.0, 1e-4);
  }
}

/* A big polygon must look like the half-plane's closed form. */
static void
polygons_agree_with_the_closed_form (void **state)
{
  (void)state;
  SceneRng rng;
  scene_rng_init (&rng, 3);
  for (int round = 0; round < 12; round++)
  {
    SceneCamera camera;
    scene_camera_init (&camera);
    camera.width = 64;
    camera.height = 48;
    camera.blur_px = scene_rng_uniform (&rng, 0.6, 2.0);
    const SceneEdge edge = { SCENE_HALF_PLANE,
                             scene_rng_uniform (&rng, 28.0, 34.0),
                             scene_rng_uniform (&rng, 22.0, 26.0),
                             scene_rng_uniform (&rng, 0.0, 360.0),
                             0.0,
                             0.0 };
    const double c = cos (edge.angle_deg * G_PI / 180.0), s = sin (edge.angle_deg * G_PI / 180.0);
    ScenePoint corners[4] = { { edge.x - 500.0 * s, edge.y + 500.0 * c },
                              { edge.x + 500.0 * s, edge.y - 500.0 * c },
                              { edge.x + 500.0 * (s - c), edge.y - 500.0 * (c + s) },
                              { edge.x - 500.0 * (s + c), edge.y + 500.0 * (c - s) } };
    const ScenePolygon dark = { corners, 4, 1.0 };
    g_autofree float *taken = film_expose (&dark, 1, &camera);
    g_autofree double *light = scene_edge_light (&edge, 64, 48, camera.blur_px);
    /* The frame continues its last pixel, so keep away from it. */
    for (int j = 14; j < 34; j++)
      for (int i = 14; i < 50; i++)
        assert_near (1.0 - taken[j * 64 + i], light[j * 64 + i], 1e-5);
  }
}

static void
a_half_plane_is_half_dark_on_its_line (void **state)
{
  (void)state;
  for (double angle = 0.0; angle < 360.0; angle += 7.5)
  {
    const SceneEdge edge = { SCENE_HALF_PLANE, 8.0, 8.0, angle, 0.0, 0.0 };
    g_autofree double *light = scene_edge_light (&edge, 17, 17, 0.8);
    assert_near (light[8 * 17 + 8], 0.5, 1e-7);
    for (int i = 0; i < 17 * 17; i++)
      assert_near (light[i] + light[17 * 17 - 1 - i], 1.0, 1e-7);
  }
}

/* Far from its apex a wedge is two half-planes; a flat one is one everywhere. */
static void
a_wedge_is_made_of_half_planes (void **state)
{
  (void)state;
  const SceneEdge flat = { SCENE_WEDGE, 20.3, 19.6, 33.0, 180.0, 0.0 };
  const SceneEdge half = { SCENE_HALF_PLANE, 20.3, 19.6, 33.0 + 180.0, 0.0, 0.0 };
  g_autofree double *a = scene_edge_light (&flat, 40, 40, 1.0);
  g_autofree double *b = scene_edge_light (&half, 40, 40, 1.0);
  for (int i = 0; i < 1600; i++)
    assert_near (a[i], b[i], 2e-6);
}

static void
a_disc_takes_its_area_about_its_centre (void **state)
{
  (void)state;
  const SceneEdge disc = { SCENE_DISC, 30.37, 31.81, 0.0, 0.0, 17.25 };
  g_autofree double *light = scene_edge_light (&disc, 64, 64, 1.1);
  double sum = 0.0, x = 0.0, y = 0.0;
  for (int j = 0; j < 64; j++)
    for (int i = 0; i < 64; i++)
    {
      const double dark = 1.0 - light[j * 64 + i];
      sum += dark;
      x += dark * i;
      y += dark * j;
    }
  assert_near (sum, G_PI * 17.25 * 17.25, 1e-3);
  assert_near (x / sum, 30.37, 1e-5);
  assert_near (y / sum, 31.81, 1e-5);
}

static SceneImage *
flat (double light, double shot, double read, guint bits)
{
  SceneCamera camera;
  scene_camera_init (&camera);
  camera.width = 200;
  camera.height = 200;
  camera.back = light;
  camera.shot = shot;
  camera.read = read;
  camera.bits = bits;
  camera.encoding = SCENE_LINEAR;
  return scene_render_polygons (NULL, 0, &camera);
}

static void
noise_is_as_strong_as_asked (void **state)
{
  (void)state;
  g_autoptr (SceneImage) image = flat (0.36, 0.02, 0.005, 16);
  double sum = 0.0, squares = 0.0;
  for (int i = 0; i < 40000; i++)
  {
    guint16 code;
    memcpy (&code, image->data + 2 * i, 2);
    sum += code / 65535.0;
    squares += code / 65535.0 * code / 65535.0;
  }
  const double mean = sum / 40000;
  const double sigma = sqrt (squares / 40000 - mean * mean);
  assert_near (mean, 0.36, 4.0 * 0.013 / 200);
  assert_near (sigma, 0.013, 4.0 * 0.013 / sqrt (80000.0));
}

/* IEC 61966-2-1: 0.2140411 of full light is code 127.5 of 255. */
static void
codes_are_srgb (void **state)
{
  (void)state;
  const double lights[] = { 0.0, 0.2122, 0.2159, 1.0, 7.0 };
  const guint8 codes[] = { 0, 127, 128, 255, 255 };
  for (gsize i = 0; i < G_N_ELEMENTS (lights); i++)
  {
    SceneCamera camera;
    scene_camera_init (&camera);
    camera.width = camera.height = 4;
    camera.back = lights[i];
    g_autoptr (SceneImage) image = scene_render_polygons (NULL, 0, &camera);
    assert_int_equal (image->data[5], codes[i]);
  }
}

static void
a_movement_spreads_the_edge_along_it (void **state)
{
  (void)state;
  SceneCamera camera;
  scene_camera_init (&camera);
  camera.width = camera.height = 80;
  camera.blur_px = 0.7;
  camera.motion_px = 20.0;
  ScenePoint corners[4] = { { -9.0, -9.0 }, { 40.0, -9.0 }, { 40.0, 99.0 }, { -9.0, 99.0 } };
  const ScenePolygon left = { corners, 4, 1.0 };
  g_autofree float *taken = film_expose (&left, 1, &camera);
  for (int i = 33; i < 48; i++)
    assert_near (taken[40 * 80 + i], 0.5 - (i - 40) / 20.0, 0.01);
  assert_near (taken[40 * 80 + 25], 1.0, 1e-4);
  assert_near (taken[40 * 80 + 55], 0.0, 1e-4);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (blur_has_the_sigma_asked_for),
    cmocka_unit_test (polygons_agree_with_the_closed_form),
    cmocka_unit_test (a_half_plane_is_half_dark_on_its_line),
    cmocka_unit_test (a_wedge_is_made_of_half_planes),
    cmocka_unit_test (a_disc_takes_its_area_about_its_centre),
    cmocka_unit_test (noise_is_as_strong_as_asked),
    cmocka_unit_test (codes_are_srgb),
    cmocka_unit_test (a_movement_spreads_the_edge_along_it),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
