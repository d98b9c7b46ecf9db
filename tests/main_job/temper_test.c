/*
 * Oxide films on photographs: bars tempered at printed temperatures, a continuous run of colours,
 * scratched grey steel and blue paint.  Skipped where the photographs are not at hand; looked for
 * as in drill_side_test.c.
 */
#include "base/testing.h"
#include "colour/burn.h"
#include "colour/sampler.h"

#include <stdlib.h>

/* NULL, with a message, when it is not there.  Free with g_free(). */
static char *
reference_file (const char *name)
{
  const char *root = g_getenv ("WHETSIGHT_REFERENCES");
  char *path = root != NULL ? g_build_filename (root, "photos/temper-colours", name, NULL)
                            : g_build_filename (WS_SOURCE_DIR, "..", "shared/photos/temper-colours",
                                                name, NULL);
  if (g_file_test (path, G_FILE_TEST_EXISTS))
    return path;
  print_message ("skipped: no reference picture %s\n", path);
  g_free (path);
  return NULL;
}

static WsImage *
load (const char *path)
{
  g_autoptr (GError) error = NULL;
  WsImage *image = ws_image_load (path, NULL, WS_IMAGE_COLOUR, &error);
  assert_null (error);
  return image;
}

static WsLight
mean_of (const WsSampler *sampler, guint x, guint y, guint width, guint height)
{
  WsLight sum = { 0, 0, 0 };
  const double n = (double)width * height;
  for (guint j = y; j < y + height; j++)
    for (guint i = x; i < x + width; i++)
    {
      const WsLight light = wsi_sampler_pixel (sampler, i, j);
      sum = (WsLight){ sum.r + light.r / n, sum.g + light.g / n, sum.b + light.b / n };
    }
  return sum;
}

static WsFilm
film_of (WsLight light, WsLight steel)
{
  WsFilmPath path;
  wsi_film_path_fill (&path);
  const WsLab lab =
    wsi_colour_lab ((WsLight){ light.r / steel.r, light.g / steel.g, light.b / steel.b });
  return wsi_film_class (&path, lab, 5);
}

#define N_BARS 10

/* The first, normalized bar is the clean steel. */
static void
bars_come_out_in_the_printed_order (void **state)
{
  (void)state;
  g_autofree char *path = reference_file ("Tempering_standards_used_in_blacksmithing.jpg");
  g_autofree char *table = reference_file ("temper_patches.csv");
  if (path == NULL || table == NULL)
    skip ();
  g_autoptr (WsImage) image = load (path);
  g_autofree char *text = NULL;
  assert_true (g_file_get_contents (table, &text, NULL, NULL));
  g_auto (GStrv) lines = g_strsplit (text, "\n", -1);
  WsSampler sampler;
  wsi_sampler_init (&sampler, image);
  WsLight steel = { 1, 1, 1 };
  WsFilm films[N_BARS];
  for (guint i = 0; i < N_BARS; i++)
  {
    g_auto (GStrv) f = g_strsplit (lines[i + 1], ",", -1);
    assert_true (g_strv_length (f) > 6);
    const WsLight light = mean_of (&sampler, (guint)atoi (f[3]), (guint)atoi (f[4]),
                                   (guint)atoi (f[5]), (guint)atoi (f[6]));
    steel = i == 0 ? light : steel;
    films[i] = film_of (light, steel);
    print_message ("%s: %s\n", f[0], wsi_film_name (films[i]));
    assert_true (i == 0 || films[i] >= films[i - 1]);
  }
  static const WsFilm expected[N_BARS] = { WS_FILM_NONE,   WS_FILM_NONE,  WS_FILM_STRAW,
                                           WS_FILM_STRAW,  WS_FILM_STRAW, WS_FILM_BROWN,
                                           WS_FILM_PURPLE, WS_FILM_BLUE,  WS_FILM_GREY,
                                           WS_FILM_GREY };
  assert_memory_equal (films, expected, sizeof films);
}

/* No clean steel is in the picture: its white ground stands for the light.  The left end, toned
 * like old brass, is left out. */
static void
a_run_of_colours_comes_out_in_order (void **state)
{
  (void)state;
  g_autofree char *path = reference_file ("tempering_colors_steel_cc0.jpg");
  if (path == NULL)
    skip ();
  g_autoptr (WsImage) image = load (path);
  WsSampler sampler;
  wsi_sampler_init (&sampler, image);
  const WsLight steel = { 0.5, 0.5, 0.5 };
  guint counts[WS_N_FILMS] = { 0 };
  WsFilm before = WS_FILM_NONE;
  for (guint x = 170; x < 900; x += 15)
  {
    const WsFilm film = film_of (mean_of (&sampler, x, 170, 15, 60), steel);
    assert_true (film != WS_FILM_NONE && film >= before);
    before = film;
    counts[film]++;
  }
  for (WsFilm film = WS_FILM_STRAW; film <= WS_FILM_BLUE; film++)
    assert_true (counts[film] >= 1);
}

static WsBurn
burn_in (const char *path)
{
  g_autoptr (WsImage) image = load (path);
  g_autoptr (WsBand) band = wsi_band_new (600, 600);
  WsSampler sampler;
  wsi_sampler_init (&sampler, image);
  for (guint d = 0; d < band->depth; d++)
    for (guint s = 0; s < band->length; s++)
    {
      const WsLight light = wsi_sampler_pixel (&sampler, s + 100, d + 100);
      float *cell = wsi_band_cell (band, s, d);
      cell[0] = (float)light.r;
      cell[1] = (float)light.g;
      cell[2] = (float)light.b;
    }
  const WsBand *const bands[1] = { band };
  const WsBalance balance = wsi_balance_find (bands, 1, NULL, NULL);
  WsBurn burn;
  wsi_burn_find (band, &balance, 150, &burn);
  return burn;
}

static void
scratched_steel_is_clean (void **state)
{
  (void)state;
  g_autofree char *path = reference_file ("scratched_metal_cc0.jpg");
  if (path == NULL)
    skip ();
  WsBurn burn = burn_in (path);
  assert_int_equal (burn.trouble, WS_BURN_JUDGED);
  assert_false (burn.present);
  wsi_burn_clear (&burn);
}

static void
paint_is_no_burn (void **state)
{
  (void)state;
  g_autofree char *path = reference_file ("stained_metal_cc0.jpg");
  if (path == NULL)
    skip ();
  WsBurn burn = burn_in (path);
  assert_int_equal (burn.trouble, WS_BURN_COATED);
  wsi_burn_clear (&burn);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (bars_come_out_in_the_printed_order),
    cmocka_unit_test (a_run_of_colours_comes_out_in_order),
    cmocka_unit_test (scratched_steel_is_clean),
    cmocka_unit_test (paint_is_no_burn),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
