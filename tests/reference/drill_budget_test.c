/*
 * The budgets of a drill, every line derived anew.
 *
 * Lines about place and direction of lips, axis and envelope: the inputs are drawn (JCGM 101:2008,
 * clause 8), and the quantities follow by geometry written anew here, in which the axis moves and
 * the lips stay, where the budgets move the lips.  Lines about how the drill lies to the camera:
 * the lips are lines in space here, which turn and lean.  What is read off the outline: by the
 * numbers of docs/methods/drill.md.  No line may be there that isn't derived.
 */
#include "edge/testing.h"

#include <whetsight/judge.h>
#include <whetsight/view.h>

#include "base/geometry.h"
#include "edge/find/segment.h"
#include "edge/spread.h"
#include "judge/web.h"
#include "optics/lens.h"
#include "result/build.h"
#include "result/uncertainty.h"
#include "tool/drill/attitude.h"
#include "tool/drill/point.h"
#include "tool/drill/side/budget.h"
#include "tool/drill/side/whole_lip.h"
#include "tool/drill/view_turn.h"

#define TRIALS 20000
#define SEED 8
#define DIAMETER_MM 6.5
#define BLUR_PX 1.0
#define RELATIVE_SCALE 2e-5
#define UNKNOWN_LENS_DEG 0.05

enum
{
  PLACE_A,
  ANGLE_A,
  PLACE_B,
  ANGLE_B,
  AXIS_PLACE,
  AXIS_ANGLE,
  ENVELOPE,
  LEVEL,
  N_GEOMETRY
};

static const char *const input_names[N_GEOMETRY] = {
  "edge noise and form, lip a place",
  "edge noise and form, lip a direction",
  "edge noise and form, lip b place",
  "edge noise and form, lip b direction",
  "axis place",
  "axis direction",
  "envelope",
  "tonal encoding and threshold",
};

static const char *const stems[] = {
  "point_angle",  "half_angle_a", "half_angle_b",          "half_angle_difference",
  "lip_length_a", "lip_length_b", "lip_length_difference", "lip_height_difference",
  "point_offset", "diameter",     "point_length",
};

enum
{
  POINT_ANGLE,
  HALF_ANGLE_A,
  HALF_ANGLE_B,
  HALF_ANGLE_DIFFERENCE,
  DIAMETER = 9,
  POINT_LENGTH
};

typedef struct
{
  WsImage *image;
  WsOptics optics;
  WsToolCard *card;
  WsResult *result;
  WsOutline *outline;
  WsDrillPoint *point;
  WsAttitude attitude;
} Fixture;

static int
set_up (void **state)
{
  Fixture *f = g_new0 (Fixture, 1);
  SceneDrill drill;
  SceneCamera camera = plain_camera (1600, 1200);
  scene_drill_init (&drill, DIAMETER_MM);
  scene_camera_aim (&camera, &drill, 0.4);
  camera.roll_deg = 7;
  camera.read = 0.01;
  camera.blur_px = BLUR_PX;
  camera.seed = 3;
  g_autoptr (SceneImage) scene = scene_render (&drill, &camera, NULL);
  f->image = ws_image_new (scene->width, scene->height, NULL);
  memcpy (f->image->linear, scene->data, (gsize)2 * scene->width * scene->height);
  f->image->tone = WS_TONE_LINEAR;
  f->image->flags = WS_IMAGE_TOLD_LINEAR;
  f->optics = (WsOptics){ .has_scale = TRUE,
                          .mm_per_px = camera.mm_per_px,
                          .u_mm_per_px = RELATIVE_SCALE * camera.mm_per_px,
                          .lens = NULL };
  f->card = ws_tool_card_new (WS_KIND_TWIST_DRILL);
  f->result = ws_measure (ws_view_find ("drill-side"), f->image, f->card, &f->optics);

  WsRefusal refusal;
  const WsSegment segment = wsi_segment_find (f->image);
  f->outline = wsi_outline_trace (f->image, &segment);
  f->outline->spread = wsi_edge_spread (f->image, f->outline);
  f->point = wsi_drill_point_locate (f->outline, &refusal);
  *state = f;
  if (f->result->reason != WS_RETAKE_NONE || f->point == NULL)
    return 1;
  g_autofree double *moves = wsi_whole_lips_weigh (f->image, f->point);
  /* A body seen square on: there is nothing to undo. */
  if (!wsi_attitude_undo (&f->point, &f->attitude) || fabs (f->attitude.upright) > 0)
    return 1;
  wsi_whole_lips_direct (f->point, moves);
  return 0;
}

static int
tear_down (void **state)
{
  Fixture *f = *state;
  wsi_drill_point_free (f->point);
  wsi_outline_free (f->outline);
  ws_result_free (f->result);
  ws_tool_card_free (f->card);
  ws_image_free (f->image);
  g_free (f);
  return 0;
}

/* ---- Geometry, written anew ------------------------------------------------------- */

/* A line as a point and a unit direction, in the frame of the axis found. */
typedef struct
{
  WsPoint p, d;
} Line;

static WsPoint
meet (Line a, Line b)
{
  const double t =
    ((b.p.x - a.p.x) * b.d.y - (b.p.y - a.p.y) * b.d.x) / (a.d.x * b.d.y - a.d.y * b.d.x);
  return (WsPoint){ a.p.x + t * a.d.x, a.p.y + t * a.d.y };
}

/* The outline's foremost place: the mean height within 3 px of the foremost point. */
static double
tip_height (const WsDrillPoint *point)
{
  double sum = 0;
  guint n = 0;
  for (guint i = 0; i < point->outline->points->len; i++)
    if (hypot (point->uz[i].x - point->tip.x, 0) < 3 && point->tip.y - point->uz[i].y < 3)
    {
      sum += point->uz[i].y;
      n++;
    }
  return sum / n;
}

typedef struct
{
  const WsDrillPoint *point;
  guint quantity; /* index into stems */
  double unit;    /* of the quantity a px or rad */
  double value;   /* what was measured */
  guint n_extra;  /* lines beside the geometry's: added to the value */
  double slope[WS_INPUTS_MAX];
} Model;

