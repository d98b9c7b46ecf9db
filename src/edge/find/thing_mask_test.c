#include "edge/find/thing_mask.h"

#include "edge/testing.h"

#define CELLS_WIDE 200
#define CELLS_HIGH 160
#define FACTOR 4
#define WIDTH (CELLS_WIDE * FACTOR)
#define HEIGHT (CELLS_HIGH * FACTOR)

typedef struct
{
  double ground, left, right; /* lightness: of the ground and of the thing's halves */
  double noise;               /* of a pixel's lightness */
} Light;

static gboolean
is_inside (guint x, guint y)
{
  return x >= 241 && x < 563 && y >= 162 && y < 479;
}

static WsImage *
picture_of (const Light *light)
{
  g_autoptr (GRand) random = g_rand_new_with_seed (7);
  WsImage *image = ws_image_new (WIDTH, HEIGHT, NULL);
  for (guint y = 0; y < HEIGHT; y++)
    for (guint x = 0; x < WIDTH; x++)
    {
      const double level =
        (is_inside (x, y) ? (x < WIDTH / 2 ? light->left : light->right) : light->ground) +
        light->noise * random_normal (random);
      image->linear[y * WIDTH + x] = (guint16)(CLAMP (level * level, 0, 1) * WS_IMAGE_FULL_SCALE);
    }
  return image;
}

static WsThings *
things_of (const WsImage *image)
{
  g_autofree float *light = g_new0 (float, CELLS_WIDE *CELLS_HIGH);
  for (guint y = 0; y < HEIGHT; y++)
    for (guint x = 0; x < WIDTH; x++)
      light[y / FACTOR * CELLS_WIDE + x / FACTOR] +=
        (float)image->linear[y * WIDTH + x] / WS_IMAGE_FULL_SCALE / (FACTOR * FACTOR);
  return wsi_things_find (light, CELLS_WIDE, CELLS_HIGH, NAN);
}

/* Pixels that the mask has wrong farther than `reach` px from the border. */
static guint
count_wrong (const Light *light, int reach)
{
  g_autoptr (WsImage) image = picture_of (light);
  g_autoptr (WsThings) things = things_of (image);
  assert_int_equal (things->things->len, 1);
  g_autofree guint8 *mask = wsi_mask_of_thing (image, things, 1, FACTOR);
  guint wrong = 0;
  for (guint y = 0; y < HEIGHT; y++)
    for (guint x = 0; x < WIDTH; x++)
    {
      if (mask[y * WIDTH + x] == is_inside (x, y))
        continue;
      const int off_x = MIN (abs ((int)x - 241), abs ((int)x - 562)),
                off_y = MIN (abs ((int)y - 162), abs ((int)y - 478));
      wrong += MIN (off_x, off_y) > reach ? 1 : 0;
    }
  return wrong;
}

/* Brighter than the ground here and darker there. */
static void
the_mask_is_the_thing_to_a_pixel (void **state)
{
  (void)state;
  const Light light = { 0.5, 0.9, 0.1, 0.002 };
  assert_int_equal (count_wrong (&light, 1), 0);
}

/* The noise of single pixels is told from the ground, all over the picture. */
static void
noise_beside_a_faint_thing_is_ground (void **state)
{
  (void)state;
  const Light light = { 0.5, 0.555, 0.555, 0.028 };
  assert_true (count_wrong (&light, 2) < 10);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (the_mask_is_the_thing_to_a_pixel),
    cmocka_unit_test (noise_beside_a_faint_thing_is_ground),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
