#include "edge/profile.h"

#include "edge/testing.h"

#define N 19

static double
normal_cdf (double z)
{
  return 0.5 * erfc (-z / G_SQRT2);
}

static void
make_step (double place, double blur, double low, double step, float *samples)
{
  for (guint i = 0; i < N; i++)
    samples[i] = (float)(low + step * normal_cdf ((i - place) / blur));
}

static gboolean
fit (const float *samples, guint n, gboolean fit_blur, WsProfile *profile)
{
  WsStepTable table;
  wsi_step_table_fill (&table);
  return wsi_profile_fit (&table, samples, n, fit_blur, profile);
}

static void
place_and_blur_are_recovered (void **state)
{
  (void)state;
  float samples[N];
  for (double place = 7.0; place < 11.0; place += 0.13)
    for (double blur = 0.5; blur < 2.6; blur += 0.35)
      for (int sign = -1; sign <= 1; sign += 2)
      {
        make_step (place, blur, 0.4, 0.35 * sign, samples);
        WsProfile p = { .place = 9.0, .blur = 1.4, .low = 0.5, .step = 0.2 * sign };
        assert_true (fit (samples, N, TRUE, &p));
        assert_near (p.place, place, 1e-3);
        assert_near (p.blur, blur, 5e-3 * blur);
        assert_near (p.step, 0.35 * sign, 1e-3);
        assert_near (p.low, 0.4, 1e-3);
        assert_true (p.rms < 1e-3);
      }
}

/* A pixel holds the mean of the light that falls on it: in effect a little more blur,
 * s^2 + 1/12, which moves nothing. */
static void
pixels_that_average_move_nothing (void **state)
{
  (void)state;
  const guint parts = 64;
  const double blur = 0.6;
  for (double place = 8.0; place < 10.0; place += 0.11)
  {
    float samples[N];
    for (guint i = 0; i < N; i++)
    {
      double sum = 0.0;
      for (guint k = 0; k < parts; k++)
        sum += normal_cdf ((i - 0.5 + (k + 0.5) / parts - place) / blur);
      samples[i] = (float)(sum / parts);
    }
    WsProfile p = { .place = 9.0, .blur = 1.0, .low = 0.0, .step = 1.0 };
    assert_true (fit (samples, N, TRUE, &p));
    assert_near (p.place, place, 1e-3);
    assert_near (p.blur, sqrt (blur * blur + 1.0 / 12.0), 0.01);
  }
}

/*
 * The bound for one scan line with known levels: the information about the place is the sum of
 * (step phi ((i - d) / s) / s)^2 / noise^2, about step^2 / (2 sqrt(pi) s noise^2), hence
 * (noise / step) sqrt (2 sqrt(pi) s).  Levels that have to be found from the same n samples
 * take the part 2 sqrt(pi) s / n of the information: the mean of the derivative looks like a
 * change of level.
 */
static void
scatter_is_near_the_bound (void **state)
{
  (void)state;
  const guint rounds = 4000;
  const double noise = 0.01, step = 0.5;
  for (double blur = 0.7; blur < 2.0; blur += 0.6)
  {
    g_autoptr (GRand) random = g_rand_new_with_seed (42);
    double squares = 0.0, sum = 0.0;
    for (guint round = 0; round < rounds; round++)
    {
      float samples[N];
      const double place = g_rand_double_range (random, 8.5, 9.5);
      make_step (place, blur, 0.1, step, samples);
      for (guint i = 0; i < N; i++)
        samples[i] += (float)(noise * random_normal (random));
      WsProfile p = { .place = 9.0, .blur = blur, .low = 0.1, .step = step };
      assert_true (fit (samples, N, FALSE, &p));
      squares += (p.place - place) * (p.place - place) / rounds;
      sum += (p.place - place) / rounds;
    }
    const double samples_to_tell = 2.0 * sqrt (G_PI) * blur;
    const double known_levels = noise / step * sqrt (samples_to_tell);
    const double bound = known_levels / sqrt (1.0 - samples_to_tell / N);
    print_message ("blur %.1f: %.3f of the bound\n", blur, sqrt (squares) / bound);
    assert_true (sqrt (squares) < 1.3 * known_levels);
    assert_near (sqrt (squares), bound, 0.05 * bound);
    assert_near (sum, 0.0, 4.0 * bound / sqrt (rounds));
  }
}

static void
what_is_no_step_is_refused (void **state)
{
  (void)state;
  float samples[N];
  make_step (40.0, 1.0, 0.4, 0.3, samples);
  WsProfile flat = { .place = 9.0, .blur = 1.0, .low = 0.4, .step = 0.0 };
  assert_false (fit (samples, N, TRUE, &flat));
}

/* A step in noise whose variance after it is nine times that before: by weights its place scatters
 * less, and without noise nothing moves. */
static void
samples_count_by_their_noise (void **state)
{
  (void)state;
  WsStepTable table;
  SceneRng rng;
  float samples[N];
  double plain = 0, weighed = 0;
  wsi_step_table_fill (&table);
  scene_rng_init (&rng, 11);
  for (guint trial = 0; trial < 600; trial++)
  {
    make_step (9.1, 1.2, 0.1, 0.5, samples);
    WsProfile p = { .place = 9.0, .blur = 1.2, .low = 0.1, .step = 0.5 };
    assert_true (fit (samples, N, FALSE, &p));
    assert_true (wsi_profile_weigh (&table, samples, N, 1.0 / 9, &p));
    assert_near (p.place, 9.1, 1e-4);
    for (guint i = 0; i < N; i++)
    {
      const double variance = 1 + 8 * normal_cdf ((i - 9.1) / 1.2);
      samples[i] += (float)(0.005 * sqrt (variance) * scene_rng_normal (&rng));
    }
    assert_true (fit (samples, N, FALSE, &p));
    plain += pow (p.place - 9.1, 2);
    assert_true (wsi_profile_weigh (&table, samples, N, 1.0 / 9, &p));
    weighed += pow (p.place - 9.1, 2);
  }
  assert_true (sqrt (weighed / plain) < 0.9);
}

/* Weights that lead far off change nothing. */
static void
a_place_led_astray_stays (void **state)
{
  (void)state;
  WsStepTable table;
  float samples[N];
  wsi_step_table_fill (&table);
  make_step (9.1, 1.2, 0.1, 0.5, samples);
  WsProfile p = { .place = 3.0, .blur = 1.2, .low = 0.1, .step = 0.01 };
  assert_false (wsi_profile_weigh (&table, samples, N, 0.25, &p));
  assert_near (p.place, 3.0, 0);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (place_and_blur_are_recovered),
    cmocka_unit_test (pixels_that_average_move_nothing),
    cmocka_unit_test (scatter_is_near_the_bound),
    cmocka_unit_test (what_is_no_step_is_refused),
    cmocka_unit_test (samples_count_by_their_noise),
    cmocka_unit_test (a_place_led_astray_stays),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
