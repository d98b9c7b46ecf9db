#include "tool/form/segments.h"

#include "base/geometry.h"
#include "base/number.h"
#include "edge/chain.h"
#include "optics/unknown_lens.h"
#include "result/build.h"
#include "tool/form/lens.h"
#include "tool/form/runs.h"
#include "tool/form/stretch.h"
#include "tool/silhouette.h"

const WsQuantityInfo wsi_form_quantities[WS_FORM_N_QUANTITIES] = {
  { "profile_deviation_max", WS_UNIT_LENGTH, NULL, "Deviation, greatest",
    "Greatest distance of the outline from the nominal profile, positive where the tool is too "
    "big." },
  { "profile_deviation_min", WS_UNIT_LENGTH, NULL, "Deviation, least",
    "Least distance of the outline from the nominal profile, negative where metal is missing." },
  { "profile_deviation_rms", WS_UNIT_LENGTH, NULL, "Deviation, RMS",
    "Root mean square of the outline's distance from the nominal profile." },
  { "profile_turn", WS_UNIT_DEGREE, NULL, "Profile turned",
    "How far the best-fitting profile is turned against the tool's sides, positive "
    "counter-clockwise." },
  { "burr_height", WS_UNIT_LENGTH, NULL, "Burr height",
    "Greatest height of a wire edge above its segment; 0 when none is seen." },
  { "burr_length", WS_UNIT_LENGTH, NULL, "Burr length",
    "Of that wire edge, between its outermost places of a quarter of its height." },
  { "segment_N_deviation", WS_UNIT_LENGTH, NULL, "Segment N off by",
    "Where segment N of the nominal profile deviates most, by how much." },
  { "segment_N_angle", WS_UNIT_DIRECTION, NULL, "Segment N angle",
    "Direction of line N against the profile's first axis (without a profile: the picture's "
    "rows), counter-clockwise, modulo 180: by its number nearest to the limits or to the "
    "profile." },
  { "segment_N_radius", WS_UNIT_LENGTH, NULL, "Segment N radius", "Radius of arc N." },
  { "corner_N_angle", WS_UNIT_DEGREE, NULL, "Corner N angle",
    "Included angle of two neighbouring lines, in the tool of a point, in the ground of a notch." },
  WS_BURN_OUTLINE_QUANTITIES,
};

/* How far a sound ground edge stands off its form (own trials on photographs of ground teeth), and
 * over how many px such errors go together. */
#define FORM_PX 0.25
#define CORRELATED_PX 4.0

/* Ground flanks are bowed as much as this (the same photographs). */
#define LEAST_RISE_PX 1.5

/* The blur's reach from a corner, and the boundary's direction that is not yet steady there. */
#define GUARD_PX 2.0
#define GUARD_BLURS 2.0

/* A plate square to the camera by eye leans less than this (assumed, no source). */
#define LEAN_DEG 0.5

/* The blur's shape is no exact Gaussian: of its rounding so much is left (assumed, no source). */
#define ROUNDING_LEFT 0.2

/* Degrees, counter-clockwise as people see it, by the number nearest to `drawn`. */
static double
direction_deg (WsPoint direction, double axis, double drawn)
{
  return ws_direction_near (wsi_degrees (atan2 (-direction.y, direction.x) - axis), drawn);
}

/* Where a flank ends is uncertain by about a tenth of its length: what a bow makes of that
 * (d slope = 1.5 bow / half x the share that one end moves). */
#define END_SHARE 0.1

/* Ten blocks have nine degrees of freedom: Student's t for 95.45 % is 2.32, not 2. */
#define FEW_BLOCKS 1.16

/* The jackknife is itself uncertain by a quarter: white noise is its floor. */
static double
direction_u (const WsLineFit *line, double light)
{
  const double length = line->t_high - line->t_low, n = MAX (line->n_used, 1);
  const double bow = 1.5 * END_SHARE * fabs (line->bow) / (0.5 * length);
  return hypot (light * MAX (FEW_BLOCKS * line->u_angle, line->scatter * sqrt (12 / n) / length),
                bow);
}

/* An arc's rise h = r (1 - cos (turn / 2)) is 1.5 times the amplitude of P2 in (20), which n points
 * of white noise tell to scatter sqrt (5 / n); r follows from h over a chord that is known far
 * better. */
