#include "edge/corner_fit.h"

#include "base/geometry.h"
#include "image/light.h"
#include "maths/least_squares.h"
#include "maths/stats.h"

#include <math.h>
#include <string.h>

enum
{
  GROUND, /* light of the ground */
  STEP,   /* tool's light less the ground's */
  SQUARE, /* of the radius, px^2 */
  INWARD, /* how far the lines' meeting lies off its place, px: along the bisector, */
  ACROSS, /* and across it */
  BLUR,
  N_UNKNOWNS
};

/* The blur across the bisector is summed in steps of so many parts of it, as far out as this. */
#define STEPS_PER_BLUR 8
#define TAIL_BLURS 5.0

/* A rounding smaller than this part of the blur is told by its light alone: the light of a greater
 * one, in proportion to the square of the radius. */
#define LEAST_ROUND_BLURS 0.6

/* Nothing follows the model closer than this part of the step: a pixel's square is taken for a part
 * of the blur.  Corners drawn without noise. */
#define MODEL_NOISE 0.003

/* Of the first round, as a part of the step; then what is left over tells. */
#define START_NOISE 0.02

#define MOST_ROUNDS 12
#define LEAST_PIXELS 20

/* The corner's shape across its bisector: where the tool begins, and how that changes with the
 * square of the radius. */
typedef struct
{
  double half; /* of the interior angle, rad */
  double radius;
} Shape;

static double
border_at (const Shape *shape, double v)
{
  const double r = shape->radius;
  if (v < r * cos (shape->half))
    return r / sin (shape->half) - sqrt (r * r - v * v);
  return v / tan (shape->half);
}

static double
border_per_square (const Shape *shape, double v)
{
  const double r = shape->radius;
  if (v >= r * cos (shape->half))
    return 0;
  return (1 / sin (shape->half) - r / sqrt (r * r - v * v)) / (2 * r);
}

/* The part of the light at a place that the tool takes, and its derivatives. */
typedef struct
{
  double part, per_square, per_x, per_y, per_blur;
} Cover;

/* The blurred shape at (x along the bisector, y across): along in closed form, across by the
 * midpoint rule. */
static Cover
cover_of (const Shape *shape, double blur, double x, double y)
{
  Cover cover = { 0, 0, 0, 0, 0 };
  const double step = 1.0 / STEPS_PER_BLUR;
  const int n = (int)(TAIL_BLURS * STEPS_PER_BLUR);
  for (int i = -n; i < n; i++)
  {
    const double w = (i + 0.5) * step, v = fabs (y + w * blur);
    const double weight = step * wsi_normal_pdf (w);
    const double z = (x - border_at (shape, v)) / blur;
    if (z < -TAIL_BLURS)
      continue;
    const double in = wsi_normal_cdf (z), here = wsi_normal_pdf (z);
    cover.part += weight * in;
    cover.per_x += weight * here / blur;
    cover.per_y += weight * w * in / blur;
    cover.per_square -= weight * here * border_per_square (shape, v) / blur;
    cover.per_blur += weight * ((w * w - 1) * in - z * here) / blur;
  }
  return cover;
}

static Cover
cover_at (double half, const double *unknowns, double x, double y)
{
  const double blur = unknowns[BLUR], least = LEAST_ROUND_BLURS * blur;
  const double square = unknowns[SQUARE];
  const Shape shape = { half, sqrt (MAX (square, least * least)) };
  Cover cover = cover_of (&shape, blur, x, y);
  if (square >= least * least)
    return cover;
  const Shape sharp = { half, 0 };
  const Cover none = cover_of (&sharp, blur, x, y);
  const double share = square / (least * least);
  const double per_square = (cover.part - none.part) / (least * least);
  cover.part = none.part + share * (cover.part - none.part);
  cover.per_x = none.per_x + share * (cover.per_x - none.per_x);
  cover.per_y = none.per_y + share * (cover.per_y - none.per_y);
  cover.per_blur = none.per_blur + share * (cover.per_blur - none.per_blur);
  cover.per_square = per_square;
  return cover;
}

