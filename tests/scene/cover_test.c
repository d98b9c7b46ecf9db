#include "scene.h"
#include "scene_test.h"

#define SIZE 24

static void
cover (const ScenePolygon *polygon, float *plane)
{
  const SceneGrid grid = { SIZE, SIZE, 0.0, { 0.0, 0.0 } };
  g_autofree double *sums = g_new0 (double, (SIZE + 1) * SIZE);
  scene_cover_add (polygon, &grid, sums);
  scene_cover_finish (&grid, sums, plane);
}

static double
total (const float *plane)
{
  double sum = 0.0;
  for (int i = 0; i < SIZE * SIZE; i++)
    sum += plane[i];
  return sum;
}

static void
a_rectangle_covers_parts_of_pixels (void **state)
{
  (void)state;
  ScenePoint corners[] = { { 3.25, 4.5 }, { 10.0, 4.5 }, { 10.0, 8.75 }, { 3.25, 8.75 } };
  const ScenePolygon rectangle = { corners, 4, 1.0 };
  float plane[SIZE * SIZE];
  cover (&rectangle, plane);
  /* Pixel (3, 4) spans 2.5 to 3.5 and 3.5 to 4.5: touched nowhere. */
  assert_near (plane[4 * SIZE + 3], 0.0, 1e-6);
  assert_near (plane[5 * SIZE + 3], 0.25, 1e-6);
  assert_near (plane[9 * SIZE + 3], 0.25 * 0.25, 1e-6);
  assert_near (plane[6 * SIZE + 7], 1.0, 1e-6);
  assert_near (plane[6 * SIZE + 10], 0.5, 1e-6);
  assert_near (total (plane), 6.75 * 4.25, 1e-4);
}

/* A slanted line through a pixel leaves a trapezium or a triangle. */
static void
a_slanted_edge_is_exact (void **state)
{
  (void)state;
  ScenePoint corners[] = { { 0.5, 2.5 }, { 12.5, 5.5 }, { 0.5, 5.5 } };
  const ScenePolygon triangle = { corners, 3, 1.0 };
  float plane[SIZE * SIZE];
  cover (&triangle, plane);
  assert_near (plane[3 * SIZE + 1], 1.0 - 0.5 * 0.25, 1e-6);
  assert_near (plane[3 * SIZE + 4], 0.5 * 0.25, 1e-6);
  assert_near (total (plane), 0.5 * 12.0 * 3.0, 1e-4);
}

static void
direction_does_not_matter (void **state)
{
  (void)state;
  ScenePoint one[] = { { 2.0, 3.0 }, { 20.0, 6.3 }, { 9.1, 19.4 } };
  ScenePoint two[] = { { 9.1, 19.4 }, { 20.0, 6.3 }, { 2.0, 3.0 } };
  const ScenePolygon a = { one, 3, 1.0 };
  const ScenePolygon b = { two, 3, 1.0 };
  float p[SIZE * SIZE], q[SIZE * SIZE];
  cover (&a, p);
  cover (&b, q);
  for (int i = 0; i < SIZE * SIZE; i++)
    assert_near (p[i], q[i], 1e-6);
}

static void
what_lies_outside_is_clipped (void **state)
{
  (void)state;
  ScenePoint corners[] = { { -50.0, -30.0 }, { 60.0, -30.0 }, { 60.0, 70.0 }, { -50.0, 70.0 } };
  const ScenePolygon all = { corners, 4, 0.5 };
  float plane[SIZE * SIZE];
  cover (&all, plane);
  for (int i = 0; i < SIZE * SIZE; i++)
    assert_near (plane[i], 0.5, 1e-6);
}

/* Area of a convex polygon cut down to a pixel (Sutherland and Hodgman 1974), as another
 * way to the same numbers. */
static guint
cut (const ScenePoint *in, guint n, double a, double b, double c, ScenePoint *out)
{
  guint m = 0;
  for (guint i = 0; i < n; i++)
  {
    const ScenePoint p = in[i], q = in[(i + 1) % n];
    const double fp = a * p.x + b * p.y + c, fq = a * q.x + b * q.y + c;
    if (fp >= 0.0)
      out[m++] = p;
    if ((fp >= 0.0) != (fq >= 0.0))
    {
      const double t = fp / (fp - fq);
      out[m].x = p.x + t * (q.x - p.x);
      out[m++].y = p.y + t * (q.y - p.y);
    }
  }
  return m;
}

static double
area_in_pixel (const ScenePoint *triangle, int i, int j)
{
  ScenePoint p[16], q[16];
  guint n = cut (triangle, 3, 1.0, 0.0, 0.5 - i, p);
  n = cut (p, n, -1.0, 0.0, i + 0.5, q);
  n = cut (q, n, 0.0, 1.0, 0.5 - j, p);
  n = cut (p, n, 0.0, -1.0, j + 0.5, q);
  double sum = 0.0;
  for (guint k = 0; k < n; k++)
    sum += q[k].x * q[(k + 1) % n].y - q[(k + 1) % n].x * q[k].y;
  return 0.5 * fabs (sum);
}

static void
agrees_with_clipping (void **state)
{
  (void)state;
  SceneRng rng;
  scene_rng_init (&rng, 7);
  for (int round = 0; round < 50; round++)
  {
    ScenePoint corners[3];
    for (int i = 0; i < 3; i++)
    {
      corners[i].x = scene_rng_uniform (&rng, -10.0, SIZE + 10.0);
      corners[i].y = scene_rng_uniform (&rng, -10.0, SIZE + 10.0);
    }
    const ScenePolygon triangle = { corners, 3, 1.0 };
    float plane[SIZE * SIZE];
    cover (&triangle, plane);
    for (int j = 0; j < SIZE; j++)
      for (int i = 0; i < SIZE; i++)
        assert_near (plane[j * SIZE + i], area_in_pixel (corners, i, j), 1e-6);
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (a_rectangle_covers_parts_of_pixels),
    cmocka_unit_test (a_slanted_edge_is_exact),
    cmocka_unit_test (direction_does_not_matter),
    cmocka_unit_test (what_lies_outside_is_clipped),
    cmocka_unit_test (agrees_with_clipping),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
