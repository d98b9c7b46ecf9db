#include "tool/blade/plan_corner.h"

#include "base/geometry.h"
#include "edge/corner_fit.h"
#include "edge/local_blur.h"
#include "image/smoothed.h"
#include "result/build.h"
#include "tool/blade/corner.h"
#include "tool/blade/lines.h"
#include "tool/silhouette.h"

/*
 * The outline's scan lines are fitted with a straight step and so are off where it bends as
 * sharply as the blur is wide: by so many blurs at a sharp corner, less as the corner is rounder.
 * Own trials on rendered corners.
 */
#define GAP_MODEL_BLURS 0.15

/* The outline has a point a px: however little a sharp corner is blurred, its gap comes out as this
 * where it falls badly on the pixels.  Own trials on rendered corners (0.8 to 1.1 px, interior
 * angles of 75 to 105 degrees). */
#define GAP_SEEN_PX 1.1

/* A scan line's standard deviation beyond the bound, levels fitted too: 1.28, and some. */
#define SCAN_LINE_EXCESS 1.4

/* What the edges are rough beyond their noise, one for both. */
static double
roughness (const WsBladeEdge *before, const WsBladeEdge *after, double point_u)
{
  const double scatter = hypot (before->line.scatter, after->line.scatter) / G_SQRT2;
  const double noise = SCAN_LINE_EXCESS * point_u;
  return sqrt (MAX (scatter * scatter - noise * noise, 0));
}

/* A blade that lies aslant is sharp at one corner only: where the edges are straight again beside
 * it, over as many blurs as it takes to see one. */
#define BLURS_BESIDE 20.0

static double
corner_blur (const WsBlade *blade, const WsImage *image, const WsBladeCorner *corner)
{
  const double from = MAX (corner->reach[0], corner->reach[1]);
  return wsi_outline_blur_near (image, blade->outline, corner->place, from,
                                from + BLURS_BESIDE * MAX (blade->outline->blur_px, 1));
}

/* What a corner's radius is made of, whichever way it was found. */
typedef struct
{
  double radius, spread; /* px; its standard deviation */
  const char *names[6];  /* of what makes the deviation, */
  double u[6];           /* in proportion */
  guint n;
} Rounded;

static void
add_part (Rounded *rounded, const char *name, double u)
{
  rounded->names[rounded->n] = name;
  rounded->u[rounded->n++] = u;
}

static double
total_of (const Rounded *rounded)
{
  double squares = 0;
  for (guint i = 0; i < rounded->n; i++)
    squares += rounded->u[i] * rounded->u[i];
  return sqrt (squares);
}

#define LENS "edges bowed by an unknown lens"
#define TONE "tonal encoding and threshold"

/* Where a bowed edge ends it lies off its line by two thirds of the bow. */
#define END_OFF_LINE (2.0 / 3)

/* How far an unknown lens takes either edge off its line at the corner, px. */
static double
lens_off (const WsBlade *blade, const WsImage *image, const WsOptics *optics, guint k)
{
  return END_OFF_LINE *
         hypot (wsi_blade_lens_bow (&blade->edges[k], image, optics),
                wsi_blade_lens_bow (&blade->edges[k + 1], image, optics)) /
         G_SQRT2;
}

/* What is known of a corner before its rounding is looked at, px. */
typedef struct
{
  const WsBlade *blade;
  const WsImage *image;
  const WsBladeCorner *corner;
  double blur, rough, lens;
  double level_u; /* of edges, by a wrong tone */
  gboolean may_be_filtered;
} Known;

/* A noise filter blurs a corner otherwise than the edges beside it, and takes up to 1.9 square
 * blurs of light away from a sharp one: own trials with filters that spare edges.  What between
 * neighbours is left of the noise by a sensor, 0.97 to 1.01 of it on rendered pictures, tells that
 * none was there. */
#define FILTERED_BLURS 0.95
#define LEAST_BETWEEN 0.95
#define FILTER "noise that may have been filtered"

/* ---- By the gap between corner and outline, where the rounding is great --------------------- */

