/* Wire edges with known truth.  See burr.h. */
#include "burr.h"

#include <glib/gstdio.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "scene/blade.h"
#include "scene/burr.h"
#include "scene/profile.h"
#include "trial.h"

/* ---- What stands on an edge -------------------------------------------------------------- */

#define N_PLACES 600

/* A straight edge of a tool, the tool on its right, mm. */
typedef struct
{
  ScenePoint from, to;
} Edge;

/* Between the edge and the wire edge's teeth; tells its greatest height and its length between the
 * outermost places of a quarter of that. */
static ScenePolygon
wire_on (const Edge *edge, const SceneBurr *burr, double *height, double *length)
{
  const double dx = edge->to.x - edge->from.x, dy = edge->to.y - edge->from.y;
  const double whole = hypot (dx, dy);
  ScenePolygon polygon = { g_new (ScenePoint, N_PLACES + 1), N_PLACES + 1, 1.0 };
  g_autofree double *heights = g_new (double, N_PLACES + 1);
  *height = 0;
  for (guint i = 0; i <= N_PLACES; i++)
  {
    const double place = burr->from + (burr->to - burr->from) * i / N_PLACES;
    heights[i] = burr_height (burr, whole, place);
    *height = MAX (*height, heights[i]);
    polygon.points[i] = (ScenePoint){ edge->from.x + place * dx - heights[i] * dy / whole,
                                      edge->from.y + place * dy + heights[i] * dx / whole };
  }
  guint first = N_PLACES, last = 0;
  for (guint i = 0; i <= N_PLACES; i++)
    if (heights[i] >= 0.25 * *height)
    {
      first = MIN (first, i);
      last = i;
    }
  *length = (burr->to - burr->from) * (last - first) / N_PLACES * whole;
  return polygon;
}

ScenePolygon
trial_burr_flake (ScenePoint at, ScenePoint inward, ScenePoint along, double length, double root,
                  double tip)
{
  ScenePolygon polygon = { g_new (ScenePoint, 5), 5, 1.0 };
  const double dx = along.x, dy = along.y;
  const ScenePoint out = { at.x + length * dx, at.y + length * dy };
  polygon.points[0] = (ScenePoint){ at.x - 0.5 * root * dy, at.y + 0.5 * root * dx };
  polygon.points[1] = (ScenePoint){ at.x + root * inward.x, at.y + root * inward.y };
  polygon.points[2] = (ScenePoint){ at.x + 0.5 * root * dy, at.y - 0.5 * root * dx };
  polygon.points[3] = (ScenePoint){ out.x + 0.5 * tip * dy, out.y - 0.5 * tip * dx };
  polygon.points[4] = (ScenePoint){ out.x - 0.5 * tip * dy, out.y + 0.5 * tip * dx };
  return polygon;
}

/* ---- Scenes -------------------------------------------------------------------------------- */

#define LOWEST_MM 0.005
#define HIGHEST_MM 0.1
#define MOST_PART 0.08

typedef enum
{
  CLEAN,
  FAULTY, /* clean but for a chip, or wear */
  TORN,
  ROLLED,
  TORN_TOO
} Mode;

typedef struct
{
  TrialBurrKind kind;
  guint64 seed;
  Mode mode;
  SceneRng rng;
  SceneCamera camera;
  SceneImage *image;
  GString *card;
  const char *view;
  char *folder;
  TrialBurr *burr;
} Shot;

static double
log_uniform (SceneRng *rng, double low, double high)
{
  return exp (scene_rng_uniform (rng, log (low), log (high)));
}

static gboolean
has_wire (const Shot *shot)
{
  return shot->mode >= TORN;
}

/* Long and low, as wire edges are, on an edge so long, mm. */
static SceneBurr
wire_of (Shot *shot, double edge)
{
  const gboolean rolled = shot->mode == ROLLED;
  const double share = scene_rng_uniform (&shot->rng, 0.15, 0.6);
  const double highest = MIN (HIGHEST_MM, MOST_PART * share * edge);
  SceneBurr burr = { .height = log_uniform (&shot->rng, LOWEST_MM, highest), .rolled = rolled };
  burr.from = scene_rng_uniform (&shot->rng, 0.15, 0.9 - share);
  burr.to = burr.from + share;
  burr.taper = scene_rng_uniform (&shot->rng, 0.02, rolled ? 0.5 : 0.3);
  burr.grain = shot->camera.mm_per_px * log_uniform (&shot->rng, rolled ? 40.0 : 3.0, 300.0);
  burr.seed = scene_rng_next (&shot->rng);
  return burr;
}