/* The lip line as the inputs have it: moved outward, turned about its centre. */
static Line
lip_line (const WsDrillPoint *point, guint k, double out, double turn)
{
  const WsDrillLip *lip = &point->lips[k];
  const double angle = lip->half_angle + turn, s = lip->side;
  /* Outward is normal to the lip as it was. */
  const double x = s * cos (lip->half_angle), y = sin (lip->half_angle);
  return (Line){ { lip->line.centre.x + out * x, lip->line.centre.y + out * y },
                 { s * sin (angle), -cos (angle) } };
}

/* All of `stems` of two lip lines about an axis, an envelope's radius, and a tip that stays. */
static void
evaluate (const Line lips[2], Line axis, double radius, double tip_z,
          double all[G_N_ELEMENTS (stems)])
{
  const WsPoint across = { axis.d.y, -axis.d.x };
  double half[2], length[2], height[2];
  const WsPoint apex = meet (lips[0], lips[1]);
  for (guint k = 0; k < 2; k++)
  {
    const double side = k == 0 ? -1 : 1;
    const Line envelope = {
      { axis.p.x + side * radius * across.x, axis.p.y + side * radius * across.y }, axis.d
    };
    const WsPoint corner = meet (lips[k], envelope);
    half[k] = acos (-(lips[k].d.x * axis.d.x + lips[k].d.y * axis.d.y));
    length[k] = hypot (corner.x - apex.x, corner.y - apex.y);
    height[k] = corner.x * axis.d.x + corner.y * axis.d.y;
  }
  const double offset = (apex.x - axis.p.x) * across.x + (apex.y - axis.p.y) * across.y;
  const double values[G_N_ELEMENTS (stems)] = {
    half[0] + half[1],
    half[0],
    half[1],
    half[0] - half[1],
    length[0],
    length[1],
    length[0] - length[1],
    height[0] - height[1],
    offset,
    2 * radius,
    tip_z - 0.5 * (height[0] + height[1]),
  };
  memcpy (all, values, sizeof values);
}

static double
quantity_of (const Model *model, const double *x)
{
  const WsDrillPoint *point = model->point;
  const Line axis = { { -x[AXIS_PLACE], point->mirror.pivot_z },
                      { sin (x[AXIS_ANGLE]), cos (x[AXIS_ANGLE]) } };
  const Line lips[2] = { lip_line (point, 0, x[PLACE_A] + x[LEVEL], x[ANGLE_A]),
                         lip_line (point, 1, x[PLACE_B] + x[LEVEL], x[ANGLE_B]) };
  double all[G_N_ELEMENTS (stems)];
  evaluate (lips, axis, point->radius + x[ENVELOPE] + x[LEVEL], tip_height (point), all);
  return all[model->quantity];
}

static double
model_of_drill (const double *inputs, gconstpointer data)
{
  const Model *model = data;
  double value = model->unit * quantity_of (model, inputs);
  for (guint i = 0; i < model->n_extra; i++)
    value += model->slope[i] * inputs[N_GEOMETRY + i];
  return value;
}

/* ---- Budgets ---------------------------------------------------------------------- */

static const WsBudgetLine *
line_named (const WsQuantity *quantity, const char *name)
{
  for (guint i = 0; i < quantity->budget->len; i++)
  {
    const WsBudgetLine *line = &g_array_index (quantity->budget, WsBudgetLine, i);
    if (g_str_equal (line->name, name))
      return line;
  }
  return NULL;
}

/* The input's uncertainty, from whichever budget has it. */
static double
input_u (const WsResult *result, const char *name)
{
  for (gsize i = 0; i < G_N_ELEMENTS (stems); i++)
  {
    const WsBudgetLine *line = line_named (ws_result_quantity (result, stems[i]), name);
    if (line != NULL)
      return line->u;
  }
  fail_msg ("no budget has a line \"%s\"", name);
  return 0;
}

static gboolean
is_geometry (const char *name)
{
  for (guint i = 0; i < N_GEOMETRY; i++)
    if (g_str_equal (name, input_names[i]))
      return TRUE;
  return FALSE;
}

static void
describe (const Fixture *f, guint i, const WsQuantity *quantity, Model *model, WsUncertain *u)
{
  const gboolean is_angle = quantity->info->unit == WS_UNIT_DEGREE;
  *model = (Model){ .point = f->point,
                    .quantity = i,
                    .unit = is_angle ? 180 / G_PI : f->optics.mm_per_px };
  *u = (WsUncertain){ .model = model_of_drill, .data = model, .n = N_GEOMETRY };
  for (guint k = 0; k < N_GEOMETRY; k++)
    u->inputs[k] =
      (WsInput){ 0, input_u (f->result, input_names[k]), INFINITY, WS_DISTRIBUTION_NORMAL };
}

/* The other lines of the budget, as what they add. */
static void
add_others (const WsQuantity *quantity, Model *model, WsUncertain *u)
{
  for (guint k = 0; k < quantity->budget->len; k++)
  {
    const WsBudgetLine *line = &g_array_index (quantity->budget, WsBudgetLine, k);
    if (is_geometry (line->name))
      continue;
    assert_true (u->n < WS_INPUTS_MAX);
    model->slope[model->n_extra++] = line->sensitivity;
    u->inputs[u->n++] = (WsInput){ 0, line->u, INFINITY, line->distribution };
  }
}

static double
geometry_u (const WsQuantity *quantity)
{
  double sum = 0;
  for (guint k = 0; k < N_GEOMETRY; k++)
  {
    const WsBudgetLine *line = line_named (quantity, input_names[k]);
    if (line != NULL)
      sum += pow (ws_budget_line_contribution (line), 2);
  }
  return sqrt (sum);
}

static void
values_agree_with_the_geometry (void **state)
{
  const Fixture *f = *state;
  for (guint i = 0; i < G_N_ELEMENTS (stems); i++)
  {
    Model model;
    WsUncertain uncertain;
    WsFirstOrder first;
    const WsQuantity *quantity = ws_result_quantity (f->result, stems[i]);
    assert_non_null (quantity);
    describe (f, i, quantity, &model, &uncertain);
    assert_true (wsi_first_order (&uncertain, &first));
    assert_near (first.value, quantity->value, 1e-9);
    /* Line by line, in size. */
    for (guint k = 0; k < N_GEOMETRY; k++)
    {
      const WsBudgetLine *line = line_named (quantity, input_names[k]);
      const double listed = line != NULL ? fabs (line->sensitivity) : 0;
      assert_near (fabs (first.sensitivity[k]), listed, 1e-6 + 1e-4 * listed);
    }
  }
}

