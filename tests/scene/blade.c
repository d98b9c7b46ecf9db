/* Outlines of cutoff blades and their truth. */
#include "blade.h"

#include <math.h>

#define DEG (G_PI / 180.0)

/* Through a lens edges are seen in pieces of so many px. */
#define PIECE_PX 3.0

/* Points of a rounded corner, and of a front with waves. */
#define N_ARC 200
#define N_FRONT 1500

/* Waves of the front: so many sines, lengths within a factor of two of the typical one. */
#define N_WAVES 40

static void
put (GArray *outline, double x, double y)
{
  const ScenePoint p = { x, y };
  g_array_append_val (outline, p);
}

static ScenePoint
unit (double x, double y)
{
  const double length = hypot (x, y);
  const ScenePoint p = { x / length, y / length };
  return p;
}

/* An arc that touches both arms of a corner, `from` and `to` being unit vectors along them away
 * from it; the corner itself when `radius` is 0. */
static void
put_corner (GArray *outline, ScenePoint corner, ScenePoint from, ScenePoint to, double radius)
{
  if (!(radius > 0.0))
  {
    put (outline, corner.x, corner.y);
    return;
  }
  const double half = 0.5 * acos (from.x * to.x + from.y * to.y);
  const ScenePoint inward = unit (from.x + to.x, from.y + to.y);
  const double depth = radius / sin (half), sweep = G_PI - 2.0 * half;
  const double cross = from.x * to.y - from.y * to.x;
  /* From one touching point to the other, about the middle of the arc, which faces the corner. */
  for (int i = 0; i <= N_ARC; i++)
  {
    const double angle = (cross > 0.0 ? 1.0 : -1.0) * sweep * (0.5 - (double)i / N_ARC);
    const double c = cos (angle), s = sin (angle);
    put (outline, corner.x + depth * inward.x - radius * (c * inward.x - s * inward.y),
         corner.y + depth * inward.y - radius * (s * inward.x + c * inward.y));
  }
}

static ScenePolygon
polygon_of (GArray *outline)
{
  ScenePolygon polygon = { NULL, outline->len, 1.0 };
  polygon.points = (ScenePoint *)(void *)g_array_free (outline, FALSE);
  return polygon;
}

/* Past the picture's farthest corner, but no farther than needed: what is very far aside, a near
 * camera sees from behind. */
static double
reach_of (const SceneCamera *camera)
{
  return 0.75 * hypot (camera->width, camera->height) * camera->mm_per_px;
}

static SceneImage *
render (ScenePolygon *outline, const SceneCamera *camera)
{
  if (camera->distance_mm > 0.0)
    scene_polygon_divide (outline, PIECE_PX * camera->mm_per_px);
  scene_camera_project (camera, outline);
  SceneImage *image = scene_render_polygons (outline, 1, camera);
  scene_polygon_clear (outline);
  return image;
}

/* --- From above ----------------------------------------------------------- */

void
scene_blade_plan_init (SceneBladePlan *blade, double width)
{
  const SceneBladePlan plain = {
    .width = width, .rake_deg = 7.0, .clearance_left = 1.5, .clearance_right = 1.5, .seed = 1
  };
  *blade = plain;
}

typedef struct
{
  double number, phase, height; /* waves per mm */
} Wave;

static void
random_waves (const SceneBladePlan *blade, Wave waves[N_WAVES])
{
  SceneRng rng;
  scene_rng_init (&rng, blade->seed);
  for (int i = 0; i < N_WAVES; i++)
  {
    waves[i].number = exp2 (scene_rng_uniform (&rng, -1.0, 1.0)) / MAX (blade->rough_length, 1e-9);
    waves[i].phase = scene_rng_uniform (&rng, 0.0, 2.0 * G_PI);
    waves[i].height = blade->rough * sqrt (2.0 / N_WAVES);
  }
}

static double
waves_at (const Wave waves[N_WAVES], double t)
{
  double sum = 0.0;
  for (int i = 0; i < N_WAVES; i++)
    sum += waves[i].height * sin (2.0 * G_PI * waves[i].number * t + waves[i].phase);
  return sum;
}