static double
gap_u (const WsBlade *blade, guint k, double blur)
{
  const WsBladeCorner *corner = &blade->corners[k];
  const double u = wsi_silhouette_point_u (blade->outline);
  const double sharp = wsi_blade_corner_gap (corner->interior, 0, blur);
  const double place = hypot (blade->edges[k].u_place, blade->edges[k + 1].u_place) / G_SQRT2;
  const double rough = roughness (&blade->edges[k], &blade->edges[k + 1], u);
  const double lines = hypot (place, rough) / sin (0.5 * corner->interior);
  /* The parabola's middle over 1.6 gaps of points: 3 / 2 of one point's over their root. */
  const double noise = 1.5 * u / sqrt (MAX (1.6 * corner->gap, 3));
  const double model = GAP_MODEL_BLURS * blur * sharp / MAX (corner->gap, sharp);
  const double round = MIN (GAP_SEEN_PX / MAX (corner->gap, sharp), 1);
  const double pixels = 0.5 * MAX (GAP_SEEN_PX - sharp, 0) * round;
  return hypot (hypot (lines, noise), hypot (model, pixels));
}

/* What clings to a rounding, or is broken out of it, moves the parabola's middle by up to half of
 * what it is off the arc.  Below so many deviations of a point, and blurs, an arc is off as well:
 * own trials on rendered corners. */
#define ARC_SIGMAS 4.0
#define ARC_BLURS 0.25
#define ARC_SHARE 0.5

static double
arc_u (const Known *known, double radius)
{
  const double noise = hypot (wsi_silhouette_point_u (known->blade->outline), known->rough);
  const double off = wsi_blade_corner_off_arc (known->blade, known->corner, radius);
  return off > ARC_SIGMAS * noise + ARC_BLURS * known->blur ? ARC_SHARE * off : 0;
}

static Rounded
by_gap (const Known *known, guint k)
{
  WsBladeCorner corner = *known->corner;
  const double blur = known->blur, sine = sin (0.5 * corner.interior);
  corner.radius = wsi_blade_corner_radius (corner.interior, corner.gap, blur);
  Rounded rounded = { .radius = corner.radius };
  add_part (&rounded, "gap between corner and outline", gap_u (known->blade, k, blur));
  add_part (&rounded, "corner that is no arc", arc_u (known, corner.radius));
  add_part (&rounded, LENS, G_SQRT2 * known->lens / sine);
  /* It moves lines and arc alike, and so the corner by more than the arc. */
  add_part (&rounded, TONE, known->level_u * (1 / sine - 1));
  if (known->may_be_filtered)
    add_part (&rounded, FILTER, 0.5 * FILTERED_BLURS * blur * blur / MAX (corner.radius, blur));
  rounded.spread = wsi_blade_corner_spread (&corner, blur, total_of (&rounded));
  return rounded;
}

/* ---- By the light of its pixels, where it is small ------------------------------------------ */

/* Beyond, the outline alone tells the radius as well as anybody asks. */
#define MOST_REACH_PX 24.0

/* Of a blur that some twenty blurs of edge tell: own trials on rendered edges. */
#define U_BLUR 0.03

/* A misfit of the corner's shape is alike over the area of a blurred point, 4 pi s^2, not from
 * pixel to pixel. */
#define ALIKE_PER_BLUR 3.5

/* Of a line where it ends, across it. */
static double
line_end_u (const WsBladeEdge *edge, WsPoint corner)
{
  const double off =
    wsi_point_dot (wsi_point_sub (corner, edge->line.centre), edge->line.direction);
  return hypot (edge->u_place, edge->u_angle * off);
}

/* A half, and so much more that U covers 0 where 0 can't be told from the radius. */
#define ROUNDED_HALF 0.51

/* By twice the deviation of its square: a radius can't be less than none. */
static double
spread_of_square (double square, double u)
{
  const double radius = sqrt (MAX (square, 0));
  const double more = sqrt (MAX (square, 0) + 2 * u), less = sqrt (MAX (square - 2 * u, 0));
  return ROUNDED_HALF * MAX (more - radius, radius - less);
}

/* What of the square's deviation comes from a shape that is no arc between straight edges. */
static double
misfit_u (const WsCornerFit *fit, double noise, double blur)
{
  const double excess = sqrt (MAX (fit->misfit * fit->misfit - noise * noise, 0));
  return fit->u_pixels * ALIKE_PER_BLUR * MAX (blur, 0.3) * excess / fit->misfit;
}

/* Of pixels whose noise isn't alike, ground and tool: own trials on rendered sharp corners. */
#define PIXELS_EXCESS 1.2

/* Rough edges take light away or leave it, as far along as the rounding and the blur reach, which
 * looks like the light of an arc: (cot (a / 2) - (pi - a) / 2) of the square. */