static void
spread_agrees_with_first_order (void **state)
{
  const Fixture *f = *state;
  for (guint i = 0; i < G_N_ELEMENTS (stems); i++)
  {
    Model model;
    WsUncertain uncertain;
    WsMonteCarlo trials;
    const WsQuantity *quantity = ws_result_quantity (f->result, stems[i]);
    describe (f, i, quantity, &model, &uncertain);
    assert_true (wsi_monte_carlo (&uncertain, TRIALS, SEED, 0.95, &trials));
    /* 20000 trials tell a standard deviation to half a per cent. */
    assert_near (trials.u / geometry_u (quantity), 1, 0.02);
  }
}

static double
distance_from_value (const double *inputs, gconstpointer data)
{
  const Model *model = data;
  return fabs (model_of_drill (inputs, data) - model->value);
}

/* All lines together: root mean square about the value against wsi_quantity_combine(), and 95 % of
 * the trials within U, although some lines act in one direction only. */
static void
the_whole_budget (void **state)
{
  const Fixture *f = *state;
  for (guint i = 0; i < G_N_ELEMENTS (stems); i++)
  {
    Model model;
    WsUncertain uncertain;
    WsMonteCarlo trials;
    const WsQuantity *quantity = ws_result_quantity (f->result, stems[i]);
    describe (f, i, quantity, &model, &uncertain);
    add_others (quantity, &model, &uncertain);
    model.value = quantity->value;
    uncertain.model = distance_from_value;
    /* The symmetric interval of 90 % ends where 95 % of the distances lie below. */
    assert_true (wsi_monte_carlo (&uncertain, TRIALS, SEED, 0.90, &trials));
    assert_near (hypot (trials.u, trials.value) / (quantity->U / quantity->k), 1, 0.02);
    assert_true (trials.high < 1.02 * quantity->U);
  }
}

/* ---- How the drill lies to the camera ---------------------------------------------- */

/* Half the web over the radius: usual, and of a thick-webbed drill (docs/methods/drill.md). */
#define USUAL_WEB 0.155
#define THICK_WEB 0.22

/* Both lips as they would look from straight ahead, each `web` off the plane of the axis toward or
 * from the camera, seen after turning about the axis and then leaning. */
static void
seen_in_space (const WsDrillPoint *point, double web, double turn, double lean,
               double all[G_N_ELEMENTS (stems)])
{
  const Line axis = { { 0, 0 }, { 0, 1 } };
  Line lips[2];
  for (guint k = 0; k < 2; k++)
  {
    const double s = k == 0 ? -1 : 1, half = point->lips[k].half_angle;
    const WsPoint at = point->lips[k].line.centre;
    WsPoint seen[2];
    for (guint e = 0; e < 2; e++)
    {
      const double r = e == 0 ? -100 : 100;
      const double x = at.x + s * r * sin (half), y = s * web, z = at.y - r * cos (half);
      const double depth = -x * sin (turn) + y * cos (turn);
      seen[e].x = x * cos (turn) + y * sin (turn);
      seen[e].y = z * cos (lean) + depth * sin (lean);
    }
    const double length = hypot (seen[1].x - seen[0].x, seen[1].y - seen[0].y);
    lips[k] =
      (Line){ seen[0], { (seen[1].x - seen[0].x) / length, (seen[1].y - seen[0].y) / length } };
  }
  evaluate (lips, axis, point->radius, 0, all);
}

/* The greater change of each quantity by a turn or a lean either way, with the unit of records. */
static double
change_of (const Fixture *f, guint i, double web, double turn, double lean)
{
  double greatest = 0, none[G_N_ELEMENTS (stems)], all[G_N_ELEMENTS (stems)];
  seen_in_space (f->point, web, 0, 0, none);
  for (int way = -1; way <= 1; way += 2)
  {
    seen_in_space (f->point, web, way * turn, way * lean, all);
    greatest = fmax (greatest, fabs (all[i] - none[i]));
  }
  return greatest;
}

/* What a turn and a lean make together beyond what either makes alone. */
static double
together (const Fixture *f, guint i, double turn, double lean)
{
  double all[4][G_N_ELEMENTS (stems)];
  for (guint k = 0; k < 4; k++)
    seen_in_space (f->point, 0, k & 1 ? turn : 0, k & 2 ? lean : 0, all[k]);
  return fabs (all[3][i] - all[2][i] - all[1][i] + all[0][i]);
}

static double
contribution (const WsResult *result, const char *stem, const char *name)
{
  const WsQuantity *quantity = ws_result_quantity (result, stem);
  assert_non_null (quantity);
  const WsBudgetLine *line = line_named (quantity, name);
  if (line == NULL)
    fail_msg ("%s has no line \"%s\"", stem, name);
  return fabs (line->sensitivity) * line->u;
}

static void
assert_share (double value, double expected, double part)
{
  assert_near (value, expected, part * fabs (expected) + 1e-9);
}

static double
unit_of (const Fixture *f, guint i)
{
  return i <= HALF_ANGLE_DIFFERENCE ? 180 / G_PI : f->optics.mm_per_px;
}

static WsViewTurn
turn_of (const Fixture *f)
{
  const WsWeb web = wsi_web_of (NAN, 2 * f->point->radius);
  return wsi_view_turn_estimate (f->point, &web);
}

static void
turns_are_those_of_lips_in_space (void **state)
{
  const Fixture *f = *state;
  const double turn = turn_of (f).effective;
  assert_true (turn > 0.01);
  for (guint i = 0; i < DIAMETER; i++)
  {
    const double expected =
      unit_of (f, i) * change_of (f, i, THICK_WEB * f->point->radius, turn, 0);
    const double told = contribution (f->result, stems[i], "alignment: lips turned");
    /* Signed differences of two lips nearly cancel. */
    assert_near (told, expected, 0.01 * expected + 1e-5 * unit_of (f, i));
  }
  /* Less of the margin lies on the silhouette: 6 % of the turn's square. */
  assert_share (contribution (f->result, "diameter", "alignment: lips turned"),
                0.06 * turn * turn * 2 * f->point->radius * f->optics.mm_per_px, 1e-6);
}

