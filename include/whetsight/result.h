/*
 * What a measurement says: quantities with their uncertainty budgets, a verdict,
 * findings, advice, and marks to draw.  Made by a view (view.h), judged by
 * src/judge, written by src/report.
 */
#ifndef WHETSIGHT_RESULT_H
#define WHETSIGHT_RESULT_H

#include <glib.h>

#include <whetsight/point.h>
#include <whetsight/retake.h>

G_BEGIN_DECLS

typedef enum
{
  WS_UNIT_DEGREE,   /* name ends in _deg */
  WS_UNIT_LENGTH,   /* name ends in _mm with a known scale, in _px without */
  WS_UNIT_SHARE,    /* 0 .. 1, name ends in _share */
  WS_UNIT_DIRECTION /* of a line, which points both ways: degrees modulo 180, name ends in _deg */
} WsUnit;

/* Is it told in degrees? */
gboolean ws_unit_is_angle (WsUnit unit);

/* The same direction, degrees modulo 180, by its number nearest to `centre`. */
double ws_direction_near (double direction, double centre);

/* What a quantity's name ends in: "deg", "mm", "px", "share"; static. */
const char *ws_unit_suffix (WsUnit unit, gboolean has_scale);

/* What people read lengths in; records are metric always. */
typedef enum
{
  WS_UNITS_MM,
  WS_UNITS_IN,
  WS_UNITS_BOTH /* "0.0170 (0.00067) mm (in)" */
} WsUnits;

/* A quantity as a view declares it; static data. */
typedef struct
{
  const char *stem; /* name without its unit: "point_angle" */
  WsUnit unit;
  const char *symbol;  /* ISO 13399 symbol, or NULL */
  const char *label;   /* short, for people: "Point angle" */
  const char *meaning; /* one sentence; docs/methods has the whole definition */
} WsQuantityInfo;

/* JCGM 100:2008, 4.3 and 4.4. */
typedef enum
{
  WS_DISTRIBUTION_NORMAL,
  WS_DISTRIBUTION_RECTANGULAR,
  WS_DISTRIBUTION_STUDENT,
  WS_DISTRIBUTION_ONE_SIDED /* can only act in one direction; u is the RMS about zero */
} WsDistribution;

/* "normal", "rectangular", "student-t", "one-sided"; static. */
const char *ws_distribution_name (WsDistribution distribution);

/* One line of an uncertainty budget (JCGM 100:2008, clause 8 and Annex H tables). */
typedef struct
{
  const char *name; /* static: "edge noise", "form", "axis", "alignment", "scale", … */
  WsDistribution distribution;
  double u;           /* standard uncertainty of the input, in the input's unit */
  double sensitivity; /* derivative of the quantity by the input */
} WsBudgetLine;       /* contribution: |sensitivity| x u, in the quantity's unit */

typedef enum
{
  WS_VERDICT_NONE, /* no limits apply */
  WS_VERDICT_ACCEPT,
  WS_VERDICT_UNDECIDED,
  WS_VERDICT_REJECT,
  WS_VERDICT_RETAKE
} WsVerdict;

/* "accept" …; NULL for WS_VERDICT_NONE; static. */
const char *ws_verdict_name (WsVerdict verdict);

typedef struct
{
  const WsQuantityInfo *info;
  const WsQuantityInfo *family; /* of one in a numbered family: as the view declares it, with N for
                                   the number; else NULL */
  guint number;                 /* in its family, from 1 */
  char *name;                   /* with its unit: "diameter_mm", or "diameter_px" without a scale */
  gboolean known; /* FALSE: could not be had from this picture; value is null in records */
  WsUnits shown;  /* what people read a length in mm in */
  gboolean given; /* told, not measured: the scale follows from it, so nothing is judged by it */
  double value;   /* degrees, mm or px */
  double U;       /* expanded uncertainty, k x combined standard uncertainty */
  double k;       /* coverage factor, 2 */
  /* The least that would have shown in this picture, in the value's unit: what is smaller may be
   * there although the value is 0.  NAN when not known. */
  double smallest_seen;
  GArray *budget; /* of WsBudgetLine */
  double lower;   /* limits; -INFINITY / +INFINITY when open */
  double upper;
  const char *limit_source; /* NULL: no limits; "tool card", or a built-in limit's source; static */
  WsVerdict verdict;
  gboolean
    has_place; /* where in the picture the quantity is seen best: a chip's bottom, a corner */
  WsPoint where_px;
} WsQuantity;

