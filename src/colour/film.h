/*
 * Oxide films on hot steel: their colours by interference, and what the colours are called.
 *
 * Light reflected at both faces of a thin, growing oxide interferes, so that its hue runs along
 * one path: straw, brown, purple, blue, pale grey.  A pixel is classed by how thick a film
 * its hue tells of, not by a box in RGB.
 */
#ifndef WS_COLOUR_FILM_H
#define WS_COLOUR_FILM_H

#include "colour/colour.h"

G_BEGIN_DECLS

typedef enum
{
  WS_FILM_NONE,
  WS_FILM_STRAW,
  WS_FILM_BROWN,
  WS_FILM_PURPLE,
  WS_FILM_BLUE,
  WS_FILM_GREY,
  WS_N_FILMS
} WsFilm;

/* "none", "straw" …; static. */
const char *wsi_film_name (WsFilm film);

#define WS_FILM_MAX_NM 70

/* Hue along the path, for each nm of thickness. */
typedef struct
{
  double hue_deg[WS_FILM_MAX_NM + 1]; /* falls from some 90 through 0 to some -200 */
} WsFilmPath;

void wsi_film_path_fill (WsFilmPath *path);

/* Colour of a film relative to bare steel, which is (100, 0, 0): docs/methods/front-lit.md (L2). */
WsLab wsi_film_colour (double thickness_nm);

/* The thickness, nm, whose hue is nearest; NAN for hues that no film has (green). */
double wsi_film_thickness_nm (const WsFilmPath *path, double hue_deg);

/* `relative`: colour relative to clean steel.  WS_FILM_NONE for a chroma below `least_chroma`
 * and for hues that no film has. */
WsFilm wsi_film_class (const WsFilmPath *path, WsLab relative, double least_chroma);

/* What published tables of temper colours on plain carbon steel say, degrees Celsius: from the
 * lowest to the highest of them.  A hint: time and alloy shift it. */
void wsi_film_temperature_c (WsFilm film, double *low, double *high);

G_END_DECLS

#endif
