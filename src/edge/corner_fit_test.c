#include "edge/corner_fit.h"

#include "base/testing.h"
#include "maths/stats.h"

#include <math.h>

#define SIZE 41
#define FINE 8 /* samples a pixel, each way */
#define SAMPLES (SIZE * FINE)

#define TOOL 0.05
#define GROUND_LIGHT 0.75

typedef struct
{
  double interior_deg, radius, blur, noise;
  double turn; /* of the bisector, rad */
  double gamma;
} Scene;

/* Is a place, along the bisector and across it, inside the tool?  By the arc's centre. */
static gboolean
inside (const Scene *scene, double x, double y)
{
  const double half = 0.5 * scene->interior_deg * G_PI / 180, r = scene->radius;
  if (x * sin (half) < fabs (y) * cos (half))
    return FALSE;
  const double centre = r / sin (half);
  const gboolean before_arc = x * cos (half) + fabs (y) * sin (half) < r / tan (half);
  return !before_arc || hypot (x - centre, y) <= r;
}

/* One pass of a normal distribution over rows, transposed. */
static void
blur_rows (const double *from, double *to, double sigma)
{
  const int reach = (int)ceil (5 * sigma);
  g_autofree double *weights = g_new (double, (gsize)reach + 1);
  double sum = 0;
  for (int k = 0; k <= reach; k++)
    sum += (k == 0 ? 1 : 2) * (weights[k] = exp (-0.5 * (k / sigma) * (k / sigma)));
  for (int y = 0; y < SAMPLES; y++)
    for (int x = 0; x < SAMPLES; x++)
    {
      double value = 0;
      for (int k = -reach; k <= reach; k++)
        value += weights[ABS (k)] * from[y * SAMPLES + CLAMP (x + k, 0, SAMPLES - 1)];
      to[x * SAMPLES + y] = value / sum;
    }
}

/* Shares no formula with the fit: sampled, blurred and averaged. */
static WsImage *
draw (const Scene *scene, WsCorner *corner, GRand *random)
{
  g_autofree double *fine = g_new (double, SAMPLES *SAMPLES);
  g_autofree double *other = g_new (double, SAMPLES *SAMPLES);
  const WsPoint place = { 20 + g_rand_double_range (random, -0.5, 0.5),
                          20 + g_rand_double_range (random, -0.5, 0.5) };
  const WsPoint inward = { cos (scene->turn), sin (scene->turn) };
  for (int i = 0; i < SAMPLES * SAMPLES; i++)
  {
    const double x = (i % SAMPLES + 0.5) / FINE - 0.5 - place.x;
    const double y = (i / SAMPLES + 0.5) / FINE - 0.5 - place.y;
    fine[i] = inside (scene, x * inward.x + y * inward.y, y * inward.x - x * inward.y) ? 1 : 0;
  }
  blur_rows (fine, other, scene->blur * FINE);
  blur_rows (other, fine, scene->blur * FINE);
  WsImage *image = ws_image_new (SIZE, SIZE, NULL);
  for (int i = 0; i < SIZE * SIZE; i++)
  {
    double part = 0;
    for (int k = 0; k < FINE * FINE; k++)
      part += fine[(i / SIZE * FINE + k / FINE) * SAMPLES + i % SIZE * FINE + k % FINE];
    double light = GROUND_LIGHT + (TOOL - GROUND_LIGHT) * part / (FINE * FINE);
    light = pow (light, scene->gamma);
    for (int k = 0; k < 12; k++)
      light += scene->noise * g_rand_double_range (random, -0.5, 0.5);
    image->linear[i] = (guint16)CLAMP (lround (light * 65535), 0, 65535);
  }
  *corner = (WsCorner){ .place = place,
                        .inward = inward,
                        .interior = scene->interior_deg * G_PI / 180,
                        .reach = 15,
                        .blur = hypot (scene->blur, sqrt (1 / 12.0)),
                        .u_blur = 0.03 * scene->blur,
                        .u_line = 0.01 };
  return image;
}

static double
u_of (const WsCornerFit *fit)
{
  return hypot (fit->u_pixels, hypot (fit->u_lines, fit->u_blur));
}

/* In deviations of the square of the radius. */
static double
off (const Scene *scene, GRand *random)
{
  WsCorner corner;
  WsCornerFit fit;
  g_autoptr (WsImage) image = draw (scene, &corner, random);
  const double guess = g_rand_double_range (random, 0, 2 * scene->radius + 1);
  assert_true (wsi_corner_fit (image, &corner, guess, &fit));
  return (fit.square - scene->radius * scene->radius) / u_of (&fit);
}