static void
set_truth (Shot *shot, guint k, double height_mm, double length_mm)
{
  shot->burr->height[k].truth = height_mm / shot->camera.mm_per_px;
  shot->burr->length[k].truth = length_mm / shot->camera.mm_per_px;
}

static double
lip_of (const SceneDrill *drill)
{
  return 0.5 * drill->diameter / sin (drill->design_half_angle * G_PI / 180.0);
}

static void
render_drill (Shot *shot)
{
  SceneDrill drill;
  SceneTruth truth;
  const SceneMode good[] = { SCENE_GOOD, SCENE_UNEQUAL, SCENE_OFFSET, SCENE_HEIGHT };
  const gboolean faulty = shot->mode == FAULTY || shot->mode == TORN_TOO;
  const SceneMode mode = faulty ? (shot->seed / 5 % 2 == 0 ? SCENE_CHIP : SCENE_CORNER)
                                : good[shot->seed / 5 % G_N_ELEMENTS (good)];
  scene_random (shot->seed, mode, &drill, &shot->camera);
  if (shot->kind == TRIAL_BURR_SPOT)
  {
    drill.design_half_angle = 45.0;
    drill.web *= 0.7;
    drill.half_angle_a = 45.0 + 0.3 * scene_rng_normal (&shot->rng);
    drill.half_angle_b = 45.0 + 0.3 * scene_rng_normal (&shot->rng);
  }
  /* A chip would break it off. */
  const gboolean on_a =
    drill.chip_b.depth > 0 || (!(drill.chip_a.depth > 0) && scene_rng_next (&shot->rng) % 2 == 0);
  if (has_wire (shot))
    *(on_a ? &drill.burr_a : &drill.burr_b) = wire_of (shot, lip_of (&drill));
  shot->image = scene_render (&drill, &shot->camera, &truth);
  set_truth (shot, 0, truth.burr_height_a_mm, truth.burr_length_a_mm);
  set_truth (shot, 1, truth.burr_height_b_mm, truth.burr_length_b_mm);
  shot->burr->n = 2;
  shot->burr->chipped[0] = truth.chip_depth_a_mm > 0;
  shot->burr->chipped[1] = truth.chip_depth_b_mm > 0;
  shot->view = "drill-side";
  g_string_append (shot->card, shot->kind == TRIAL_BURR_SPOT
                                 ? "[tool]\nid = QT-H-0001\nkind = spot-drill\n"
                                 : "[tool]\nid = QT-H-0001\nkind = twist-drill\n");
}

/* Both in the camera's picture; frees them. */
static void
render (Shot *shot, ScenePolygon tool, ScenePolygon metal)
{
  ScenePolygon both[2] = { tool, metal };
  const guint n = metal.n > 0 ? 2 : 1;
  for (guint i = 0; i < n; i++)
    scene_camera_project (&shot->camera, &both[i]);
  shot->image = scene_render_polygons (both, n, &shot->camera);
  for (guint i = 0; i < 2; i++)
    g_free (both[i].points);
  shot->burr->n = 1;
}

static void
render_on_edge (Shot *shot, ScenePolygon tool, const Edge *edge)
{
  ScenePolygon metal = { NULL, 0, 1.0 };
  double height = 0, length = 0;
  if (has_wire (shot))
  {
    const SceneBurr burr =
      wire_of (shot, hypot (edge->to.x - edge->from.x, edge->to.y - edge->from.y));
    metal = wire_on (edge, &burr, &height, &length);
  }
  set_truth (shot, 0, height, length);
  render (shot, tool, metal);
}

static double
reach_of (const SceneCamera *camera)
{
  return 0.75 * hypot (camera->width, camera->height) * camera->mm_per_px;
}

