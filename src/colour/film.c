#include "colour/film.h"

#include <complex.h>
#include <math.h>

const char *
wsi_film_name (WsFilm film)
{
  static const char *const names[WS_N_FILMS] = {
    [WS_FILM_NONE] = "none",     [WS_FILM_STRAW] = "straw", [WS_FILM_BROWN] = "brown",
    [WS_FILM_PURPLE] = "purple", [WS_FILM_BLUE] = "blue",   [WS_FILM_GREY] = "grey",
  };
  return names[film];
}

/* Visible light in steps of 5 nm. */
#define FIRST_NM 380
#define STEP_NM 5
#define N_STEPS 81

/* Optical constants, from memory: steel near 2.5 + 3.4i; iron oxides near 2.7, absorbing at
 * short wavelengths. */
#define STEEL (2.5 + 3.4 * I)
#define OXIDE_N 2.7
#define OXIDE_K 0.1
#define OXIDE_K_RISE 0.0025 /* per nm below OXIDE_EDGE_NM */
#define OXIDE_EDGE_NM 550.0

static double
lobe (double x, double middle, double below, double above)
{
  const double t = (x - middle) / (x < middle ? below : above);
  return exp (-0.5 * t * t);
}

/* The 1931 observer by lobes: Wyman, Sloan & Shirley, J. Comput. Graph. Tech. 2(2), 2013. */
static WsXyz
observer (double nm)
{
  return (WsXyz){
    1.056 * lobe (nm, 599.8, 37.9, 31.0) + 0.362 * lobe (nm, 442.0, 16.0, 26.7) -
      0.065 * lobe (nm, 501.1, 20.4, 26.2),
    0.821 * lobe (nm, 568.8, 46.9, 40.5) + 0.286 * lobe (nm, 530.9, 16.3, 31.1),
    1.217 * lobe (nm, 437.0, 11.8, 36.0) + 0.681 * lobe (nm, 459.0, 26.0, 13.8),
  };
}

/* Airy's sum for one layer at normal incidence (Born & Wolf, Principles of Optics, 1.6.4). */
static double
reflectance (double nm, double thickness_nm)
{
  const double k = OXIDE_K + OXIDE_K_RISE * fmax (OXIDE_EDGE_NM - nm, 0);
  const double complex oxide = OXIDE_N + k * I;
  const double complex outer = (1 - oxide) / (1 + oxide);
  const double complex inner = (oxide - STEEL) / (oxide + STEEL);
  const double complex phase = cexp (4 * G_PI * I * oxide * thickness_nm / nm);
  const double r = cabs ((outer + inner * phase) / (1 + outer * inner * phase));
  return r * r;
}

WsLab
wsi_film_colour (double thickness_nm)
{
  WsXyz film = { 0, 0, 0 }, bare = { 0, 0, 0 };
  for (guint i = 0; i < N_STEPS; i++)
  {
    const double nm = FIRST_NM + STEP_NM * i;
    const double ratio = reflectance (nm, thickness_nm) / reflectance (nm, 0);
    const WsXyz eye = observer (nm);
    film.x += ratio * eye.x;
    film.y += ratio * eye.y;
    film.z += ratio * eye.z;
    bare.x += eye.x;
    bare.y += eye.y;
    bare.z += eye.z;
  }
  const WsXyz relative = { 0.9505 * film.x / bare.x, film.y / bare.y, 1.0890 * film.z / bare.z };
  return wsi_colour_lab_of_xyz (relative);
}

/* Thinner films have the hue of this one and next to no chroma. */
#define THINNEST_NM 8

void
wsi_film_path_fill (WsFilmPath *path)
{
  double before = wsi_colour_hue_deg (wsi_film_colour (THINNEST_NM));
  for (guint nm = 0; nm <= WS_FILM_MAX_NM; nm++)
  {
    double hue = wsi_colour_hue_deg (wsi_film_colour (MAX (nm, THINNEST_NM)));
    while (hue > before + 180)
      hue -= 360;
    path->hue_deg[nm] = before = hue;
  }
}

/* Faint straw looks a little greener than the path begins; past that no film is meant. */
#define GREENEST_DEG 125.0

double
wsi_film_thickness_nm (const WsFilmPath *path, double hue_deg)
{
  double hue = fmod (hue_deg, 360);
  const double last = path->hue_deg[WS_FILM_MAX_NM];
  if (hue > GREENEST_DEG)
    hue -= 360;
  if (hue < last)
    return NAN;
  for (guint nm = THINNEST_NM + 1; nm <= WS_FILM_MAX_NM; nm++)
    if (path->hue_deg[nm] <= hue)
    {
      const double above = path->hue_deg[nm - 1], below = path->hue_deg[nm];
      return above > hue ? nm - (hue - below) / (above - below) : nm - 1;
    }
  return WS_FILM_MAX_NM;
}

/* Where one name gives way to the next, nm: own choice, no source; hues near 65, 20, 285 and 230
 * degrees, which keep bars tempered at printed temperatures in order. */
#define STRAW_UP_TO 26.5
#define BROWN_UP_TO 31.5
#define PURPLE_UP_TO 38.2
#define BLUE_UP_TO 50.0

/* Beyond blue films grow pale; green paint is not.  A vivid light blue is still called blue. */
#define GREY_MOST_CHROMA 22.0
#define LIGHT_BLUE_UP_TO 56.0

/* A pale blue this dull on darkened steel is past blue. */
#define GREY_BLUE_CHROMA 9.0
#define GREY_BLUE_LIGHTNESS 85.0

WsFilm
wsi_film_class (const WsFilmPath *path, WsLab relative, double least_chroma)
{
  const double chroma = wsi_colour_chroma (relative);
  if (!(chroma >= least_chroma))
    return WS_FILM_NONE;
  const double nm = wsi_film_thickness_nm (path, wsi_colour_hue_deg (relative));
  if (isnan (nm))
    return WS_FILM_NONE;
  if (nm <= STRAW_UP_TO)
    return WS_FILM_STRAW;
  if (nm <= BROWN_UP_TO)
    return WS_FILM_BROWN;
  if (nm <= PURPLE_UP_TO)
    return WS_FILM_PURPLE;
  if (nm <= BLUE_UP_TO)
  {
    const gboolean dull = chroma < GREY_BLUE_CHROMA && relative.L < GREY_BLUE_LIGHTNESS;
    return dull ? WS_FILM_GREY : WS_FILM_BLUE;
  }
  if (chroma <= GREY_MOST_CHROMA)
    return WS_FILM_GREY;
  return nm <= LIGHT_BLUE_UP_TO ? WS_FILM_BLUE : WS_FILM_NONE;
}

void
wsi_film_temperature_c (WsFilm film, double *low, double *high)
{
  /* Colvin & Juthe, The Working of Steel, 2nd ed. 1922 (five sources compiled); Butt, Tinman's
   * Manual; the Great Soviet Encyclopedia's article "Temper colour" and two more
   * encyclopedias' tables, all read in copies. */
  static const double bands[WS_N_FILMS][2] = {
    [WS_FILM_NONE] = { NAN, NAN },   [WS_FILM_STRAW] = { 176, 254 }, [WS_FILM_BROWN] = { 240, 266 },
    [WS_FILM_PURPLE] = { 260, 291 }, [WS_FILM_BLUE] = { 293, 337 },  [WS_FILM_GREY] = { 316, 371 },
  };
  *low = bands[film][0];
  *high = bands[film][1];
}