static void
leans_are_those_of_lips_in_space (void **state)
{
  const Fixture *f = *state;
  const double turn = turn_of (f).effective;
  const double lean = hypot (f->attitude.lean, f->attitude.u_lean);
  for (guint i = 0; i < DIAMETER; i++)
  {
    const double alone = change_of (f, i, USUAL_WEB * f->point->radius, 0, lean);
    /* Lengths: the lean alone; angles, of which it makes next to nothing, with the turn. */
    const gboolean with_turn = i >= HALF_ANGLE_A && i <= HALF_ANGLE_DIFFERENCE;
    const double expected = alone + (with_turn ? together (f, i, turn, lean) : 0);
    const double told = contribution (f->result, stems[i], "alignment: axis leaning");
    assert_near (told, unit_of (f, i) * expected, 0.01 * unit_of (f, i) * expected + 1e-9);
  }
  assert_near (contribution (f->result, "diameter", "alignment: axis leaning"), 0, 0);
}

/* A skew lifts what lies to the right and lowers what lies to the left, in proportion: a direction
 * k from the axis turns by skew sin^2 k. */
static void
a_skew_tilts_the_lips_against_each_other (void **state)
{
  const Fixture *f = *state;
  const double skew = hypot (f->attitude.skew, f->attitude.u_skew);
  const double sine = sin (f->point->lips[0].half_angle);
  const double turned = skew * sine * sine * 180 / G_PI;
  assert_share (contribution (f->result, "half_angle_a", "skew of the picture"), turned, 0.01);
  assert_share (contribution (f->result, "half_angle_difference", "skew of the picture"),
                2 * turned, 0.01);
  assert_share (contribution (f->result, "lip_height_difference", "skew of the picture"),
                2 * f->point->radius * skew * f->optics.mm_per_px, 0.01);
}

/* Pixels narrower than high by a part e stretch across a tool that lies p off the picture's columns
 * by e cos 2p more than along it, and skew it by e sin 2p: each lip turns by e (cos 2p sin k cos k
 * -+ sin 2p sin^2 k). */
static void
pixels_that_are_not_square_move_angles (void **state)
{
  const Fixture *f = *state;
  const double e = 0.00002 / sqrt (3), roll = 2 * 7 * G_PI / 180;
  const double k = f->point->lips[0].half_angle, stretch = cos (roll) * sin (k) * cos (k);
  const double skew = sin (roll) * sin (k) * sin (k), degree = 180 / G_PI;
  assert_share (contribution (f->result, "point_angle", "pixel aspect"), 2 * e * stretch * degree,
                0.01);
  const double a = contribution (f->result, "half_angle_a", "pixel aspect");
  const double b = contribution (f->result, "half_angle_b", "pixel aspect");
  assert_share (fmin (a, b), e * fabs (stretch - skew) * degree, 0.02);
  assert_share (fmax (a, b), e * (stretch + skew) * degree, 0.02);
  assert_share (contribution (f->result, "diameter", "pixel aspect"),
                f->point->radius * e * cos (roll) * f->optics.mm_per_px, 0.01);
}

/* ---- What is read off the outline --------------------------------------------------- */

/* (19): a point's own uncertainty from the residuals of its scan line. */
static double
point_u (const Fixture *f)
{
  return f->outline->noise * sqrt (2 * sqrt (G_PI) * fmax (f->outline->blur_px, 0.3));
}

/* How far a turn moves the lips' ends across. */
static double
shift (const Fixture *f)
{
  return USUAL_WEB * f->point->radius * sin (turn_of (f).effective);
}

static double
least_burr (const Fixture *f, guint k)
{
  const WsLineFit *line = &f->point->lips[k].line;
  return fmax (0.3, 5 * fmax (point_u (f), line->scatter)) + 3 * fabs (line->bow);
}

static double
form_u (const Fixture *f, guint k, double noise)
{
  const double q = 11 / 12.0, lost = 0.5 * 1.5 * (1 - q * q);
  assert_near (lost, 0.12, 0.001);
  return hypot (fmax (0.5 * noise, 0.0265), 0.12 * f->point->lips[k].line.bow);
}

static void
lines_read_off_the_outline (void **state)
{
  const Fixture *f = *state;
  const double mm = f->optics.mm_per_px, blur = f->outline->blur_px, noise = point_u (f);
  const double half = 0.5 * (f->point->lips[0].half_angle + f->point->lips[1].half_angle);
  /* The scene's own blur and the pixel's. */
  assert_near (blur, hypot (BLUR_PX, sqrt (1 / 12.0)), 0.03);
  const struct
  {
    const char *stem, *name;
    double expected; /* px */
  } lines[] = {
    { "point_length", "foremost point", noise + 0.045 },
    { "point_length", "alignment: lips turned", shift (f) / tan (half) },
    /* A share of what was taken off the distance that the outline has. */
    { "corner_wear_a", "corner rounded by blur",
      0.35 * (f->point->lips[0].corner_gap -
              ws_result_quantity (f->result, "corner_wear_a")->value / mm) },
    { "corner_wear_b", "corner rounded by blur",
      0.35 * (f->point->lips[1].corner_gap -
              ws_result_quantity (f->result, "corner_wear_b")->value / mm) },
    { "corner_wear_a", "edge noise", noise },
    { "corner_wear_b", "edge noise", noise },
    { "corner_wear_a", "alignment: lips turned", 0.36 * shift (f) },
    { "corner_wear_b", "alignment: lips turned", 0.36 * shift (f) },
    /* And what medians of twelfths take off a bow: half of a twelfth in from its ends, where q is
     * 11 / 12, half of 1.5 (1 - q^2) (20), as a standard uncertainty. */
    { "lip_straightness_a", "edge noise", form_u (f, 0, noise) },
    { "lip_straightness_b", "edge noise", form_u (f, 1, noise) },
    { "chisel_flat", "where the flat ends", 1.0 + 0.75 * blur },
    { "chisel_flat", "alignment: lips turned", 2 * shift (f) },
    /* A hundredth of the radius, a px, or six times the noise, evenly spread. */
    { "chip_depth_a", "smallest notch seen",
      fmax (fmax (0.01 * f->point->radius, 1), 6 * noise) / sqrt (3) },
    { "chip_depth_b", "smallest notch seen",
      fmax (fmax (0.01 * f->point->radius, 1), 6 * noise) / sqrt (3) },
    /* 0.3 px or five times the noise or scatter, and three times the lip's bow. */
    { "burr_height_a", "smallest wire edge seen", least_burr (f, 0) / sqrt (3) },
    { "burr_height_b", "smallest wire edge seen", least_burr (f, 1) / sqrt (3) },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (lines); i++)
    assert_share (contribution (f->result, lines[i].stem, lines[i].name), mm * lines[i].expected,
                  1e-6);
  assert_share (contribution (f->result, "view_turn", "web and flank unknown"),
                180 / G_PI * turn_of (f).deviation, 1e-6);
  assert_share (contribution (f->result, "view_turn", "model of flank and margin"), 0.7, 1e-9);
}