typedef struct
{
  const char *code; /* static: "lip-longer", "chip", "corner-worn", … */
  char *text;       /* a sentence in the shop's language */
  gboolean has_place;
  WsPoint where_px;
} WsFinding;

/* What the shop does with the tool next. */
typedef enum
{
  WS_ACTION_NONE, /* measured without limits, and nothing is amiss beyond doubt */
  WS_ACTION_USE,
  WS_ACTION_REGRIND,
  WS_ACTION_SET_ASIDE, /* what is wrong with it no grinding cures */
  WS_ACTION_MEASURE_AGAIN,
  WS_ACTION_OTHER_VIEWS, /* good as far as this view shows; the card asks for others as well */
  WS_ACTION_HONE         /* good but for a wire edge, which comes off before it is used */
} WsAction;

/* "use", "regrind", "set-aside", "measure-again", "other-views", "hone"; NULL for WS_ACTION_NONE;
 * static. */
const char *ws_action_name (WsAction action);

/* Work that has dangers of its own. */
typedef enum
{
  WS_WORK_NONE = 0,
  WS_WORK_GRIND = 1 << 0, /* at the wheel */
  WS_WORK_MOUNT = 1 << 1, /* on the machine: taking a tool out, setting it */
  WS_WORK_HONE = 1 << 2   /* by hand: wiping an edge, taking a wire edge off with a stone */
} WsWork;

/* A number of the grinding advised, as it is told: rounded to the side on which no damage stays. */
typedef struct
{
  char *name; /* with its unit: "lip_a_at_corner_mm", "lip_a_half_angle_deg" */
  double value;
} WsGrinding;

/* What a mark stands for; the drawing code chooses its look by this alone. */
typedef enum
{
  WS_MARK_OUTLINE,   /* the whole outline found; open or closed polyline */
  WS_MARK_EDGE_LINE, /* a fitted edge from end to end: two points, label "a" or "b" */
  WS_MARK_EDGE_USED, /* the stretch of outline a fit rests on; polyline */
  WS_MARK_AXIS,      /* two points, toward the point */
  WS_MARK_ENVELOPE,  /* two points, parallel to the axis */
  WS_MARK_APEX,      /* one point */
  WS_MARK_CORNER,    /* one point: theoretical outer corner */
  WS_MARK_ANGLE,     /* three points: arm end, vertex, arm end; label is the quantity's name */
  WS_MARK_CHIP,      /* two points: on the lip line, and at the bottom of the notch */
  WS_MARK_SEGMENT,   /* a line or arc of a profile; polyline, label is its number */
  WS_MARK_BURN,      /* a region, closed polygon; label is the oxide film's name */
  WS_MARK_LAND,      /* a region, closed polygon; label is the quantity's stem */
  WS_MARK_NOMINAL,   /* a nominal profile; polyline */
  WS_MARK_DEVIATION, /* a magnified deviation from it; polyline, label says how magnified */
  WS_MARK_WORST      /* one point: where a segment deviates most; label is the quantity's name */
} WsMarkRole;

typedef struct
{
  WsMarkRole role;
  char *label;    /* NULL or text */
  GArray *points; /* of WsPoint, px */
} WsMark;

/* One picture of a tool that is turned about its axis. */
typedef struct
{
  guint picture;   /* in the series, from 0 */
  double turn_deg; /* of the tool, from the first picture on */
  double off; /* of the point's axis from the line turned about, across the picture; mm or px */
  double fit; /* what of that is the tool's own run-out */
} WsTurned;