static double
radius_u (const WsChainPiece *piece, double light)
{
  const double n = MAX (piece->used * (piece->to - piece->from), 1);
  const double white = 1.5 * piece->scatter * sqrt (5 / n) / (1 - cos (0.5 * piece->turn));
  return light * MAX (FEW_BLOCKS * piece->u_radius, white);
}

void
wsi_form_add_lean_line (WsQuantity *quantity, double arm, const WsOptics *optics)
{
  const double lean = wsi_radians (LEAN_DEG);
  wsi_quantity_add_seen_line (quantity, "alignment: plate leaning", WS_DISTRIBUTION_ONE_SIDED,
                              0.25 * lean * lean * arm, optics);
}

void
wsi_form_add_rounding_line (WsQuantity *quantity, double rounding, const WsOptics *optics)
{
  wsi_quantity_add_seen_line (quantity, "rounding by blur", WS_DISTRIBUTION_NORMAL,
                              ROUNDING_LEFT * rounding, optics);
}

double
wsi_form_scatter (const WsOutline *outline)
{
  return hypot (wsi_silhouette_point_u (outline), FORM_PX);
}

static WsPoint
middle_of (const WsPoint *points, const WsChainPiece *piece)
{
  return points[(piece->from + piece->to) / 2];
}

char *
wsi_form_size_words (const WsOptics *optics, double px)
{
  g_autofree char *number =
    wsi_number_format (optics->has_scale ? px * optics->mm_per_px : px, optics->has_scale ? 3 : 1);
  return g_strdup_printf ("%s %s", number, optics->has_scale ? "mm" : "px");
}

/* Scale or calibration, and U. */
static void
finish (const WsFormAdding *adding, WsQuantity *quantity, WsFormLensU u)
{
  wsi_form_lens_add (quantity, u, adding->optics);
  if (adding->optics->lens == NULL)
    wsi_quantity_add_scale_line (quantity, adding->optics);
  wsi_quantity_combine (quantity);
}

static void
finish_line (const WsFormAdding *adding, WsQuantity *angle, const WsChainPiece *piece)
{
  const WsPoint ends[2] = { piece->start, piece->end };
  finish (adding, angle, wsi_form_lens_direction (adding->lens, ends));
}

static void
finish_corner (const WsFormAdding *adding, WsQuantity *angle, const WsChainPiece *a,
               const WsChainPiece *b)
{
  const WsPoint first[2] = { a->start, a->end }, second[2] = { b->start, b->end };
  finish (adding, angle, wsi_form_lens_corner (adding->lens, first, second));
}

/* On the circle half-way between start and end. */
static WsPoint
middle_of_arc (const WsChainPiece *piece)
{
  const WsPoint arm = wsi_point_sub (piece->start, piece->circle.centre);
  const double c = cos (0.5 * piece->turn), s = sin (0.5 * piece->turn);
  return wsi_point_add (piece->circle.centre,
                        wsi_point (c * arm.x - s * arm.y, s * arm.x + c * arm.y));
}

static void
finish_arc (const WsFormAdding *adding, WsQuantity *radius, const WsChainPiece *piece)
{
  const WsPoint places[3] = { piece->start, middle_of_arc (piece), piece->end };
  finish (adding, radius, wsi_form_lens_radius (adding->lens, places, piece->turn > 0));
}

/* A line's direction by the stretch of it that was taken. */
static double
stretch_u (const WsFormAdding *adding, const WsPoint *points, const WsChainPiece *piece)
{
  return wsi_form_stretch_u (
    points, piece, direction_u (&piece->line, wsi_silhouette_light_factor (adding->outline)));
}

static void
add_stretch_line (WsQuantity *angle, double u, const WsOptics *optics)
{
  if (u > 0)
    wsi_quantity_add_seen_line (angle, "choice of the stretch", WS_DISTRIBUTION_NORMAL, u, optics);
}

/* "; it is not straight: ...", or nothing. */
static char *
stretch_words (double u)
{
  if (!(u > 0))
    return g_strdup ("");
  g_autofree char *by = wsi_number_format (wsi_degrees (2 * u), 2);
  return g_strdup_printf ("; it is not straight, and the choice of the stretch turns it by %s°",
                          by);
}

