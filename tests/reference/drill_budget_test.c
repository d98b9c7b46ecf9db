/*
 * The first-order budgets of a drill against Monte Carlo trials (JCGM 101:2008, clause 8): the
 * inputs are drawn, and the quantities follow by geometry written anew here, in which the axis
 * moves and the lips stay, where the budgets move the lips.
 */
#include "edge/testing.h"

#include <whetsight/judge.h>
#include <whetsight/view.h>

#include "base/geometry.h"
#include "edge/find/segment.h"
#include "result/build.h"
#include "result/uncertainty.h"
#include "tool/drill/point.h"

#define TRIALS 20000
#define SEED 8
#define DIAMETER_MM 6.5

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
  "point_offset", "diameter",
};

typedef struct
{
  WsImage *image;
  WsOptics optics;
  WsToolCard *card;
  WsResult *result;
  WsOutline *outline;
  WsDrillPoint *point;
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
  camera.seed = 3;
  g_autoptr (SceneImage) scene = scene_render (&drill, &camera, NULL);
  f->image = ws_image_new (scene->width, scene->height, NULL);
  memcpy (f->image->linear, scene->data, (gsize)2 * scene->width * scene->height);
  f->image->tone = WS_TONE_LINEAR;
  f->optics = (WsOptics){ TRUE, camera.mm_per_px, 2e-5 * camera.mm_per_px, NULL };
  f->card = ws_tool_card_new (WS_KIND_TWIST_DRILL);
  f->result = ws_measure (ws_view_find ("drill-side"), f->image, f->card, &f->optics);

  WsRetake reason;
  char detail[96];
  const WsSegment segment = ws_segment_find (f->image);
  f->outline = ws_outline_trace (f->image, &segment);
  f->point = ws_drill_point_locate (f->outline, &reason, detail);
  *state = f;
  return f->result->reason != WS_RETAKE_NONE || f->point == NULL;
}

static int
tear_down (void **state)
{
  Fixture *f = *state;
  ws_drill_point_free (f->point);
  ws_outline_free (f->outline);
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

static double
quantity_of (const Model *model, const double *x)
{
  const WsDrillPoint *point = model->point;
  const Line axis = { { -x[AXIS_PLACE], point->mirror.pivot_z },
                      { sin (x[AXIS_ANGLE]), cos (x[AXIS_ANGLE]) } };
  const WsPoint across = { axis.d.y, -axis.d.x };
  const double radius = point->radius + x[ENVELOPE] + x[LEVEL];
  double half[2], length[2], height[2];
  const Line lips[2] = { lip_line (point, 0, x[PLACE_A] + x[LEVEL], x[ANGLE_A]),
                         lip_line (point, 1, x[PLACE_B] + x[LEVEL], x[ANGLE_B]) };
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
  const double all[G_N_ELEMENTS (stems)] = {
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
  };
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
    assert_true (ws_first_order (&uncertain, &first));
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
    assert_true (ws_monte_carlo (&uncertain, TRIALS, SEED, 0.95, &trials));
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

/* All lines together: root mean square about the value against ws_quantity_combine(), and 95 % of
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
    assert_true (ws_monte_carlo (&uncertain, TRIALS, SEED, 0.90, &trials));
    assert_near (hypot (trials.u, trials.value) / (quantity->U / quantity->k), 1, 0.02);
    assert_true (trials.high < 1.02 * quantity->U);
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (values_agree_with_the_geometry),
    cmocka_unit_test (spread_agrees_with_first_order),
    cmocka_unit_test (the_whole_budget),
  };
  return cmocka_run_group_tests (tests, set_up, tear_down);
}