static double
rough_u (const WsBladeCorner *corner, double radius, double rough, double blur)
{
  const double half = 0.5 * corner->interior;
  const double along = radius / tan (half) + 2 * blur;
  return rough * along / (1 / tan (half) - 0.5 * G_PI + half);
}

/* What a spread that is no normal distribution, a pixel's square above all, makes of the square of
 * a radius, px^2: own trials on rendered corners, resized ones among them. */
#define SPREAD_LEFT 0.12

/* Tones bend light by more than a parabola does: own trials with powers of 0.9 and 1.1. */
#define TONE_EXCESS 1.5

static Rounded
told_by (const WsCornerFit *fit, const Known *known, double lens_share)
{
  const double noise = SCAN_LINE_EXCESS * known->blade->outline->noise;
  const double lines = fit->u_lines * sqrt (1 - lens_share * lens_share);
  Rounded rounded = { .radius = fit->radius };
  add_part (&rounded, "pixels at the corner",
            PIXELS_EXCESS * hypot (fit->u_pixels, misfit_u (fit, noise, known->blur)));
  add_part (&rounded, "edges' form and places at the corner",
            hypot (hypot (hypot (lines, fit->u_blur), SPREAD_LEFT),
                   rough_u (known->corner, fit->radius, known->rough, known->blur)));
  add_part (&rounded, LENS, fit->u_lines * lens_share);
  add_part (&rounded, TONE, TONE_EXCESS * fabs (fit->per_shift) * known->level_u);
  if (known->may_be_filtered)
    add_part (&rounded, FILTER, FILTERED_BLURS * known->blur * known->blur);
  rounded.spread = spread_of_square (fit->square, total_of (&rounded));
  return rounded;
}

static gboolean
by_light (const Known *known, guint k, Rounded *rounded)
{
  const WsBladeCorner *here = known->corner;
  const WsBladeEdge *before = &known->blade->edges[k], *after = &known->blade->edges[k + 1];
  const double place =
    hypot (line_end_u (before, here->place), line_end_u (after, here->place)) / G_SQRT2;
  const WsCorner corner = { .place = here->place,
                            .inward = here->inward,
                            .interior = here->interior,
                            .reach = MAX (here->reach[0], here->reach[1]) + known->blur,
                            .blur = known->blur,
                            .u_blur = U_BLUR * known->blur,
                            .u_line = hypot (hypot (place, known->rough), known->lens) };
  const double guess = wsi_blade_corner_radius (here->interior, here->gap, known->blur);
  WsCornerFit fit;
  if (corner.reach > MOST_REACH_PX || !wsi_corner_fit (known->image, &corner, guess, &fit))
    return FALSE;
  *rounded = told_by (&fit, known, known->lens / corner.u_line);
  return TRUE;
}

static Rounded
round_of (const WsBlade *blade, const WsImage *image, const WsOptics *optics, guint k)
{
  const WsBladeCorner *corner = &blade->corners[k];
  const double u = wsi_silhouette_point_u (blade->outline);
  const Known known = { .blade = blade,
                        .image = image,
                        .corner = corner,
                        .blur = corner_blur (blade, image, corner),
                        .rough = roughness (&blade->edges[k], &blade->edges[k + 1], u),
                        .lens = lens_off (blade, image, optics, k),
                        .level_u = wsi_silhouette_level_u (image, blade->outline),
                        .may_be_filtered = !(wsi_image_noise_between (image) > LEAST_BETWEEN) };
  Rounded rounded;
  return by_light (&known, k, &rounded) ? rounded : by_gap (&known, k);
}

double
wsi_blade_corner_round (const WsBlade *blade, const WsImage *image, const WsOptics *optics, guint k,
                        double *u)
{
  const Rounded rounded = round_of (blade, image, optics, k);
  *u = rounded.spread;
  return rounded.radius;
}

void
wsi_blade_plan_add_corner (const WsBlade *blade, const WsImage *image, const WsOptics *optics,
                           guint k, WsQuantity *quantity)
{
  const Rounded rounded = round_of (blade, image, optics, k);
  wsi_quantity_set_seen (quantity, rounded.radius, optics);
  wsi_quantity_set_place (quantity, blade->corners[k].place);
  const double per =
    rounded.spread / total_of (&rounded) * wsi_quantity_per_seen (quantity, optics);
  for (guint i = 0; i < rounded.n; i++)
    if (rounded.u[i] > 0)
      wsi_quantity_add_line (quantity, rounded.names[i], WS_DISTRIBUTION_NORMAL, rounded.u[i], per);
}