/* A notch with a crooked bottom: depths at equal steps over its width, the deepest 1. */
static double
notch_depth (const SceneChip *chip, guint64 seed, double along)
{
  SceneRng rng;
  scene_rng_init (&rng, seed + 77);
  double depths[6] = { 0.0 };
  for (int i = 1; i < 5; i++)
    depths[i] = scene_rng_uniform (&rng, 0.35, 0.8);
  depths[2 + scene_rng_next (&rng) % 2] = 1.0;
  const double t = 5.0 * (along / chip->width + 0.5);
  if (!(t > 0.0 && t < 5.0))
    return 0.0;
  const int i = (int)t;
  return chip->depth * (depths[i] + (depths[i + 1] - depths[i]) * (t - i));
}

typedef struct
{
  ScenePoint left, right;           /* theoretical corners */
  ScenePoint left_down, right_down; /* along the sides, away from the front */
  ScenePoint front;                 /* left to right */
  double length;                    /* of the front */
} Plan;

static Plan
plan_of (const SceneBladePlan *b)
{
  const double half = 0.5 * b->width, rise = half * tan (b->rake_deg * DEG);
  Plan plan = { { -half, -rise }, { half, rise }, { 0, 0 }, { 0, 0 }, { 0, 0 }, 0 };
  plan.left_down = unit (sin (b->clearance_left * DEG), -cos (b->clearance_left * DEG));
  plan.right_down = unit (-sin (b->clearance_right * DEG), -cos (b->clearance_right * DEG));
  plan.front = unit (half, rise);
  plan.length = 2.0 * hypot (half, rise);
  return plan;
}

/* How much of the front a rounded corner takes. */
static double
taken (ScenePoint along, ScenePoint down, double radius)
{
  return radius / tan (0.5 * acos (along.x * down.x + along.y * down.y));
}

static double
front_depth (const SceneBladePlan *b, const Wave *waves, double t, double length)
{
  const double chip =
    b->chip.depth > 0.0 ? notch_depth (&b->chip, b->seed, t - b->chip.place * length) : 0.0;
  const double wave = b->rough > 0.0 ? waves_at (waves, t) : 0.0;
  return chip > 0.0 ? MAX (chip, wave) : wave;
}

/* Between the corners; sets the waves' peak to valley. */
static void
put_front (GArray *outline, const SceneBladePlan *b, const Plan *plan, double *straightness)
{
  const ScenePoint back = { -plan->front.x, -plan->front.y };
  const double from = taken (plan->front, plan->left_down, b->radius_left);
  const double to = plan->length - taken (back, plan->right_down, b->radius_right);
  double low = 0.0, high = 0.0;
  Wave waves[N_WAVES];
  random_waves (b, waves);
  *straightness = 0.0;
  if (!(b->rough > 0.0) && !(b->chip.depth > 0.0))
    return;
  for (int i = 1; i < N_FRONT; i++)
  {
    const double t = from + (to - from) * i / N_FRONT;
    const double depth = front_depth (b, waves, t, plan->length);
    const double wave = b->rough > 0.0 ? waves_at (waves, t) : 0.0;
    low = MIN (low, wave);
    high = MAX (high, wave);
    put (outline, plan->left.x + t * plan->front.x + depth * plan->front.y,
         plan->left.y + t * plan->front.y - depth * plan->front.x);
  }
  *straightness = high - low;
}

static double
dot (ScenePoint a, ScenePoint b)
{
  return a.x * b.x + a.y * b.y;
}

/* Against the half-way direction of both sides. */
static void
tell_plan (const SceneBladePlan *b, const Plan *plan, SceneBladePlanTruth *truth)
{
  const ScenePoint ahead =
    unit (-plan->left_down.x - plan->right_down.x, -plan->left_down.y - plan->right_down.y);
  const ScenePoint across = { ahead.y, -ahead.x };
  const double rake = atan2 (dot (plan->front, ahead), dot (plan->front, across)) / DEG;
  truth->side_rake_deg = fabs (rake);
  truth->hand = rake > 0.0 ? "right" : "left";
  truth->side_clearance_mean_deg = 0.5 * (b->clearance_left + b->clearance_right);
  truth->side_clearance_left_deg = b->clearance_left;
  truth->side_clearance_right_deg = b->clearance_right;
  truth->edge_width_mm = plan->length * dot (plan->front, across);
  truth->leading_corner_advance_mm = fabs (plan->length * dot (plan->front, ahead));
  truth->corner_radius_left_mm = b->radius_left;
  truth->corner_radius_right_mm = b->radius_right;
  truth->chip_depth_mm = b->chip.depth;
}