static void
add_line (WsFormAdding *adding, const WsPoint *points, const WsChainPiece *piece, guint number,
          double drawn)
{
  WsQuantity *angle = wsi_result_add_numbered (
    adding->result, &wsi_form_quantities[WS_FORM_SEGMENT_ANGLE], number, adding->optics->has_scale);
  wsi_quantity_set (angle, direction_deg (piece->line.direction, adding->axis, drawn));
  wsi_quantity_add_seen_line (
    angle, "edge noise and form", WS_DISTRIBUTION_NORMAL,
    direction_u (&piece->line, wsi_silhouette_light_factor (adding->outline)), adding->optics);
  const double u_stretch = stretch_u (adding, points, piece);
  add_stretch_line (angle, u_stretch, adding->optics);
  if (adding->u_axis > 0)
    wsi_quantity_add_seen_line (angle, "profile direction", WS_DISTRIBUTION_NORMAL, adding->u_axis,
                                adding->optics);
  wsi_form_add_lean_line (angle, 1, adding->optics);
  finish_line (adding, angle, piece);

  const WsPoint where = middle_of (points, piece);
  g_autofree char *curved = stretch_words (u_stretch);
  g_autofree char *length =
    wsi_form_size_words (adding->optics, wsi_point_distance (piece->start, piece->end));
  wsi_result_add_finding (
    adding->result, "segment",
    g_strdup_printf ("Segment %u: line, %s used; its angle is counted from %s%s.", number, length,
                     adding->against, curved),
    &where);
}

static void
add_arc (WsFormAdding *adding, const WsPoint *points, const WsChainPiece *piece, guint number)
{
  const double bulge = piece->turn > 0 ? 1 : -1;
  const double rounding = wsi_silhouette_rounding (adding->outline, piece->circle.radius);
  WsQuantity *radius =
    wsi_result_add_numbered (adding->result, &wsi_form_quantities[WS_FORM_SEGMENT_RADIUS], number,
                             adding->optics->has_scale);
  /* A bulge looks too small, and a hollow, whose ground is round, too big. */
  wsi_quantity_set_seen (radius, piece->circle.radius + rounding, adding->optics);
  wsi_quantity_add_seen_line (radius, "edge noise and form", WS_DISTRIBUTION_NORMAL,
                              radius_u (piece, wsi_silhouette_light_factor (adding->outline)),
                              adding->optics);
  wsi_form_add_rounding_line (radius, rounding, adding->optics);
  wsi_quantity_add_seen_line (radius, "tonal encoding and threshold", WS_DISTRIBUTION_NORMAL,
                              wsi_silhouette_level_u (adding->image, adding->outline),
                              adding->optics);
  finish_arc (adding, radius, piece);

  const WsPoint where = middle_of (points, piece);
  g_autofree char *size = wsi_form_size_words (adding->optics, piece->circle.radius + rounding);
  g_autofree char *turn = wsi_number_format (fabs (wsi_degrees (piece->turn)), 0);
  wsi_result_add_finding (adding->result, "segment",
                          g_strdup_printf ("Segment %u: arc, %s, radius %s over %s°.", number,
                                           bulge > 0 ? "a bulge" : "a hollow", size, turn),
                          &where);
}

static void
mark_piece (WsFormAdding *adding, const WsPoint *points, const WsChainPiece *piece, guint number)
{
  g_autofree char *label = g_strdup_printf ("%u", number);
  wsi_result_add_mark (adding->result, WS_MARK_SEGMENT, label, points + piece->from,
                       piece->to - piece->from);
}

