#include "image/passing.h"

#include "base/testing.h"
#include "image/repeated.h"
#include "image/spare.h"

#include <math.h>

/* More than is kept whole in any case. */
#define WIDTH 1597
#define HEIGHT 1583
#define SEED 5

typedef struct
{
  double top, rough; /* light of the first rows, and noise of all, over that of the others */
  double top_rough;  /* and of the first rows' noise */
  double mottled;    /* of the light, in squares of 50 px */
  guint every;       /* lines are repeated, one of so many; 0: none is */
  gboolean clipped, coded;
} Spec;

/* A panel that falls off, with a dark bar across it. */
static double
light_at (const Spec *spec, GRand *random, guint x, guint y)
{
  const gboolean first = y < 100;
  const double fall = 1 - 0.2 * hypot (x - 0.5 * WIDTH, y - 0.5 * HEIGHT) / WIDTH;
  const double square = (x / 50 + y / 50) % 2 == 0 ? 1 - spec->mottled : 1;
  const double panel = (first ? spec->top : 1) * fall * square;
  const double light = x > 0.4 * WIDTH && x < 0.6 * WIDTH ? 0.03 : panel;
  double noise = 0;
  for (guint i = 0; i < 4; i++)
    noise += g_rand_double (random) - 0.5;
  return light * (spec->clipped ? 1.05 : 0.7) +
         0.02 * spec->rough * (first ? spec->top_rough : 1) * noise;
}

static WsImage *
picture_of (const Spec *spec)
{
  g_autoptr (GRand) random = g_rand_new_with_seed (SEED);
  WsImage *image = ws_image_new (WIDTH, HEIGHT, NULL);
  for (guint y = 0; y < HEIGHT; y++)
    for (guint x = 0; x < WIDTH; x++)
    {
      guint16 *at = image->linear + (gsize)y * WIDTH + x;
      const double any = light_at (spec, random, x, y), light = CLAMP (any, 0, 1);
      *at = spec->coded ? (guint16)(257 * (guint)(255 * light + 0.5)) : (guint16)(65535 * light);
      if (spec->every > 0 && y > 0 && y % spec->every == 0)
        *at = at[-WIDTH];
      if (spec->every > 0 && x > 0 && x % spec->every == 0)
        *at = at[-1];
    }
  return image;
}

static WsImage *
read_sparsely (const WsImage *image, gboolean coded)
{
  WsImage *sparse = wsi_image_new_sparse (image->width, image->height, coded ? 1 : 2);
  WsPassing *passing = wsi_passing_begin (sparse->sparse);
  for (guint code = 0; code < WS_IMAGE_CODES; code++)
    sparse->light[code] = (guint16)(257 * code);
  for (guint y = 0; y < image->height; y++)
  {
    guint8 *place = wsi_sparse_place (sparse->sparse, y);
    const guint16 *row = image->linear + (gsize)y * image->width;
    for (guint x = 0; coded && x < image->width; x++)
      place[x] = (guint8)(row[x] / 257);
    if (!coded)
      memcpy (place, row, 2 * (gsize)image->width);
    wsi_sparse_take (sparse->sparse, y, sparse->light);
    wsi_passing_take (sparse->sparse, y, sparse->light);
  }
  wsi_sparse_end (sparse->sparse);
  wsi_passing_end (passing);
  return sparse;
}

static void
check_lines (const WsNoiseLines *one, const WsNoiseLines *other)
{
  for (guint t = 0; t < WSI_N_TRACES; t++)
  {
    assert_memory_equal (one->sum[t], other->sum[t], one->n * sizeof *one->sum[t]);
    assert_memory_equal (one->count[t], other->count[t], one->n * sizeof *one->count[t]);
  }
}

static void
check_sums (const WsNoiseGround *ground, const WsPassing *passing)
{
  for (guint way = 0; way < 2; way++)
  {
    const guint n = way == 0 ? HEIGHT : WIDTH;
    g_auto (WsNoiseLines) seen = { 0 };
    g_auto (WsNoiseLines) told = { 0 };
    wsi_noise_lines_init (&seen, n);
    wsi_noise_lines_init (&told, n);
    if (way == 0)
      wsi_noise_sum_rows (ground, &seen);
    else
      wsi_noise_sum_columns (ground, &seen);
    wsi_passing_sum (passing, way == 1, &told);
    check_lines (&told, &seen);
  }
}

