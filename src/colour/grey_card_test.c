#include "colour/grey_card.h"

#include "base/testing.h"

#include <math.h>

#define WIDTH 800
#define HEIGHT 600

/* A picture in colour of one light. */
static WsImage *
ground (double r, double g, double b)
{
  WsImage *image = ws_image_new (WIDTH, HEIGHT, NULL);
  image->rgb = g_malloc (3 * WIDTH * HEIGHT);
  image->has_colour = TRUE;
  const double light[3] = { r, g, b };
  for (gsize i = 0; i < 3 * WIDTH * HEIGHT; i++)
    image->rgb[i] = (guint8)lrint (255 * wsi_colour_to_code (light[i % 3]));
  return image;
}

/* Turned by `turn` rad about the card's first corner. */
static void
patch (WsImage *image, double turn, guint column, guint row, WsLight light)
{
  const double size = 50, step = 58, left = column * step, top = row * step;
  const guint8 code[3] = { (guint8)lrint (255 * wsi_colour_to_code (light.r)),
                           (guint8)lrint (255 * wsi_colour_to_code (light.g)),
                           (guint8)lrint (255 * wsi_colour_to_code (light.b)) };
  for (guint y = 0; y < HEIGHT; y++)
    for (guint x = 0; x < WIDTH; x++)
    {
      const double dx = x - 400.0, dy = y - 100.0;
      const double u = cos (turn) * dx + sin (turn) * dy, v = cos (turn) * dy - sin (turn) * dx;
      if (u >= left && u < left + size && v >= top && v < top + size)
        memcpy (image->rgb + 3 * (y * WIDTH + x), code, 3);
    }
}

static gboolean
found (const WsImage *image, WsGreyCard *card)
{
  WsSampler sampler;
  wsi_sampler_init (&sampler, image);
  return wsi_grey_card_find (&sampler, card);
}

static void
greys (WsImage *image, double turn, WsLight lamp)
{
  static const double levels[6] = { 0.9, 0.59, 0.36, 0.18, 0.09, 0.03 };
  for (guint i = 0; i < 6; i++)
    patch (image, turn, 0, i,
           (WsLight){ lamp.r * levels[i], lamp.g * levels[i], lamp.b * levels[i] });
}

static void
a_card_is_found_and_tells_the_lamp (void **state)
{
  (void)state;
  static const double turns[] = { 0, 0.15, 0.7 };
  const WsLight lamp = { 1.0, 0.8, 0.5 };
  for (guint i = 0; i < G_N_ELEMENTS (turns); i++)
  {
    g_autoptr (WsImage) image = ground (0.3, 0.24, 0.15);
    WsGreyCard card;
    greys (image, turns[i], lamp);
    patch (image, turns[i], 1, 0, (WsLight){ 0.42, 0.04, 0.03 });
    patch (image, turns[i], 1, 1, (WsLight){ 0.07, 0.24, 0.04 });
    assert_true (found (image, &card));
    assert_true (card.n_neutral >= 4);
    assert_near (card.light.r, 1.25, 0.03);
    assert_near (card.light.g, 1, 0);
    assert_near (card.light.b, 0.625, 0.03);
    assert_near (card.where_px.x, 400 + cos (turns[i]) * 25 - sin (turns[i]) * 130, 40);
  }
}

static void
other_things_are_no_card (void **state)
{
  (void)state;
  WsGreyCard card;
  g_autoptr (WsImage) bare = ground (0.4, 0.4, 0.4);
  assert_false (found (bare, &card));

  /* Patches of several colours, two of them grey. */
  static const WsLight colours[6] = { { 0.4, 0.05, 0.05 }, { 0.05, 0.3, 0.05 }, { 0.05, 0.1, 0.4 },
                                      { 0.7, 0.5, 0.05 },  { 0.2, 0.2, 0.2 },   { 0.6, 0.6, 0.6 } };
  g_autoptr (WsImage) coloured = ground (0.4, 0.4, 0.4);
  for (guint i = 0; i < 6; i++)
    patch (coloured, 0, 0, i, colours[i]);
  assert_false (found (coloured, &card));

  /* Greys, but all alike. */
  g_autoptr (WsImage) alike = ground (0.4, 0.4, 0.4);
  for (guint i = 0; i < 6; i++)
    patch (alike, 0, 0, i, (WsLight){ 0.1, 0.1, 0.1 });
  assert_false (found (alike, &card));

  /* Stripes. */
  g_autoptr (WsImage) stripes = ground (0.4, 0.4, 0.4);
  for (gsize y = 0; y < HEIGHT; y++)
    memset (stripes->rgb + 3 * y * WIDTH, (int)(60 + 40 * ((y / 60) % 4)), 3 * WIDTH);
  assert_false (found (stripes, &card));
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (a_card_is_found_and_tells_the_lamp),
    cmocka_unit_test (other_things_are_no_card),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