/* How much of what the numbers say a result stands for. */
typedef enum
{
  WS_HOLD_NONE,   /* the numbers decide */
  WS_HOLD_TOOL,   /* the tool isn't accepted: something that has to be judged wasn't */
  WS_HOLD_ACCEPT, /* no quantity is accepted either; a rejection stands */
  WS_HOLD_VERDICT /* nothing is accepted or rejected, and nothing advised to be ground */
} WsHold;
/* By what a tool is known, beside its kind. */
typedef enum
{
  WS_TRAIT_DIAMETER, /* mm */
  WS_TRAIT_WIDTH,    /* mm: of a blade's edge, of a form tool */
  WS_TRAIT_HEIGHT,   /* mm: of a blade's tip above its base */
  WS_TRAIT_POINT,    /* degrees: a drill's point angle, which tells its kind of point */
  WS_TRAIT_HAND,     /* the result's `hand` */
  WS_N_TRAITS
} WsTrait;

/* What a picture shows of it, where no quantity does. */
typedef struct
{
  gboolean is_seen;
  gboolean in_part; /* the rest is cut off: there may be more */
  double value, U;
} WsTraitSeen;

typedef struct
{
  const char *view; /* static */
  WsRetake reason;  /* WS_RETAKE_NONE when measured */
  char *detail;     /* what was seen that made it a retake, or NULL: "edge blur 14 px" */
  WsVerdict verdict;
  const char *hand; /* "left", "right", or NULL when unknown; static */
  /* By estimate, of a retake, too; NAN where the picture or the view doesn't tell: lips out of the
   * picture's plane, as the quantity view_turn, its standard uncertainty, and axis out of it. */
  double turn_deg, u_turn_deg, lean_deg;
  gboolean perspective_undone; /* of a near camera, calibrated or not */
  WsHold hold;
  const char *hold_code; /* static, "not-judged"; NULL without a hold */
  char *hold_why;        /* a sentence; NULL without a hold */
  WsTraitSeen seen[WS_N_TRAITS];
  const char *rejected;  /* code of the finding that rejects the tool whatever its numbers say; NULL
                            where they decide; static */
  GPtrArray *quantities; /* of WsQuantity, in the view's order; empty on retake */
  GPtrArray *findings;   /* of WsFinding */
  GPtrArray *advice;     /* of char* */
  guint work;            /* of WsWork: what the advice asks for */
  gboolean tells_part;   /* of a part's surface, and something is known of it: no tool is to be
                            used, ground or measured again for that */
  char *set_aside;       /* why grinding can't cure the tool, a sentence; or NULL */
  char *other_views;     /* that the card asks for beside this one, with commas; or NULL */
  GArray *grinding;      /* of WsGrinding: the advice's numbers */
  GPtrArray *cautions;   /* of char*, each said once a report */
  GPtrArray *marks;      /* of WsMark */
  guint shown;           /* of a series: the picture that the marks are on */
  GArray *turned;        /* of a series: of WsTurned, one a picture that was used; else NULL */
  double far_mm;         /* of a series: how far below the point the far end is, mm or px */
} WsResult;

void ws_result_free (WsResult *result);

/* Why it is a retake or undecided, for programs: a retake's code, a hold's code, "near-limit" where
 * numbers lie too near their limits; of a reject what no number says, "wrong-hand"; else NULL.
 * Static. */
const char *ws_result_reason (const WsResult *result);

/* "corner_N_angle_deg" for "corner_3_angle_deg": the name under which a view declares it; a copy
 * where no number is in it.  Free with g_free(). */
char *ws_quantity_family (const char *name);

/* Is it one of the family with that stem ("corner_N_angle")? */
gboolean ws_quantity_is_of_family (const WsQuantity *quantity, const char *stem);

/* By stem ("point_angle"); NULL when the view has none or it is not known. */
const WsQuantity *ws_result_quantity (const WsResult *result, const char *stem);

/* Follows from verdict and advice. */
WsAction ws_result_action (const WsResult *result);

/* Its place, px, or NULL. */
const WsPoint *ws_quantity_place (const WsQuantity *quantity);

/* |sensitivity| x u. */
double ws_budget_line_contribution (const WsBudgetLine *line);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsResult, ws_result_free)

G_END_DECLS

#endif