ScenePolygon
scene_blade_plan_outline (const SceneBladePlan *b, double reach, SceneBladePlanTruth *truth)
{
  const Plan plan = plan_of (b);
  const ScenePoint back = { -plan.front.x, -plan.front.y };
  GArray *outline = g_array_new (FALSE, FALSE, sizeof (ScenePoint));
  put (outline, plan.left.x + reach * plan.left_down.x, plan.left.y + reach * plan.left_down.y);
  put_corner (outline, plan.left, plan.left_down, plan.front, b->radius_left);
  put_front (outline, b, &plan, &truth->edge_straightness_mm);
  put_corner (outline, plan.right, back, plan.right_down, b->radius_right);
  put (outline, plan.right.x + reach * plan.right_down.x, plan.right.y + reach * plan.right_down.y);
  tell_plan (b, &plan, truth);
  return polygon_of (outline);
}

SceneImage *
scene_render_blade_plan (const SceneBladePlan *b, const SceneCamera *camera,
                         SceneBladePlanTruth *truth)
{
  ScenePolygon polygon = scene_blade_plan_outline (b, reach_of (camera), truth);
  return render (&polygon, camera);
}

/* --- From the side --------------------------------------------------------- */

/* From behind to before the tip. */
static void
put_top (GArray *outline, const SceneBladeSide *b, ScenePoint tip, ScenePoint back, double reach)
{
  if (!(b->ground > 0.0))
  {
    put (outline, tip.x + reach * back.x, tip.y + reach * back.y);
    return;
  }
  /* The rise meets the line of the top, which passes `drop` above the tip. */
  const ScenePoint rear = unit (-cos (b->rear_deg * DEG), sin (b->rear_deg * DEG));
  const ScenePoint rise = unit (-cos (b->rise_deg * DEG), sin (b->rise_deg * DEG));
  const ScenePoint end = { tip.x + b->ground * back.x, tip.y + b->ground * back.y };
  const double below = (tip.y + b->drop + rear.y / rear.x * (end.x - tip.x)) - end.y;
  const double run = below / (rise.y - rise.x * rear.y / rear.x);
  const ScenePoint start = { end.x + run * rise.x, end.y + run * rise.y };
  put (outline, start.x + reach * rear.x, start.y + reach * rear.y);
  put (outline, start.x, start.y);
  put (outline, end.x, end.y);
}

static void
mirror (ScenePolygon *polygon, gboolean is_mirrored)
{
  for (gsize i = 0; is_mirrored && i < polygon->n; i++)
    polygon->points[i].x = -polygon->points[i].x;
}

/* The part of the blade before the line from `face` behind the tip down, as its own polygon. */
static ScenePolygon
face_of (const SceneBladeSide *b, ScenePoint tip, ScenePoint back, ScenePoint front, double reach)
{
  const double turn = b->face_spread_deg * DEG;
  const ScenePoint inner = { tip.x + b->face * back.x, tip.y + b->face * back.y };
  const ScenePoint down = unit (front.x * cos (turn) + front.y * sin (turn),
                                -front.x * sin (turn) + front.y * cos (turn));
  GArray *outline = g_array_new (FALSE, FALSE, sizeof (ScenePoint));
  put (outline, inner.x, inner.y);
  put (outline, tip.x, tip.y);
  put (outline, tip.x + reach * front.x, tip.y + reach * front.y);
  put (outline, inner.x + reach * down.x, inner.y + reach * down.y);
  return polygon_of (outline);
}

/* With the face apart, for which there is no foot in view. */
static SceneImage *
render_with_face (ScenePolygon *side, ScenePolygon *face, double weight, const SceneCamera *camera)
{
  ScenePolygon both[2] = { *side, *face };
  both[1].weight = weight;
  for (guint i = 0; i < 2; i++)
    scene_camera_project (camera, &both[i]);
  SceneImage *image = scene_render_polygons (both, 2, camera);
  scene_polygon_clear (&both[0]);
  scene_polygon_clear (&both[1]);
  return image;
}