/* ---- How far the inputs are known --------------------------------------------------- */

/* D29 to D35 of docs/methods/drill.md: jackknife with white noise as its floor, and floors. */
static void
inputs_are_as_uncertain_as_their_fits (void **state)
{
  const Fixture *f = *state;
  const WsDrillPoint *point = f->point;
  for (guint k = 0; k < 2; k++)
  {
    const WsLineFit *line = &point->lips[k].line;
    const double n = line->n_used, length = line->t_high - line->t_low;
    /* A uniform row of n independent points, Deming 1943; by more of the lip it is less. */
    const double place = fmax (line->u_offset, line->scatter / sqrt (n));
    const double white = point->lips[k].white_angle;
    const double angle = fmax (line->u_angle, white);
    assert_true (white < line->scatter * sqrt (12 / n) / length);
    assert_true (white > 0.5 * line->scatter * sqrt (12 / n) / length);
    assert_share (input_u (f->result, input_names[k == 0 ? PLACE_A : PLACE_B]),
                  hypot (place, 0.003), 1e-6);
    assert_share (input_u (f->result, input_names[k == 0 ? ANGLE_A : ANGLE_B]),
                  hypot (angle, 0.06 * fabs (line->bow) / length), 1e-6);
  }
  const WsMirror *mirror = &point->mirror;
  assert_share (input_u (f->result, input_names[AXIS_PLACE]),
                hypot (hypot (mirror->u_offset, 0.003), mirror->pull_offset), 1e-6);
  assert_share (input_u (f->result, input_names[AXIS_ANGLE]),
                hypot (hypot (mirror->u_angle, 1e-5), mirror->pull_angle), 1e-6);
  assert_share (input_u (f->result, input_names[ENVELOPE]), point->u_radius, 1e-6);
  /* Tonal curves: 0.003 of the blur in a linear file, twice that where sRGB is but assumed. */
  assert_share (input_u (f->result, input_names[LEVEL]), 0.003 * f->outline->blur_px, 1e-6);
  f->image->tone = WS_TONE_SRGB_ASSUMED;
  const guint bits = f->image->bits;
  f->image->bits = 8; /* of more nobody would assume it */
  g_autoptr (WsResult) assumed =
    ws_measure (ws_view_find ("drill-side"), f->image, f->card, &f->optics);
  f->image->tone = WS_TONE_LINEAR;
  f->image->bits = bits;
  assert_int_equal (assumed->reason, WS_RETAKE_NONE);
  /* And a picture whose noise tells of no resizing may have been shrunk in codes all the same. */
  assert_share (input_u (assumed, input_names[LEVEL]),
                hypot (0.006 * f->outline->blur_px, 0.4 * 0.15 * 0.08 / f->outline->blur_px), 1e-6);
}

/* Where the code is halfway between both ends' when light was raised to 1 / `power`, in blurs. */
static double
halfway (const WsEdgeSpread *spread, double power)
{
  const double tool = pow (spread->tool, 1 / power), ground = pow (spread->ground, 1 / power);
  double low = -3, high = 3;
  while (high - low > 1e-9)
  {
    const double z = 0.5 * (low + high), part = 0.5 * erfc (-z * M_SQRT1_2);
    const double light = spread->tool + (spread->ground - spread->tool) * part;
    *(pow (light, 1 / power) < 0.5 * (tool + ground) ? &low : &high) = z;
  }
  return low;
}

/* Files of 16 bits show nothing of a power from 1 / 1.5 to 1.5, whatever they say they are; the
 * edge under it isn't quite a normal distribution. */
static void
no_tag_of_16_bits_is_believed (void **state)
{
  const Fixture *f = *state;
  f->image->flags = 0;
  g_autoptr (WsResult) untold =
    ws_measure (ws_view_find ("drill-side"), f->image, f->card, &f->optics);
  f->image->flags = WS_IMAGE_TOLD_LINEAR;
  assert_int_equal (untold->reason, WS_RETAKE_NONE);
  const WsEdgeSpread *spread = &f->outline->spread;
  const double most = fmax (fabs (halfway (spread, 1.5)), fabs (halfway (spread, 1 / 1.5)));
  assert_share (input_u (untold, input_names[LEVEL]), most / sqrt (3) * f->outline->blur_px, 0.25);
}

/* Lengths by the scale's own uncertainty, angles by none. */
static void
the_scale_is_in_every_length (void **state)
{
  const Fixture *f = *state;
  for (guint i = 0; i < f->result->quantities->len; i++)
  {
    const WsQuantity *quantity = g_ptr_array_index (f->result->quantities, i);
    const WsBudgetLine *line = line_named (quantity, "scale");
    if (!quantity->known)
      continue;
    assert_int_equal (line != NULL, quantity->info->unit == WS_UNIT_LENGTH);
    if (line != NULL)
      assert_share (fabs (line->sensitivity) * line->u, RELATIVE_SCALE * fabs (quantity->value),
                    1e-6);
  }
}