static void
render_blade_plan (Shot *shot)
{
  SceneBladePlan blade;
  SceneBladePlanTruth truth;
  scene_random_blade_plan (shot->seed, shot->mode == FAULTY ? SCENE_BLADE_CHIP : SCENE_BLADE_GOOD,
                           &blade, &shot->camera);
  const double half = 0.5 * blade.width, rise = half * tan (blade.rake_deg * G_PI / 180.0);
  const Edge edge = { { -half, -rise }, { half, rise } };
  render_on_edge (shot, scene_blade_plan_outline (&blade, reach_of (&shot->camera), &truth), &edge);
  shot->burr->chipped[0] = truth.chip_depth_mm > 0;
  shot->view = "blade-plan";
  g_string_append (shot->card, "[tool]\nid = QT-H-0002\nkind = cutoff-blade\n");
}

static void
render_form_plan (Shot *shot)
{
  SceneProfile profile;
  scene_profile_random (shot->seed, &profile, &shot->camera);
  g_autofree char *nominal = scene_profile_text (&profile);
  g_autofree char *path = g_build_filename (shot->folder, "nominal.profile", NULL);
  g_file_set_contents (path, nominal, -1, NULL);
  const Edge edge = { profile.segments[1].to, profile.segments[2].to };
  render_on_edge (shot, scene_profile_outline (&profile), &edge);
  shot->view = "form-plan";
  g_string_append (shot->card, "[tool]\nid = QT-H-0003\nkind = form-tool\n"
                               "nominal_profile = nominal.profile\n[limits]\n"
                               "profile_deviation_max_mm = .. 0.03\n"
                               "profile_deviation_min_mm = -0.03 ..\n");
}

static double
cross (ScenePoint a, ScenePoint b)
{
  return a.x * b.y - a.y * b.x;
}

/* Distance of a place outside of the wedge between top and front, whose unit vectors lead away from
 * the tip. */
static double
outside (ScenePoint p, ScenePoint top, ScenePoint front)
{
  const double sense = cross (top, front) > 0 ? 1 : -1;
  const double over_top = -sense * cross (top, p), before_front = sense * cross (front, p);
  if (over_top > 0 && p.x * top.x + p.y * top.y > 0)
    return over_top;
  if (before_front > 0 && p.x * front.x + p.y * front.y > 0)
    return before_front;
  return over_top > 0 || before_front > 0 ? hypot (p.x, p.y) : 0;
}

/* A flake at the tip, somewhere between the top's and the front's own directions, bent over by up
 * to 40 degrees more. */
static void
render_blade_side (Shot *shot)
{
  SceneBladeSide blade;
  scene_random_blade_side (shot->seed, shot->mode == FAULTY ? SCENE_BLADE_WORN : SCENE_BLADE_GOOD,
                           &blade, &shot->camera);
  /* Near enough to see an edge by. */
  const double nearer = log_uniform (&shot->rng, 0.1, 0.7);
  shot->camera.mm_per_px *= nearer;
  blade.height *= nearer;
  blade.tip_radius *= nearer;
  const double turn = blade.top_rake_deg * G_PI / 180.0, relief = blade.relief_deg * G_PI / 180.0,
               half = 0.5 * blade.height, sense = blade.mirrored ? -1 : 1;
  const ScenePoint tip = { 0, half };
  const ScenePoint top = { -sense * cos (turn), -sin (turn) },
                   front = { -sense * sin (relief), -cos (relief) };
  ScenePolygon metal = { NULL, 0, 1.0 };
  double height = 0;
  if (has_wire (shot))
  {
    const double length = log_uniform (&shot->rng, LOWEST_MM, HIGHEST_MM);
    const double root = length * scene_rng_uniform (&shot->rng, 0.25, 0.6);
    const double bend = scene_rng_uniform (&shot->rng, -40.0, 110.0) * G_PI / 180.0;
    /* From down along the front (-90) by straight ahead (0) to up (90), in the blade's frame. */
    const double angle = bend - 0.15;
    const double across = hypot (top.x + front.x, top.y + front.y),
                 thin = root * (shot->mode == ROLLED ? 1.0 : 0.5);
    const ScenePoint along = { sense * cos (angle), sin (angle) },
                     inward = { (top.x + front.x) / across, (top.y + front.y) / across };
    metal = trial_burr_flake (tip, inward, along, length, root, thin);
    for (guint i = 3; i < 5; i++)
    {
      const ScenePoint p = { metal.points[i].x - tip.x, metal.points[i].y - tip.y };
      height = MAX (height, outside (p, top, front));
    }
  }
  set_truth (shot, 0, height, NAN);
  render (shot, scene_blade_side_outline (&blade, reach_of (&shot->camera)), metal);
  const gboolean is_form = shot->kind == TRIAL_BURR_FORM_SIDE;
  shot->view = is_form ? "form-side" : "blade-side";
  g_string_append (shot->card, is_form ? "[tool]\nid = QT-H-0004\nkind = form-tool\n[limits]\n"
                                         "front_relief_deg = 0 .. 20\n"
                                       : "[tool]\nid = QT-H-0004\nkind = cutoff-blade\n");
}