static WsPassingLimits
check (const Spec *spec)
{
  g_autoptr (WsImage) image = picture_of (spec);
  g_autoptr (WsImage) sparse = read_sparsely (image, spec->coded);
  const WsPassing *passing = sparse->sparse->passing;
  WsNoiseGround seen = { .image = image }, told = { .image = sparse };
  const gboolean is_seen = wsi_noise_set_limits (&seen);
  const WsPassingLimits limits = wsi_passing_limits (passing, &told);
  if (limits != WS_PASSING_UNTOLD)
    assert_int_equal (limits == WS_PASSING_TOLD, is_seen);
  if (limits == WS_PASSING_TOLD)
  {
    assert_int_equal (told.bright, seen.bright);
    assert_memory_equal (told.limit, seen.limit, sizeof seen.limit);
    check_sums (&seen, passing);
  }
  return limits;
}

static void
sums_are_those_of_the_whole (void **state)
{
  (void)state;
  static const Spec specs[] = {
    { 1, 1, 1, 0, 0, FALSE, FALSE },     { 1, 1, 1, 0, 0, FALSE, TRUE },
    { 0.8, 0.3, 1, 0, 0, FALSE, TRUE },  { 1, 3, 0.9, 0, 0, FALSE, FALSE },
    { 0.9, 0.5, 1, 0, 0, FALSE, FALSE }, { 1, 1, 1, 0.05, 0, FALSE, TRUE },
    { 1, 1, 1, 0, 0, TRUE, TRUE },       { 0.9, 1, 1.2, 0.02, 0, TRUE, FALSE },
  };
  for (guint i = 0; i < G_N_ELEMENTS (specs); i++)
    assert_int_equal (check (&specs[i]), WS_PASSING_TOLD);
}

static void
first_rows_that_are_not_like_the_rest_tell_nothing (void **state)
{
  (void)state;
  static const Spec specs[] = {
    { 0.3, 1, 1, 0, 0, FALSE, FALSE },   { 0.02, 1, 1, 0, 0, FALSE, TRUE },
    { 1, 1, 4, 0, 0, FALSE, FALSE },     { 1, 3, 0.2, 0, 0, FALSE, TRUE },
    { 1, 0.5, 1, 0.5, 0, FALSE, FALSE },
  };
  for (guint i = 0; i < G_N_ELEMENTS (specs); i++)
    assert_int_equal (check (&specs[i]), WS_PASSING_UNTOLD);
}

static void
ground_without_noise_tells_nothing (void **state)
{
  (void)state;
  const Spec spec = { .top = 1, .rough = 0.01, .top_rough = 1, .coded = TRUE };
  assert_int_equal (check (&spec), WS_PASSING_UNTOLD);
}

static void
repeated_lines_are_told (void **state)
{
  (void)state;
  for (guint every = 0; every < 12; every += every < 2 ? 2 : 3)
  {
    const Spec spec = { 1, 1, 1, 0, every, FALSE, every % 2 == 0 };
    g_autoptr (WsImage) image = picture_of (&spec);
    g_autoptr (WsImage) sparse = read_sparsely (image, spec.coded);
    const WsPassing *passing = sparse->sparse->passing;
    assert_int_equal (wsi_passing_repeated (passing, TRUE) > 0, every > 0);
    assert_int_equal (wsi_passing_repeated (passing, FALSE) > 0, every > 0);
    assert_true (every == 0 || wsi_image_repeated (image) > 1);
    if (every == 0)
      assert_near (wsi_image_repeated (sparse), 1, 0);
  }
}

int
main (void)
{
  static const struct CMUnitTest tests[] = {
    cmocka_unit_test (sums_are_those_of_the_whole),
    cmocka_unit_test (first_rows_that_are_not_like_the_rest_tell_nothing),
    cmocka_unit_test (ground_without_noise_tells_nothing),
    cmocka_unit_test (repeated_lines_are_told),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