/* Tip and foot, and the directions back along the top and down the front. */
typedef struct
{
  ScenePoint tip, foot, top, front;
  ScenePoint knee; /* where the second relief begins, or the foot */
} Side;

static Side
side_of (const SceneBladeSide *b)
{
  const double half = 0.5 * b->height;
  const double first = b->primary > 0.0 ? b->primary : b->height;
  const double back =
    first * tan (b->relief_deg * DEG) + (b->height - first) * tan (b->secondary_deg * DEG);
  Side side = { .tip = { 0.0, half }, .foot = { -back, -half } };
  side.knee = (ScenePoint){ -first * tan (b->relief_deg * DEG), half - first };
  side.top = unit (-cos (b->top_rake_deg * DEG), -sin (b->top_rake_deg * DEG));
  side.front = unit (side.knee.x - side.tip.x, side.knee.y - side.tip.y);
  return side;
}

/* By how much a hollow front is steeper behind the edge than from tip to foot, rad. */
static double
hollow_turn (const SceneBladeSide *b)
{
  const double front = b->height / cos (b->relief_deg * DEG);
  return b->hollow > 0.0 ? asin (0.5 * front / b->hollow) : 0.0;
}

/* From behind the tip to the foot, on the wheel's rim. */
static void
put_hollow (GArray *outline, const SceneBladeSide *b, const Side *side)
{
  const double turn = hollow_turn (b), run = 0.5 * b->height / cos (b->relief_deg * DEG);
  const ScenePoint along = side->front, out = { -along.y, along.x };
  const ScenePoint middle = { 0.5 * (side->tip.x + side->foot.x),
                              0.5 * (side->tip.y + side->foot.y) };
  for (int i = 1; i < N_ARC && turn > 0.0; i++)
  {
    const double angle = turn * (2.0 * i / N_ARC - 1.0);
    const double s = run * sin (angle) / sin (turn);
    const double depth = b->hollow * (cos (angle) - cos (turn));
    put (outline, middle.x + s * along.x - depth * out.x, middle.y + s * along.y - depth * out.y);
  }
}

ScenePolygon
scene_blade_side_outline (const SceneBladeSide *b, double reach)
{
  const Side side = side_of (b);
  GArray *outline = g_array_new (FALSE, FALSE, sizeof (ScenePoint));
  put_top (outline, b, side.tip, side.top, reach);
  put_corner (outline, side.tip, side.top, side.front, b->tip_radius);
  put_hollow (outline, b, &side);
  if (b->primary > 0.0)
    put (outline, side.knee.x, side.knee.y);
  put (outline, side.foot.x, side.foot.y);
  put (outline, side.foot.x - reach, side.foot.y);
  ScenePolygon polygon = polygon_of (outline);
  mirror (&polygon, b->mirrored);
  return polygon;
}

SceneImage *
scene_render_blade_side (const SceneBladeSide *b, const SceneCamera *camera,
                         SceneBladeSideTruth *truth)
{
  const double reach = reach_of (camera);
  *truth =
    (SceneBladeSideTruth){ b->relief_deg + hollow_turn (b) / DEG, b->top_rake_deg, b->height };
  if (b->face > 0.0)
  {
    const Side at = side_of (b);
    GArray *outline = g_array_new (FALSE, FALSE, sizeof (ScenePoint));
    put_top (outline, b, at.tip, at.top, reach);
    ScenePolygon face = face_of (b, at.tip, at.top, at.front, reach);
    put (outline, face.points[0].x, face.points[0].y);
    put (outline, face.points[3].x, face.points[3].y);
    put (outline, face.points[3].x - reach, face.points[3].y);
    ScenePolygon side = polygon_of (outline);
    mirror (&side, b->mirrored);
    mirror (&face, b->mirrored);
    return render_with_face (&side, &face, b->face_weight, camera);
  }
  ScenePolygon polygon = scene_blade_side_outline (b, reach);
  return render (&polygon, camera);
}