/* ---- Measuring ------------------------------------------------------------------------------ */

static double
part_of (const json_t *record, const char *quantity, const char *part)
{
  const json_t *number =
    json_object_get (json_object_get (json_object_get (record, "quantities"), quantity), part);
  return json_is_number (number) ? json_number_value (number) : NAN;
}

static void
take_number (const Shot *shot, const json_t *record, const char *name, TrialBurrNumber *number)
{
  const double px = shot->camera.mm_per_px;
  number->told = trial_value (record, name) / px;
  number->U = part_of (record, name, "U") / px;
  number->least = part_of (record, name, "smallest_seen") / px;
}

static gboolean
is_told (const json_t *record, const char *code)
{
  gsize i;
  json_t *finding;
  json_array_foreach (json_object_get (record, "findings"), i,
                      finding) if (g_strcmp0 (trial_text (finding, "code"), code) == 0) return TRUE;
  return FALSE;
}

static void
take_record (const Shot *shot, const json_t *record)
{
  TrialBurr *burr = shot->burr;
  const gboolean both = burr->n == 2;
  for (guint k = 0; k < burr->n; k++)
  {
    static const char *const sides[] = { "_a", "_b" };
    const char *side = both ? sides[k] : "";
    g_autofree char *height = g_strdup_printf ("burr_height%s_mm", side);
    g_autofree char *length = g_strdup_printf ("burr_length%s_mm", side);
    g_autofree char *chip = g_strdup_printf ("chip_depth%s_mm", side);
    take_number (shot, record, height, &burr->height[k]);
    take_number (shot, record, length, &burr->length[k]);
    burr->told_chip[k] = trial_value (record, chip) > 0;
  }
  burr->told_wire = is_told (record, "wire-edge");
  burr->told_dirt = is_told (record, "dirt");
  burr->verdict = g_strdup (trial_text (record, "verdict"));
  if (g_strcmp0 (burr->verdict, "retake") == 0)
    burr->retake =
      g_strdup_printf ("%s: %s", trial_text (record, "reason"), trial_text (record, "detail"));
}

static void
remove_all (const char *folder)
{
  static const char *const names[] = { "tool.png", "a.tool", "nominal.profile" };
  for (gsize i = 0; i < G_N_ELEMENTS (names); i++)
  {
    g_autofree char *path = g_build_filename (folder, names[i], NULL);
    g_remove (path);
  }
  g_rmdir (folder);
}

