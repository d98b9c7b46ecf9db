#include "judge/limits.h"

#include "base/language.h"
#include "judge/web.h"

#include <math.h>
#include <whetsight/judge.h>

#define FROM_MEMORY N_ ("from memory, check your drawing")
#define COMMON_PRACTICE N_ ("common practice, no source")
#define H8 N_ ("DIN 1414 / ISO 286 h8 as quoted by a catalogue page; for a new drill")
#define ISO_3685 N_ ("ISO 3685:1993 (0.3 mm even, 0.6 mm localized) as quoted by a public page")
#define IS_5099 N_ ("IS 5099, 0.03 + 0.01 L/d, as quoted by a supplier's page")
#define FROM_CARD "tool card"

#define TWIST (1U << WS_KIND_TWIST_DRILL)
#define SPOT (1U << WS_KIND_SPOT_DRILL)
#define DRILLS (TWIST | SPOT)
#define BLADE (1U << WS_KIND_CUTOFF_BLADE)

/* Beside the kind: only where the card says so of the part to be cut off. */
#define WITH_HOLE (1U << WS_N_KINDS)
#define WITHOUT_HOLE (1U << (WS_N_KINDS + 1))

/* Only where there is a card: without one nobody knows what angle a tool should have, and to grind
 * a good one of another sort to what is usual would ruin it. */
#define BY_CARD (1U << (WS_N_KINDS + 2))
#define EDGES (DRILLS | BLADE | 1U << WS_KIND_FORM_TOOL)

/* With both lips at half angle k and the apex e off the axis, the corners differ in height
 * by h = 2 e cot k and the lips in length by 2 e / sin k.  At k = 59 deg: */
#define OFFSET_PER_HEIGHT 0.83214 /* tan k / 2 */
#define LENGTH_PER_HEIGHT 1.94160 /* 1 / cos k */

typedef enum
{
  IN_UNITS,   /* degrees or mm as they stand */
  WHERE_TOLD, /* the same, where the value with its U lies on one side of them: a picture that is
                 too coarse for that is no reason to doubt the tool */
  TIMES_DIAMETER, /* factors of the diameter, of a blade's width */
  FROM_NOMINAL,   /* mm added to the diameter on the card; none without one */
  RUN_OUT,        /* mm, and the factor of length over diameter; none without the card's length */
  CORNER_WEAR     /* factor of the diameter, on top of what an unworn corner falls short */
} Basis;

typedef struct
{
  guint kinds;         /* and, for blades, the part */
  double above, up_to; /* diameter, mm; of a blade its width */
  const char *stem;
  Basis basis;
  double lower, upper;
  const char *source;
} BuiltIn;

/* clang-format off */
#define SYMMETRIC(above, up_to, stem, half)                                                        \
  { DRILLS, above, up_to, stem, IN_UNITS, -(half), half, FROM_MEMORY }

/* Lip height by size: 2, 3, 4, 5, 6 thousandths of an inch, full indicator, as remembered
 * from tables in the manner of ANSI/ASME B94.11M, low confidence; and what each means for
 * the point's offset and the lips' lengths. */
#define SAME_LIPS(above, up_to, mm)                                                                \
  SYMMETRIC (above, up_to, "lip_height_difference", mm),                                           \
  SYMMETRIC (above, up_to, "point_offset", OFFSET_PER_HEIGHT * (mm)),                              \
  SYMMETRIC (above, up_to, "lip_length_difference", LENGTH_PER_HEIGHT * (mm))

#define DIAMETER(above, up_to, below)                                                              \
  { TWIST, above, up_to, "diameter", FROM_NOMINAL, -(below), 0.0, H8 }
/* clang-format on */

#define ANY 0.0, INFINITY