/* Corners from acute to obtuse, sharp ones too, whichever way they look. */
static void
radii_lie_inside_their_uncertainty (void **state)
{
  (void)state;
  g_autoptr (GRand) random = g_rand_new_with_seed (1);
  double squares = 0;
  guint n = 0, outside = 0;
  for (int angle = 60; angle <= 120; angle += 15)
    for (double radius = 0; radius < 6; radius += radius < 2 ? 0.5 : 1)
    {
      const Scene scene = { angle,
                            radius,
                            g_rand_double_range (random, 0.5, 1.5),
                            0.01,
                            g_rand_double_range (random, -3, 3),
                            1 };
      const double z = off (&scene, random);
      squares += z * z;
      outside += fabs (z) > 2 ? 1 : 0;
      n++;
    }
  print_message ("%u corners, %.2f deviations RMS, %u outside two\n", n, sqrt (squares / n),
                 outside);
  assert_true (outside <= n / 20);
  assert_true (squares / n > 0.25 && squares / n < 1.5);
}

/* What the model leaves out: a pixel's square. */
static void
without_noise_little_is_left (void **state)
{
  (void)state;
  g_autoptr (GRand) random = g_rand_new_with_seed (2);
  for (double radius = 1; radius < 6; radius++)
  {
    const Scene scene = { 85, radius, 0.8, 0, g_rand_double_range (random, -3, 3), 1 };
    WsCorner corner;
    WsCornerFit fit;
    g_autoptr (WsImage) image = draw (&scene, &corner, random);
    assert_true (wsi_corner_fit (image, &corner, 2, &fit));
    assert_near (fit.radius, radius, 0.06);
    assert_true (fit.misfit < 0.004);
  }
}

/* Light by another curve than was said shifts the edges, which is known, and rounds the corner. */
static void
a_wrong_tone_is_told_beforehand (void **state)
{
  (void)state;
  static const double gammas[] = { 0.9, 1.1 };
  g_autoptr (GRand) random = g_rand_new_with_seed (3);
  for (gsize i = 0; i < G_N_ELEMENTS (gammas); i++)
  {
    const Scene right = { 80, 3, 1, 0, 0.4, 1 };
    Scene wrong = right;
    wrong.gamma = gammas[i];
    WsCorner corner;
    WsCornerFit before, after;
    g_autoptr (WsImage) image = draw (&right, &corner, random);
    assert_true (wsi_corner_fit (image, &corner, 2, &before));
    g_autoptr (WsImage) other = draw (&wrong, &corner, random);
    /* Straight edges lie where half of the light is: by so much toward the tool. */
    const double low = pow (TOOL, wrong.gamma), high = pow (GROUND_LIGHT, wrong.gamma);
    const double half = pow (0.5 * (low + high), 1 / wrong.gamma);
    const double share = (half - TOOL) / (GROUND_LIGHT - TOOL);
    const double outward = -wsi_normal_quantile (share) * corner.blur;
    corner.place.x -= outward / sin (0.5 * corner.interior) * corner.inward.x;
    corner.place.y -= outward / sin (0.5 * corner.interior) * corner.inward.y;
    assert_true (wsi_corner_fit (other, &corner, 2, &after));
    print_message ("tone %.1f: edges outward by %.3f px, square by %.3f, told %.3f\n", wrong.gamma,
                   outward, after.square - before.square, outward * after.per_shift);
    assert_true (fabs (after.square - before.square) < 1.5 * fabs (outward * after.per_shift));
  }
}

static void
nothing_comes_of_no_corner (void **state)
{
  (void)state;
  WsCornerFit fit;
  g_autoptr (WsImage) even = ws_image_new (SIZE, SIZE, NULL);
  const WsCorner corner = { .place = { 20, 20 },
                            .inward = { 1, 0 },
                            .interior = 0.5 * G_PI,
                            .reach = 12,
                            .blur = 1,
                            .u_blur = 0.03,
                            .u_line = 0.01 };
  assert_false (wsi_corner_fit (even, &corner, 1, &fit));
  WsCorner outside = corner;
  outside.place.x = -40;
  assert_false (wsi_corner_fit (even, &outside, 1, &fit));
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (radii_lie_inside_their_uncertainty),
    cmocka_unit_test (without_noise_little_is_left),
    cmocka_unit_test (a_wrong_tone_is_told_beforehand),
    cmocka_unit_test (nothing_comes_of_no_corner),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