void
trial_burr_measure (const char *program, TrialBurrKind kind, guint64 seed, TrialBurr *burr)
{
  static void (*const renderers[TRIAL_BURR_N_KINDS]) (Shot *) = {
    render_drill,      render_drill,     render_blade_plan,
    render_blade_side, render_form_plan, render_blade_side,
  };
  *burr = (TrialBurr){ .n = 1 };
  Shot shot = { .kind = kind, .seed = seed, .mode = (Mode)(seed % 5), .burr = burr };
  scene_rng_init (&shot.rng, seed ^ (G_GUINT64_CONSTANT (0xb0) << 40 | (guint64)kind << 32));
  shot.card = g_string_new (NULL);
  shot.folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  renderers[kind](&shot);
  g_autofree char *picture = g_build_filename (shot.folder, "tool.png", NULL);
  g_autofree char *card = g_build_filename (shot.folder, "a.tool", NULL);
  char scale[G_ASCII_DTOSTR_BUF_SIZE];
  g_ascii_dtostr (scale, sizeof scale, shot.camera.mm_per_px);
  const char *const options[] = { "--tool", card, "--scale", scale, NULL };
  if (scene_image_save (shot.image, picture, 0) &&
      g_file_set_contents (card, shot.card->str, -1, NULL))
  {
    g_autoptr (TrialRun) run = trial_measure_with (program, shot.view, picture, options);
    if (run->record != NULL)
      take_record (&shot, run->record);
  }
  remove_all (shot.folder);
  scene_image_free (shot.image);
  g_string_free (shot.card, TRUE);
  g_free (shot.folder);
}

void
trial_burr_clear (TrialBurr *burr)
{
  g_clear_pointer (&burr->retake, g_free);
  g_clear_pointer (&burr->verdict, g_free);
}

/* ---- Sums ----------------------------------------------------------------------------------- */

typedef struct
{
  guint n, inside, near;
  double squares, worst;
  GArray *U;
} Sum;

typedef struct
{
  Sum height, length;
  guint scenes, retakes, edges, wires, below, unseen, unknown, dirty;
  guint clean, clean_unknown, invented, chips, rejected;
} Counts;

static void
add (Sum *sum, const TrialBurrNumber *number)
{
  const double error = number->told - number->truth;
  sum->n++;
  sum->inside += fabs (error) <= number->U;
  sum->near += fabs (error) <= 0.2 * number->truth + 1;
  sum->squares += error * error;
  sum->worst = MAX (sum->worst, fabs (error));
  g_array_append_val (sum->U, number->U);
}

static int
by_size (gconstpointer a, gconstpointer b)
{
  const double p = *(const double *)a, q = *(const double *)b;
  return p < q ? -1 : p > q;
}

static void
print_sum (const char *kind, const char *what, Sum *sum)
{
  if (sum->n == 0)
    return;
  g_array_sort (sum->U, by_size);
  const double rms = sqrt (sum->squares / sum->n);
  printf ("%-10s %-6s %3u told, RMS %.3f px, worst %.3f, within a fifth and 1 px %u, inside U %u, "
          "median U / RMS %.1f\n",
          kind, what, sum->n, rms, sum->worst, sum->near, sum->inside,
          g_array_index (sum->U, double, sum->n / 2) / rms);
}

/* TRUE where it has to be looked at. */
static gboolean
count_edge (const TrialBurr *burr, guint k, Counts *counts)
{
  const TrialBurrNumber *height = &burr->height[k], *length = &burr->length[k];
  const gboolean mistaken = burr->told_chip[k] && !burr->chipped[k];
  counts->edges++;
  counts->chips += mistaken ? 1 : 0;
  if (!(height->truth > 0))
  {
    counts->clean++;
    counts->clean_unknown += isnan (height->told) ? 1 : 0;
    counts->invented += height->told > 0 ? 1 : 0;
    return mistaken || height->told > 0;
  }
  counts->wires++;
  counts->unknown += isnan (height->told) ? 1 : 0;
  if (!(height->told > 0))
  {
    counts->below += height->told <= 0 && height->truth <= height->least;
    counts->unseen += height->told <= 0 && height->truth > height->least;
    return mistaken || height->told <= 0 ? height->truth > height->least : TRUE;
  }
  add (&counts->height, height);
  if (!isnan (length->told) && length->truth > 0)
    add (&counts->length, length);
  const double error = fabs (height->told - height->truth);
  return mistaken || error > MIN (height->U, 0.2 * height->truth + 1) ||
         (!isnan (length->told) && fabs (length->told - length->truth) > length->U);
}