/* The first line that fits is taken. */
static const BuiltIn built_in[] = {
  { TWIST | BY_CARD, 0.0, 12.7, "point_angle", IN_UNITS, 113.0, 123.0, FROM_MEMORY },
  { TWIST | BY_CARD, 12.7, INFINITY, "point_angle", IN_UNITS, 115.0, 121.0, FROM_MEMORY },
  /* Spot drills come at 90, 120 and more degrees: the card should say which. */
  { SPOT | BY_CARD, ANY, "point_angle", IN_UNITS, 88.0, 92.0, COMMON_PRACTICE },
  { DRILLS, ANY, "half_angle_difference", IN_UNITS, -1.0, 1.0, COMMON_PRACTICE },

  SAME_LIPS (0.0, 3.175, 0.0508),
  SAME_LIPS (3.175, 6.35, 0.0762),
  SAME_LIPS (6.35, 12.7, 0.1016),
  SAME_LIPS (12.7, 25.4, 0.1270),
  SAME_LIPS (25.4, INFINITY, 0.1524),

  DIAMETER (1.0, 3.0, 0.014),
  DIAMETER (3.0, 6.0, 0.018),
  DIAMETER (6.0, 10.0, 0.022),
  DIAMETER (10.0, 18.0, 0.027),
  DIAMETER (18.0, 30.0, 0.033),
  DIAMETER (30.0, 50.0, 0.039),
  DIAMETER (50.0, 80.0, 0.046),
  DIAMETER (80.0, 100.0, 0.054),

  { DRILLS, ANY, "corner_wear_a", CORNER_WEAR, -INFINITY, 0.0075, COMMON_PRACTICE },
  { DRILLS, ANY, "corner_wear_b", CORNER_WEAR, -INFINITY, 0.0075, COMMON_PRACTICE },
  { DRILLS, ANY, "lip_straightness_a", TIMES_DIAMETER, -INFINITY, 0.01, COMMON_PRACTICE },
  { DRILLS, ANY, "lip_straightness_b", TIMES_DIAMETER, -INFINITY, 0.01, COMMON_PRACTICE },
  { DRILLS, ANY, "chip_depth_a", TIMES_DIAMETER, -INFINITY, 0.01, COMMON_PRACTICE },
  { DRILLS, ANY, "chip_depth_b", TIMES_DIAMETER, -INFINITY, 0.01, COMMON_PRACTICE },

  /* 7 degrees for parts with a centre hole; without one the part must be off before the edge
   * reaches the centre. */
  { BLADE | WITH_HOLE, ANY, "side_rake", IN_UNITS, 6.0, 8.0, COMMON_PRACTICE },
  { BLADE | WITHOUT_HOLE, ANY, "side_rake", IN_UNITS, 10.0, 12.0, COMMON_PRACTICE },
  { BLADE | BY_CARD, ANY, "front_relief", IN_UNITS, 8.0, 12.0, COMMON_PRACTICE },
  /* A ground edge has some 0.01 mm; one of five times that pushes more than it cuts. */
  { BLADE | 1U << WS_KIND_FORM_TOOL, ANY, "edge_rounding", WHERE_TOLD, -INFINITY, 0.05,
    COMMON_PRACTICE },
  { BLADE, ANY, "corner_radius_left", TIMES_DIAMETER, -INFINITY, 0.05, COMMON_PRACTICE },
  { BLADE, ANY, "corner_radius_right", TIMES_DIAMETER, -INFINITY, 0.05, COMMON_PRACTICE },
  { BLADE, ANY, "edge_straightness", TIMES_DIAMETER, -INFINITY, 0.01, COMMON_PRACTICE },
  { BLADE, ANY, "chip_depth", TIMES_DIAMETER, -INFINITY, 0.01, COMMON_PRACTICE },
  /* Obtuse convention; from memory of tables that give 115 to 135 degrees by point type. */
  { TWIST | BY_CARD, ANY, "chisel_edge_angle", IN_UNITS, 115.0, 135.0, FROM_MEMORY },
  { TWIST | BY_CARD, ANY, "lip_relief", IN_UNITS, 7.0, 24.0, COMMON_PRACTICE },
  { TWIST | BY_CARD, ANY, "lip_relief_a", IN_UNITS, 7.0, 24.0, COMMON_PRACTICE },
  { TWIST | BY_CARD, ANY, "lip_relief_b", IN_UNITS, 7.0, 24.0, COMMON_PRACTICE },
  { TWIST, ANY, "lip_parallelism", IN_UNITS, -INFINITY, 2.0, COMMON_PRACTICE },
  { DRILLS | BY_CARD, ANY, "run_out_point", RUN_OUT, -INFINITY, 0.03, IS_5099 },
  { TWIST, ANY, "web_centrality", TIMES_DIAMETER, -INFINITY, 0.015, FROM_MEMORY },

  { EDGES, ANY, "wear_land_mean", IN_UNITS, -INFINITY, 0.3, ISO_3685 },
  { EDGES, ANY, "wear_land_max", IN_UNITS, -INFINITY, 0.6, ISO_3685 },
  { EDGES, ANY, "burn_depth_max", IN_UNITS, -INFINITY, 0.1, COMMON_PRACTICE },
  { EDGES, ANY, "burn_area", IN_UNITS, -INFINITY, 0.005, COMMON_PRACTICE },
};