/* Without a scale an unknown lens is allowed 0.05 degrees (k = 1) in every angle. */
static void
an_unknown_lens_is_in_every_angle (void **state)
{
  const Fixture *f = *state;
  const WsOptics none = { .has_scale = FALSE, .mm_per_px = 1, .u_mm_per_px = 0, .lens = NULL };
  g_autoptr (WsResult) result = ws_measure (ws_view_find ("drill-side"), f->image, f->card, &none);
  for (guint i = 0; i < result->quantities->len; i++)
  {
    const WsQuantity *quantity = g_ptr_array_index (result->quantities, i);
    const WsBudgetLine *line = line_named (quantity, "unknown lens");
    /* The turn isn't read off a direction in the picture. */
    if (!quantity->known || g_str_equal (quantity->info->stem, "view_turn"))
      continue;
    assert_int_equal (line != NULL, quantity->info->unit == WS_UNIT_DEGREE);
    if (line != NULL)
      assert_share (fabs (line->sensitivity) * line->u, UNKNOWN_LENS_DEG, 1e-6);
  }
}

/* ---- Near cameras and calibrations -------------------------------------------------- */

/* The lines' budgets of the same drill, had it been seen so. */
static WsResult *
budgets (const Fixture *f, const WsOptics *optics, const WsPerspective *perspective,
         const WsDrillLines *otherwise)
{
  WsResult *result = wsi_result_new ("drill-side");
  WsQuantity *q[WS_DRILL_N_QUANTITIES];
  const WsViewTurn turn = turn_of (f);
  for (guint i = 0; i < WS_DRILL_N_QUANTITIES; i++)
    q[i] = wsi_result_add_quantity (
      result, ((WsQuantity *)g_ptr_array_index (f->result->quantities, i))->info, TRUE);
  const WsDrillEvidence seen = { .image = f->image,
                                 .card = f->card,
                                 .point = f->point,
                                 .turn = &turn,
                                 .optics = optics,
                                 .web = wsi_web_of (NAN, 2 * f->point->radius),
                                 .perspective = perspective,
                                 .otherwise = otherwise };
  wsi_drill_fill_lines (&seen, q);
  return result;
}

/* Both lips are ground alike: one that is bowed by more than twice (D30e) what scatter makes of it
 * has a wire edge too low to be told, or the other one.  A Legendre term of the second degree is
 * the root of 5 times as uncertain as the mean. */
static void
lips_bowed_unlike_are_less_sure (void **state)
{
  const Fixture *f = *state;
  WsLineFit *lines[2] = { &f->point->lips[0].line, &f->point->lips[1].line };
  const double before = lines[0]->bow, length = lines[0]->t_high - lines[0]->t_low;
  const double out = lines[0]->direction.x + lines[0]->direction.y < 0 ? -1 : 1;
  double places[2], unlike = 0, sure;
  for (guint k = 0; k < 2; k++)
    places[k] = fmax (lines[k]->u_offset, lines[k]->scatter / sqrt (lines[k]->n_used));
  const double apart = 180 / G_PI * f->point->radius *
                       fabs (f->point->lips[0].half_angle - f->point->lips[1].half_angle);
  const double noise = hypot (sqrt (5) * hypot (places[0], places[1]), 0.00006 * apart);
  g_autoptr (WsResult) alike = budgets (f, &f->optics, NULL, NULL);
  lines[0]->bow = before + out * 0.2;
  g_autoptr (WsResult) bowed = budgets (f, &f->optics, NULL, NULL);
  lines[0]->bow = before + out * 0.1;
  g_autoptr (WsResult) less = budgets (f, &f->optics, NULL, NULL);
  lines[0]->bow = before;
  sure = input_u (alike, input_names[ANGLE_B]);
  const double more = sqrt (pow (input_u (bowed, input_names[ANGLE_B]), 2) - sure * sure);
  const double some = sqrt (pow (input_u (less, input_names[ANGLE_B]), 2) - sure * sure);
  assert_true (some > 0);
  /* From where it begins on, 1.5 (D30f) over the length. */
  assert_near (more - some, 1.5 * 0.1 / length, 0.03 * 1.5 * 0.1 / length);
  unlike = 0.2 - more * length / 1.5;
  assert_near (unlike, 2 * noise, 0.02);
}

/* Both ends of what a lip line rests on: 0.24 to 0.90 of the radius, about its middle. */
static void
ends_of (const WsDrillPoint *point, guint k, WsPoint ends[2])
{
  const double half = point->lips[k].half_angle, s = k == 0 ? -1 : 1;
  const double run = 0.5 * (0.90 - 0.24) * point->radius / sin (half);
  const WsPoint at = point->lips[k].line.centre;
  ends[0] = (WsPoint){ at.x - s * run * sin (half), at.y + run * cos (half) };
  ends[1] = (WsPoint){ at.x + s * run * sin (half), at.y - run * cos (half) };
}

static Line
through (WsPoint a, WsPoint b)
{
  const double length = hypot (b.x - a.x, b.y - a.y);
  return (Line){ a, { (b.x - a.x) / length, (b.y - a.y) / length } };
}

static const Line upright = { { 0, 0 }, { 0, 1 } };

static void
evaluate_as_found (const Fixture *f, double all[G_N_ELEMENTS (stems)])
{
  const Line lips[2] = { lip_line (f->point, 0, 0, 0), lip_line (f->point, 1, 0, 0) };
  evaluate (lips, upright, f->point->radius, 0, all);
}

/* Lips nearer by `depth[k]` and by `slope[k]` of the distance from the axis than they were taken
 * for, lip b toward the camera and lip a away from it: what is nearer by h looks farther from the
 * foot of the camera's perpendicular by h / distance of its distance from there. */
static void
nearer (const Fixture *f, const WsPerspective *perspective, const double depth[2],
        const double slope[2], double all[G_N_ELEMENTS (stems)])
{
  const WsAxis *axis = &f->point->mirror.axis;
  const WsPoint foot = wsi_axis_to_tool (axis, perspective->foot);
  Line lips[2];
  for (guint k = 0; k < 2; k++)
  {
    WsPoint ends[2];
    ends_of (f->point, k, ends);
    for (guint e = 0; e < 2; e++)
    {
      const double h = (k == 0 ? -1 : 1) * (depth[k] + slope[k] * fabs (ends[e].x));
      ends[e].x += h / perspective->distance * (ends[e].x - foot.x);
      ends[e].y += h / perspective->distance * (ends[e].y - foot.y);
    }
    lips[k] = through (ends[0], ends[1]);
  }
  evaluate (lips, upright, f->point->radius, 0, all);
}