typedef struct
{
  const WsImage *image;
  const WsCorner *corner;
  double unknowns[N_UNKNOWNS];
  double noise; /* standard deviation of a pixel's light */

  /* Of the last round. */
  WsLeastSquares sums, shifted; /* shifted: by what a wrong tone adds */
  double squares;
  guint n;
} Fit;

/* A wrong tone adds light where edges lie, in the middle of the step one step of it, say, and so
 * shifts both lines: by the reciprocal of the spread's height.  What it adds less that shift is
 * what is taken for rounding. */
static double
left_of_tone (const Fit *fit, const Cover *cover, double per_inward)
{
  const double *u = fit->unknowns;
  const double light = fabs (u[STEP]) * 4 * cover->part * (1 - cover->part);
  const double inward = u[BLUR] * sqrt (2 * G_PI) / sin (0.5 * fit->corner->interior);
  return light - fabs (per_inward) * inward;
}

static void
add_pixel (Fit *fit, double light, double x, double y)
{
  const double *u = fit->unknowns;
  const Cover cover = cover_at (0.5 * fit->corner->interior, u, x - u[INWARD], y - u[ACROSS]);
  const double row[N_UNKNOWNS] = {
    [GROUND] = 1,
    [STEP] = cover.part,
    [SQUARE] = u[STEP] * cover.per_square,
    [INWARD] = -u[STEP] * cover.per_x,
    [ACROSS] = -u[STEP] * cover.per_y,
    [BLUR] = u[STEP] * cover.per_blur,
  };
  const double off = light - u[GROUND] - u[STEP] * cover.part;
  const double weight = 1 / (fit->noise * fit->noise);
  wsi_least_squares_add (&fit->sums, row, off, weight);
  wsi_least_squares_add (&fit->shifted, row, left_of_tone (fit, &cover, row[INWARD]), weight);
  fit->squares += off * off;
  fit->n++;
}

/* Each pixel within reach, with its light and its place along the bisector and across it. */
static void
each_pixel (Fit *fit, void (*add) (Fit *fit, double light, double x, double y))
{
  const WsCorner *corner = fit->corner;
  const WsImage *image = fit->image;
  const int reach = (int)ceil (corner->reach);
  const int left = (int)lround (corner->place.x) - reach,
            top = (int)lround (corner->place.y) - reach;
  for (int y = MAX (top, 0); y <= MIN (top + 2 * reach, (int)image->height - 1); y++)
    for (int x = MAX (left, 0); x <= MIN (left + 2 * reach, (int)image->width - 1); x++)
    {
      const WsPoint d = wsi_point_sub (wsi_point (x, y), corner->place);
      if (wsi_point_length (d) > corner->reach)
        continue;
      const guint16 light = wsi_image_light_at (image, (guint)x, (guint)y);
      add (fit, (double)light / WS_IMAGE_FULL_SCALE, wsi_point_dot (d, corner->inward),
           wsi_point_cross (corner->inward, d));
    }
}

/* By light alone, the shape as it was guessed. */
static void
add_level (Fit *fit, double light, double x, double y)
{
  const Cover cover = cover_at (0.5 * fit->corner->interior, fit->unknowns, x, y);
  const double row[] = { [GROUND] = 1, [STEP] = cover.part };
  wsi_least_squares_add (&fit->sums, row, light, 1);
}

static gboolean
start (Fit *fit)
{
  double levels[2];
  wsi_least_squares_init (&fit->sums, 2);
  each_pixel (fit, add_level);
  if (!wsi_least_squares_solve (&fit->sums, levels, NULL))
    return FALSE;
  fit->unknowns[GROUND] = levels[GROUND];
  fit->unknowns[STEP] = levels[STEP];
  fit->noise = START_NOISE * fabs (levels[STEP]);
  return fit->noise > 0;
}

static void
add_pixels (Fit *fit)
{
  wsi_least_squares_init (&fit->sums, N_UNKNOWNS);
  wsi_least_squares_init (&fit->shifted, N_UNKNOWNS);
  fit->squares = 0;
  fit->n = 0;
  each_pixel (fit, add_pixel);
}

/* The lines are known from far more of the picture than is looked at here, and so is the blur. */
static double
known_to (const WsCorner *corner, guint unknown)
{
  const double half = 0.5 * corner->interior;
  if (unknown == BLUR)
    return corner->u_blur;
  return corner->u_line / (G_SQRT2 * (unknown == INWARD ? sin (half) : cos (half)));
}