static void
print_edge (const char *kind, guint64 seed, const TrialBurr *burr, guint k)
{
  const TrialBurrNumber *height = &burr->height[k], *length = &burr->length[k];
  printf ("  %s %u %c: height %.2f told %.2f U %.2f least %.2f, length %.1f told %.1f U %.1f px%s%s"
          "%s, %s\n",
          kind, (guint)seed, k == 0 ? 'a' : 'b', height->truth, height->told, height->U,
          height->least, length->truth, length->told, length->U,
          burr->told_chip[k] ? burr->chipped[k] ? ", chip" : ", CHIP" : "",
          burr->told_wire ? ", wire-edge" : "", burr->told_dirt ? ", dirt" : "", burr->verdict);
  fflush (stdout);
}

static const char *const names[TRIAL_BURR_N_KINDS] = { "drill",      "spot",      "blade-plan",
                                                       "blade-side", "form-plan", "form-side" };

static gboolean
run_kind (const char *program, TrialBurrKind kind, guint n, guint64 seed, gboolean each)
{
  Counts counts = { .height.U = g_array_new (FALSE, FALSE, sizeof (double)),
                    .length.U = g_array_new (FALSE, FALSE, sizeof (double)) };
  for (guint i = 0; i < n; i++)
  {
    TrialBurr burr;
    trial_burr_measure (program, kind, seed + i, &burr);
    counts.scenes++;
    counts.retakes += burr.retake != NULL;
    gboolean is_clean = TRUE;
    if (burr.retake != NULL)
      printf ("  %s %u: height %.2f %.2f px: %s\n", names[kind], (guint)(seed + i),
              burr.height[0].truth, burr.height[1].truth, burr.retake);
    for (guint k = 0; burr.retake == NULL && k < burr.n; k++)
    {
      is_clean = is_clean && !(burr.height[k].truth > 0);
      if (count_edge (&burr, k, &counts) || each)
        print_edge (names[kind], seed + i, &burr, k);
    }
    counts.dirty += burr.retake == NULL && burr.told_dirt;
    counts.rejected += burr.retake == NULL && !is_clean && g_strcmp0 (burr.verdict, "reject") == 0;
    trial_burr_clear (&burr);
  }
  print_sum (names[kind], "height", &counts.height);
  print_sum (names[kind], "length", &counts.length);
  printf (
    "%-10s %u scenes, %u retakes; %u edges with one: %u told as none, lower than the smallest "
    "seen, %u as none though higher, %u unknown; %u clean edges: %u unknown, %u invented; "
    "%u taken for chips, %u pictures said to be dirty, %u rejected\n",
    names[kind], counts.scenes, counts.retakes, counts.wires, counts.below, counts.unseen,
    counts.unknown, counts.clean, counts.clean_unknown, counts.invented, counts.chips, counts.dirty,
    counts.rejected);
  g_array_unref (counts.height.U);
  g_array_unref (counts.length.U);
  return counts.invented + counts.chips + counts.unseen == 0 &&
         counts.height.near == counts.height.n;
}

int
burr_main (int argc, char **argv)
{
  g_autofree char *only = NULL;
  int n = 50, seed = 1;
  gboolean each = FALSE, good = TRUE;
  const GOptionEntry entries[] = {
    { "kind", 'k', 0, G_OPTION_ARG_STRING, &only, "Tools and views of this kind alone", "KIND" },
    { "n", 'n', 0, G_OPTION_ARG_INT, &n, "So many pictures of each", "N" },
    { "seed", 's', 0, G_OPTION_ARG_INT, &seed, "The first one", "SEED" },
    { "each", 'e', 0, G_OPTION_ARG_NONE, &each, "Tell each", NULL },
    { NULL, 0, 0, 0, NULL, NULL, NULL },
  };
  g_autoptr (GOptionContext) context = g_option_context_new ("PROGRAM");
  g_autoptr (GError) error = NULL;
  g_option_context_add_main_entries (context, entries, NULL);
  if (!g_option_context_parse (context, &argc, &argv, &error) || argc != 2)
  {
    g_printerr ("trial: %s\n", error != NULL ? error->message : "name the program");
    return 64;
  }
  for (guint k = 0; k < TRIAL_BURR_N_KINDS; k++)
    if (only == NULL || g_str_equal (only, names[k]))
      good = run_kind (argv[1], (TrialBurrKind)k, (guint)n, (guint64)seed, each) && good;
  return good ? 0 : 1;
}