static void
depths_are_those_of_perspective (void **state)
{
  const Fixture *f = *state;
  const double R = f->point->radius, turn = turn_of (f).deviation, degree = G_PI / 180;
  const WsPerspective perspective = { .distance = 12 * R,
                                      .foot = { 0.5 * f->image->width + 40,
                                                0.5 * f->image->height - 30 },
                                      .web_px = NAN,
                                      .hand = 1 };
  g_autoptr (WsResult) result = budgets (f, &f->optics, &perspective, NULL);
  /* The turn; the lips' ends to 0.12 degrees; each lip's own slope to 0.1 degrees. */
  const double depths[4][2] = {
    { -R * turn, -R * turn }, { 0.12 * degree * R, 0.12 * degree * R }, { 0, 0 }, { 0, 0 }
  };
  const double slopes[4][2] = {
    { turn, turn }, { 0, 0 }, { 0.1 * degree, 0 }, { 0, 0.1 * degree }
  };
  double none[G_N_ELEMENTS (stems)], all[4][G_N_ELEMENTS (stems)];
  evaluate_as_found (f, none);
  for (guint k = 0; k < 4; k++)
    nearer (f, &perspective, depths[k], slopes[k], all[k]);
  for (guint i = 0; i < G_N_ELEMENTS (stems); i++)
  {
    const double unit = unit_of (f, i), turned = unit * fabs (all[0][i] - none[i]);
    double squares = 0;
    for (guint k = 1; k < 4; k++)
      squares += pow (unit * (all[k][i] - none[i]), 2);
    assert_near (contribution (result, stems[i], "alignment: lips turned, in perspective"), turned,
                 1e-3 * turned + 1e-9);
    assert_near (contribution (result, stems[i], "perspective: depth of the lips"), sqrt (squares),
                 1e-3 * sqrt (squares) + 1e-9);
  }
  /* What undoing leaves: 0.003 of the body's depth over the distance; no heights are left out. */
  const WsMirror *mirror = &f->point->mirror;
  assert_share (input_u (result, input_names[AXIS_PLACE]),
                hypot (hypot (mirror->u_offset, 0.003), 0.003 / 12 * R), 1e-6);
  assert_share (input_u (result, input_names[AXIS_ANGLE]),
                hypot (hypot (mirror->u_angle, 1e-5), 0.003 / 12), 1e-6);
}

/* Evenly between here and there where the camera may be near or far; by a standard uncertainty
 * where its distance was found. */
static void
a_distance_in_doubt_is_what_it_changes (void **state)
{
  const Fixture *f = *state;
  WsDrillLines other = wsi_drill_lines_of (f->point);
  other.angle[0] += 0.002;
  other.angle[1] -= 0.001;
  other.centre[1].x += 0.4;
  other.radius *= 1.001;
  const Line lips[2] = { { other.centre[0], { -sin (other.angle[0]), -cos (other.angle[0]) } },
                         { other.centre[1], { sin (other.angle[1]), -cos (other.angle[1]) } } };
  double none[G_N_ELEMENTS (stems)], all[G_N_ELEMENTS (stems)];
  evaluate_as_found (f, none);
  evaluate (lips, upright, other.radius, 0, all);
  const WsPerspective perspective = { .distance = 4000, .web_px = NAN, .hand = 1 };
  g_autoptr (WsResult) in_doubt = budgets (f, &f->optics, NULL, &other);
  g_autoptr (WsResult) found = budgets (f, &f->optics, &perspective, &other);
  for (guint i = 0; i < G_N_ELEMENTS (stems); i++)
  {
    const double change = unit_of (f, i) * fabs (all[i] - none[i]);
    assert_near (contribution (in_doubt, stems[i], "perspective: camera's distance"),
                 change / sqrt (3), 1e-6 * change + 1e-12);
    assert_near (contribution (found, stems[i], "perspective: camera's distance"), change,
                 1e-6 * change + 1e-12);
  }
}

/* Through another lens of no distortion of its own: everything moves from the picture's middle by
 * `growth` and by `k1` times the square of its distance in half diagonals, and edges move outward
 * by `out`, `s` of them across and `c` along the tool's frame. */
static WsPoint
seen_through (const Fixture *f, double growth, double k1, WsPoint p, double s, double c)
{
  const WsAxis *axis = &f->point->mirror.axis;
  const WsPoint middle = { 0.5 * (f->image->width - 1.0), 0.5 * (f->image->height - 1.0) };
  WsPoint at = wsi_axis_to_picture (axis, p);
  const double r = hypot (at.x - middle.x, at.y - middle.y) / hypot (middle.x, middle.y);
  const double grown = (1 + growth) * (1 + k1 * r * r);
  at.x = middle.x + grown * (at.x - middle.x);
  at.y = middle.y + grown * (at.y - middle.y);
  p = wsi_axis_to_tool (axis, at);
  return (WsPoint){ p.x + s, p.y + c };
}

#define N_HEIGHTS 41

/* The axis through the middles of the body's sides by least squares (Gauss), from the corners to
 * where the body ends; R is half of how far the sides are apart at the corners. */