static void
add_corner (WsFormAdding *adding, const WsPoint *points, const GArray *pieces,
            const WsChainCorner *corner, const guint *numbers)
{
  const WsChainPiece *a = &g_array_index (pieces, WsChainPiece, corner->before),
                     *b = &g_array_index (pieces, WsChainPiece, corner->after);
  adding->n_corners++;
  WsQuantity *angle =
    wsi_result_add_numbered (adding->result, &wsi_form_quantities[WS_FORM_CORNER_ANGLE],
                             adding->n_corners, adding->optics->has_scale);
  wsi_quantity_set_seen (angle, corner->angle, adding->optics);
  wsi_quantity_add_seen_line (angle, "edge noise and form, first line", WS_DISTRIBUTION_NORMAL,
                              direction_u (&a->line, wsi_silhouette_light_factor (adding->outline)),
                              adding->optics);
  wsi_quantity_add_seen_line (angle, "edge noise and form, second line", WS_DISTRIBUTION_NORMAL,
                              direction_u (&b->line, wsi_silhouette_light_factor (adding->outline)),
                              adding->optics);
  add_stretch_line (angle, hypot (stretch_u (adding, points, a), stretch_u (adding, points, b)),
                    adding->optics);
  wsi_form_add_lean_line (angle, 1, adding->optics);
  finish_corner (adding, angle, a, b);

  g_autofree char *degrees = wsi_number_format (angle->value, wsi_number_places (angle->U));
  wsi_result_add_finding (adding->result, corner->is_convex ? "corner" : "notch",
                          g_strdup_printf ("Corner %u: a %s of %s° between segments %u and %u.",
                                           adding->n_corners, corner->is_convex ? "point" : "notch",
                                           degrees, numbers[corner->before],
                                           numbers[corner->after]),
                          &corner->where);
  const WsPoint marks[3] = { a->start, corner->where, b->end };
  wsi_result_add_mark (adding->result, WS_MARK_ANGLE, angle->info->stem, marks, 3);
}

void
wsi_form_pieces_add (WsFormAdding *adding, const WsPoint *points, const GArray *pieces,
                     const guint *numbers)
{
  for (guint i = 0; i < pieces->len; i++)
  {
    const WsChainPiece *piece = &g_array_index (pieces, WsChainPiece, i);
    mark_piece (adding, points, piece, numbers[i]);
    if (piece->kind == WS_CHAIN_LINE)
      add_line (adding, points, piece, numbers[i], adding->drawn != NULL ? adding->drawn[i] : 0);
    else
      add_arc (adding, points, piece, numbers[i]);
  }
  g_autoptr (GArray) corners = wsi_chain_corners (pieces, points);
  for (guint i = 0; i < corners->len; i++)
    add_corner (adding, points, pieces, &g_array_index (corners, WsChainCorner, i), numbers);
}

double
wsi_form_guard (const WsOutline *outline)
{
  return GUARD_PX + GUARD_BLURS * outline->blur_px;
}

/* Returns how many segments there are now. */
static guint
add_run (WsFormAdding *adding, const WsFormRun *run, guint n_segments)
{
  const double spacing = MAX (adding->outline->spacing_px, 1);
  const WsChainRules rules = {
    .scatter = wsi_form_scatter (adding->outline),
    .correlated = MAX (CORRELATED_PX / spacing, 1),
    .least_rise = LEAST_RISE_PX,
    .guard = (guint)ceil (wsi_form_guard (adding->outline) / spacing),
  };
  g_autoptr (GArray) pieces = wsi_chain_split (run->points, run->n, &rules);
  g_autofree guint *numbers = g_new (guint, pieces->len + 1);
  for (guint i = 0; i < pieces->len; i++)
    numbers[i] = n_segments + i + 1;
  wsi_form_pieces_add (adding, run->points, pieces, numbers);
  return n_segments + pieces->len;
}

void
wsi_form_segments_add (const WsImage *image, const WsOutline *outline, const WsOptics *optics,
                       WsResult *result)
{
  const WsLens unknown = wsi_unknown_lens (optics, image->width, image->height);
  WsFormAdding adding = { .image = image,
                          .outline = outline,
                          .optics = optics,
                          .lens = optics->lens != NULL ? optics->lens : &unknown,
                          .result = result,
                          .against = "the picture's rows" };
  g_autoptr (GPtrArray) runs = wsi_form_runs (outline);
  guint n_segments = 0;
  for (guint i = 0; i < runs->len; i++)
    n_segments = add_run (&adding, g_ptr_array_index (runs, i), n_segments);
  if (n_segments == 0)
    wsi_result_retake (result, WS_RETAKE_WRONG_VIEW,
                       "the outline has no straight or round stretch");
}