/* Measured, with or without a scale; NULL when unknown. */
static const WsQuantity *
measured_size (const WsResult *result, const WsToolCard *card)
{
  return ws_result_quantity (result,
                             card->kind == WS_KIND_CUTOFF_BLADE ? "edge_width" : "diameter");
}

/* The card's diameter or width, else the measured one, else NAN. */
static double
size_mm (const WsResult *result, const WsToolCard *card)
{
  const gboolean is_blade = card->kind == WS_KIND_CUTOFF_BLADE;
  const double told = is_blade ? card->width_mm : card->diameter_mm;
  if (isfinite (told))
    return told;
  const WsQuantity *diameter = measured_size (result, card);
  gboolean in_mm = diameter != NULL && g_str_has_suffix (diameter->name, "_mm");
  return in_mm ? diameter->value : NAN;
}

double
wsi_unworn_corner_shortfall (double diameter, double web)
{
  double R = 0.5 * diameter;
  double w = R * wsi_web_of (web, diameter).half;
  return R - sqrt (R * R - w * w);
}

/* A size-free row also serves a drill of unknown size; of rows by size, the first (the
 * smallest drills) does, unless it needs the size itself. */
static gboolean
fits_size (const BuiltIn *row, double diameter)
{
  if (isfinite (diameter))
    return diameter > row->above && diameter <= row->up_to;
  return row->basis == IN_UNITS || row->basis == WHERE_TOLD;
}

static gboolean
fits_card (const BuiltIn *row, const WsToolCard *card)
{
  if (row->kinds & BY_CARD && card->id == NULL)
    return FALSE;
  if (row->kinds & WITH_HOLE)
    return card->part_has_centre_hole == WS_ANSWER_YES;
  return !(row->kinds & WITHOUT_HOLE) || card->part_has_centre_hole == WS_ANSWER_NO;
}

static gboolean
fits (const BuiltIn *row, const WsQuantity *quantity, const WsToolCard *card, double diameter)
{
  return row->kinds & 1U << card->kind && g_str_equal (row->stem, quantity->info->stem) &&
         fits_card (row, card) && fits_size (row, diameter) &&
         (row->basis != FROM_NOMINAL || isfinite (card->diameter_mm)) &&
         (row->basis != RUN_OUT || isfinite (card->length_mm));
}

static const BuiltIn *
find_built_in (const WsQuantity *quantity, const WsToolCard *card, double diameter)
{
  for (gsize i = 0; i < G_N_ELEMENTS (built_in); i++)
    if (fits (&built_in[i], quantity, card, diameter))
      return &built_in[i];
  return NULL;
}

static void
set_limits (WsQuantity *quantity, double lower, double upper, const char *source)
{
  quantity->lower = lower;
  quantity->upper = upper;
  quantity->limit_source = source;
}

/* mm for each diameter of length */
#define RUN_OUT_BY_LENGTH 0.01

/* `web` in the diameter's unit, NAN when unknown. */
static void
apply_row (WsQuantity *quantity, const BuiltIn *row, const WsToolCard *card, double diameter,
           double web)
{
  double factor = row->basis == TIMES_DIAMETER || row->basis == CORNER_WEAR ? diameter : 1.0;
  double shift = row->basis == FROM_NOMINAL ? diameter : 0.0;
  if (row->basis == CORNER_WEAR)
    shift = wsi_unworn_corner_shortfall (diameter, web);
  if (row->basis == RUN_OUT)
    shift = RUN_OUT_BY_LENGTH * card->length_mm / diameter;
  set_limits (quantity, factor * row->lower + shift, factor * row->upper + shift, row->source);
}

/* Does its one upper limit decide? */
static gboolean
is_told (const WsQuantity *quantity, const BuiltIn *row)
{
  return fabs (quantity->value - row->upper) >= quantity->U;
}

static void
apply_built_in (WsQuantity *quantity, const WsToolCard *card, double diameter)
{
  const BuiltIn *row = find_built_in (quantity, card, diameter);
  if (row != NULL && (row->basis != WHERE_TOLD || is_told (quantity, row)))
    apply_row (quantity, row, card, diameter, card->web_mm);
}