static void
add_known (const Fit *fit, WsLeastSquares *sums, gboolean from_here)
{
  const WsCorner *corner = fit->corner;
  const double known[N_UNKNOWNS] = { [BLUR] = corner->blur };
  for (guint i = INWARD; i <= BLUR; i++)
  {
    const double u = known_to (corner, i);
    wsi_least_squares_prior (sums, i, from_here ? known[i] - fit->unknowns[i] : 0, 1 / (u * u));
  }
}

/* Nothing of the sort beyond this. */
static gboolean
keep_within (Fit *fit)
{
  double *u = fit->unknowns;
  const WsCorner *corner = fit->corner;
  u[BLUR] = CLAMP (u[BLUR], 0.5 * corner->blur, 2 * corner->blur);
  const double least = LEAST_ROUND_BLURS * u[BLUR];
  u[SQUARE] = MAX (u[SQUARE], -least * least);
  return fabs (u[INWARD]) < corner->reach && fabs (u[ACROSS]) < corner->reach &&
         u[SQUARE] < corner->reach * corner->reach;
}

static gboolean
one_round (Fit *fit, double covariance[N_UNKNOWNS * N_UNKNOWNS], double *moved)
{
  double by[N_UNKNOWNS];
  add_pixels (fit);
  if (fit->n < LEAST_PIXELS)
    return FALSE;
  add_known (fit, &fit->sums, TRUE);
  if (!wsi_least_squares_solve (&fit->sums, by, covariance))
    return FALSE;
  const double before = fit->unknowns[SQUARE];
  for (guint i = 0; i < N_UNKNOWNS; i++)
    fit->unknowns[i] += by[i];
  const gboolean within = keep_within (fit);
  *moved = fabs (fit->unknowns[SQUARE] - before);
  const double rms = sqrt (fit->squares / (fit->n - 3));
  fit->noise = MAX (rms, MODEL_NOISE * fabs (fit->unknowns[STEP]));
  return within;
}

static double
shift_of_tone (const Fit *fit)
{
  double by[N_UNKNOWNS];
  WsLeastSquares shifted = fit->shifted;
  add_known (fit, &shifted, FALSE);
  if (!wsi_least_squares_solve (&shifted, by, NULL))
    return 0;
  return by[SQUARE] / (fit->unknowns[BLUR] * sqrt (2 * G_PI));
}

/* What of the square's deviation comes from an unknown that was known beforehand. */
static double
part_of (const Fit *fit, const double *covariance, guint unknown)
{
  return covariance[SQUARE * N_UNKNOWNS + unknown] / known_to (fit->corner, unknown);
}

static void
tell (const Fit *fit, const double *covariance, WsCornerFit *found)
{
  const double square = fit->unknowns[SQUARE];
  const double lines = hypot (part_of (fit, covariance, INWARD), part_of (fit, covariance, ACROSS));
  const double blur = fabs (part_of (fit, covariance, BLUR));
  const double known = lines * lines + blur * blur;
  *found =
    (WsCornerFit){ .radius = sqrt (MAX (square, 0)),
                   .square = square,
                   .u_pixels = sqrt (MAX (covariance[SQUARE * N_UNKNOWNS + SQUARE] - known, 0)),
                   .u_lines = lines,
                   .u_blur = blur,
                   .per_shift = shift_of_tone (fit),
                   .misfit = fit->noise / fabs (fit->unknowns[STEP]) };
}

gboolean
wsi_corner_fit (const WsImage *image, const WsCorner *corner, double guess, WsCornerFit *found)
{
  double covariance[N_UNKNOWNS * N_UNKNOWNS] = { 0 }, moved = HUGE_VAL;
  Fit fit = { .image = image,
              .corner = corner,
              .unknowns = { [SQUARE] = guess * guess, [BLUR] = corner->blur } };
  if (!start (&fit))
    return FALSE;
  for (guint round = 0; round < MOST_ROUNDS && moved > 1e-4; round++)
    if (!one_round (&fit, covariance, &moved))
      return FALSE;
  tell (&fit, covariance, found);
  return TRUE;
}