static void
through_lens (const Fixture *f, double out, double growth, double k1,
              double all[G_N_ELEMENTS (stems)])
{
  const double R = f->point->radius;
  const double high = fmin (f->point->lips[0].corner.y, f->point->lips[1].corner.y);
  double z[N_HEIGHTS], u[N_HEIGHTS], radius = 0, mean_z = 0, mean_u = 0, zz = 0, zu = 0;
  for (guint i = 0; i < N_HEIGHTS; i++)
  {
    const double at = high - f->point->mirror.length_px * i / (N_HEIGHTS - 1.0);
    const WsPoint left = seen_through (f, growth, k1, (WsPoint){ -R, at }, -out, 0);
    const WsPoint right = seen_through (f, growth, k1, (WsPoint){ R, at }, out, 0);
    radius = i == 0 ? 0.5 * (right.x - left.x) : radius;
    z[i] = 0.5 * (left.y + right.y);
    u[i] = 0.5 * (left.x + right.x);
    mean_z += z[i] / N_HEIGHTS;
    mean_u += u[i] / N_HEIGHTS;
  }
  for (guint i = 0; i < N_HEIGHTS; i++)
  {
    zz += (z[i] - mean_z) * (z[i] - mean_z);
    zu += (z[i] - mean_z) * (u[i] - mean_u);
  }
  Line lips[2];
  for (guint k = 0; k < 2; k++)
  {
    WsPoint ends[2];
    const double half = f->point->lips[k].half_angle, side = k == 0 ? -1 : 1;
    ends_of (f->point, k, ends);
    for (guint e = 0; e < 2; e++)
      ends[e] = seen_through (f, growth, k1, ends[e], side * out * cos (half), out * sin (half));
    lips[k] = through (ends[0], ends[1]);
  }
  const WsPoint end = { mean_u, mean_z }, top = { mean_u + zu / zz, mean_z + 1 };
  evaluate (lips, through (end, top), radius, 0, all);
}

/* The tip moves along with the corners where a lens moves both, which point_length's lines don't
 * count: it is left out. */
static void
calibrations_move_what_their_parameters_move (void **state)
{
  const Fixture *f = *state;
  const double out = 0.04, growth = 3e-4, k1 = 2e-3, residual = 0.05;
  WsLens lens = { .model = WS_LENS_TELECENTRIC,
                  .width = f->image->width,
                  .height = f->image->height,
                  .residual_px = residual };
  const guint n = WS_LENS_T_N;
  lens.parameters[WS_LENS_T_SCALE] = f->optics.mm_per_px;
  lens.covariance[WS_LENS_EDGE_SHIFT * n + WS_LENS_EDGE_SHIFT] = out * out;
  lens.covariance[WS_LENS_T_SCALE * n + WS_LENS_T_SCALE] = pow (growth * f->optics.mm_per_px, 2);
  lens.covariance[WS_LENS_T_K1 * n + WS_LENS_T_K1] = k1 * k1;
  const WsOptics optics = {
    .has_scale = TRUE, .mm_per_px = f->optics.mm_per_px, .u_mm_per_px = 0, .lens = &lens
  };
  g_autoptr (WsResult) result = budgets (f, &optics, NULL, NULL);
  double none[G_N_ELEMENTS (stems)], all[4][G_N_ELEMENTS (stems)];
  evaluate_as_found (f, none);
  through_lens (f, out, 0, 0, all[0]);
  through_lens (f, 0, growth, 0, all[1]);
  through_lens (f, 0, 0, k1, all[2]);
  /* RMS over the picture of the cube of the distance from its middle: 0.30. */
  const double half = 0.5 * hypot (lens.width - 1.0, lens.height - 1.0);
  through_lens (f, 0, 0, residual / (0.30 * half), all[3]);
  for (guint i = 0; i < POINT_LENGTH; i++)
  {
    const double unit = unit_of (f, i), left = unit * fabs (all[3][i] - none[i]);
    double squares = 0;
    for (guint k = 0; k < 3; k++)
      squares += pow (unit * (all[k][i] - none[i]), 2);
    const double told = contribution (result, stems[i], "calibration");
    assert_near (told, sqrt (squares), 0.01 * sqrt (squares) + 2e-5 * unit);
    assert_near (contribution (result, stems[i], "distortion left over"), left,
                 0.01 * left + 2e-5 * unit);
  }
}

static gboolean
is_derived (const char *name)
{
  static const char *const others[] = {
    "alignment: lips turned",
    "alignment: axis leaning",
    "skew of the picture",
    "pixel aspect",
    "foremost point",
    "corner rounded by blur",
    "edge noise",
    "where the flat ends",
    "smallest notch seen",
    "smallest wire edge seen",
    "web and flank unknown",
    "model of flank and margin",
    "scale",
  };
  for (gsize i = 0; i < G_N_ELEMENTS (others); i++)
    if (g_str_equal (name, others[i]))
      return TRUE;
  return is_geometry (name);
}

/* U from all lines: twice the root of the squares' sum (JCGM 100:2008, 5.1.2). */
static void
no_line_is_left_out (void **state)
{
  const Fixture *f = *state;
  for (guint i = 0; i < f->result->quantities->len; i++)
  {
    const WsQuantity *quantity = g_ptr_array_index (f->result->quantities, i);
    double squares = 0;
    for (guint k = 0; k < quantity->budget->len; k++)
    {
      const WsBudgetLine *line = &g_array_index (quantity->budget, WsBudgetLine, k);
      if (!is_derived (line->name))
        fail_msg ("%s: nobody derives \"%s\"", quantity->name, line->name);
      squares += pow (line->sensitivity * line->u, 2);
    }
    if (quantity->known)
      assert_share (quantity->U, 2 * sqrt (squares), 1e-9);
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (values_agree_with_the_geometry),
    cmocka_unit_test (spread_agrees_with_first_order),
    cmocka_unit_test (the_whole_budget),
    cmocka_unit_test (turns_are_those_of_lips_in_space),
    cmocka_unit_test (leans_are_those_of_lips_in_space),
    cmocka_unit_test (a_skew_tilts_the_lips_against_each_other),
    cmocka_unit_test (pixels_that_are_not_square_move_angles),
    cmocka_unit_test (lines_read_off_the_outline),
    cmocka_unit_test (inputs_are_as_uncertain_as_their_fits),
    cmocka_unit_test (lips_bowed_unlike_are_less_sure),
    cmocka_unit_test (no_tag_of_16_bits_is_believed),
    cmocka_unit_test (the_scale_is_in_every_length),
    cmocka_unit_test (an_unknown_lens_is_in_every_angle),
    cmocka_unit_test (depths_are_those_of_perspective),
    cmocka_unit_test (a_distance_in_doubt_is_what_it_changes),
    cmocka_unit_test (calibrations_move_what_their_parameters_move),
    cmocka_unit_test (no_line_is_left_out),
  };
  return cmocka_run_group_tests (tests, set_up, tear_down);
}