static const WsLimit *
limit_on (const WsQuantityInfo *info, const WsToolCard *card)
{
  g_autofree char *name = g_strdup_printf ("%s_%s", info->stem, ws_unit_suffix (info->unit, TRUE));
  return ws_tool_card_limit (card, name);
}

/* The card's limit by stem, since a length in px is still what a limit in mm speaks of; else the
 * one for all of its family. */
static const WsLimit *
card_limit (const WsQuantity *quantity, const WsToolCard *card)
{
  const WsLimit *own = limit_on (quantity->info, card);
  return own == NULL && quantity->family != NULL ? limit_on (quantity->family, card) : own;
}

/* A segment of a profile has the whole profile's band where the card has none for it. */
static void
apply_profile_band (WsQuantity *quantity, const WsToolCard *card)
{
  const WsLimit *most = ws_tool_card_limit (card, "profile_deviation_max_mm");
  const WsLimit *least = ws_tool_card_limit (card, "profile_deviation_min_mm");
  if (most != NULL || least != NULL)
    set_limits (quantity, least != NULL ? least->lower : -INFINITY,
                most != NULL ? most->upper : INFINITY, FROM_CARD);
}

/* The size in parts of which damage is judged: a chip is a chip without mm, too. */
typedef struct
{
  double mm; /* NAN when unknown */
  double px; /* NAN when there is a scale, or when unknown */
} Size;

/* What is no more than a part of the size needs no mm: the built-in limit, or the card's by the
 * size that it gives. */
static void
apply_in_parts (WsQuantity *quantity, const WsLimit *limit, const WsToolCard *card,
                const Size *size)
{
  const double told = card->kind == WS_KIND_CUTOFF_BLADE ? card->width_mm : card->diameter_mm;
  const BuiltIn *row = find_built_in (quantity, card, size->px);
  if (row == NULL || (row->basis != TIMES_DIAMETER && row->basis != CORNER_WEAR))
    return;
  const double per_mm = size->px / told;
  if (limit == NULL)
    apply_row (quantity, row, card, size->px, per_mm * card->web_mm);
  else if (isfinite (per_mm))
    set_limits (quantity, per_mm * limit->lower, per_mm * limit->upper, FROM_CARD);
}

static void
apply_to (WsQuantity *quantity, const WsToolCard *card, const Size *size)
{
  gboolean in_px = g_str_has_suffix (quantity->name, "_px");
  const WsLimit *limit = card_limit (quantity, card);

  set_limits (quantity, -INFINITY, INFINITY, NULL);
  if (quantity->given)
    return;
  /* A source without limits: the card asks for something that this picture can't tell. */
  if (limit != NULL && in_px)
    set_limits (quantity, -INFINITY, INFINITY, FROM_CARD);
  else if (limit != NULL)
    set_limits (quantity, limit->lower, limit->upper, FROM_CARD);
  else if (!in_px && quantity->known && ws_quantity_is_of_family (quantity, "segment_N_deviation"))
    apply_profile_band (quantity, card);
  else if (!in_px && quantity->known)
    apply_built_in (quantity, card, size->mm);
  if (in_px && quantity->known && isfinite (size->px))
    apply_in_parts (quantity, limit, card, size);
}

/* -89.99 is 90.01 to limits about 90: nothing tells one end of a line from the other.  A limit
 * alone stands for its middle. */
static void
turn_to_limits (WsQuantity *quantity)
{
  const gboolean has_lower = isfinite (quantity->lower), has_upper = isfinite (quantity->upper);
  if (quantity->info->unit != WS_UNIT_DIRECTION || !quantity->known || !(has_lower || has_upper))
    return;
  const double lower = has_lower ? quantity->lower : quantity->upper,
               upper = has_upper ? quantity->upper : quantity->lower;
  quantity->value = ws_direction_near (quantity->value, 0.5 * (lower + upper));
}

void
ws_limits_apply (WsResult *result, const WsToolCard *card)
{
  const WsQuantity *measured = measured_size (result, card);
  const gboolean in_px = measured != NULL && g_str_has_suffix (measured->name, "_px");
  const Size size = { size_mm (result, card), in_px ? measured->value : NAN };
  for (guint i = 0; i < result->quantities->len; i++)
  {
    apply_to (g_ptr_array_index (result->quantities, i), card, &size);
    turn_to_limits (g_ptr_array_index (result->quantities, i));
  }
}
