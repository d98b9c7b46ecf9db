/*
 * How true the numbers and uncertainties of a rolled drill are: a table over N rendered series, of
 * bent drills in a block that has play.
 *
 *   benchmark-roll [N [FIRST_SEED [FOLDER]]]
 *
 * Pictures are kept in the folder and taken from there the next time: rendering takes most of the
 * time.  With ROLL_EACH in the environment values outside U are told one by one, with ROLL_ALL
 * beside it all values and findings.
 */
#include "scene/roll.h"

#include <glib/gstdio.h>
#include <math.h>
#include <stdlib.h>
#include <whetsight/whetsight.h>

#define DEFAULT_N 100
#define MOST_N 2000

/* A drill is so many diameters long. */
#define LENGTHS 12

enum
{
  RUN_OUT_POINT,
  RUN_OUT_FAR,
  BEND_TILT,
  BEND_DIRECTION,
  POINT_ANGLE,
  HALF_ANGLE_DIFFERENCE,
  LIP_LENGTH_DIFFERENCE,
  LIP_HEIGHT_DIFFERENCE,
  POINT_OFFSET,
  DIAMETER,
  LEAD,
  HELIX,
  WEB,
  RELIEF_A,
  RELIEF_B,
  RELIEF_HALF_A,
  RELIEF_HALF_B,
  CHISEL_ANGLE,
  MARGIN_WIDTH,
  N_TOLD
};

static const char *const stems[N_TOLD] = {
  "run_out_point",
  "run_out_far",
  "bend_tilt",
  "bend_direction",
  "point_angle",
  "half_angle_difference",
  "lip_length_difference",
  "lip_height_difference",
  "point_offset",
  "diameter",
  "lead",
  "helix",
  "web",
  "lip_relief_a",
  "lip_relief_b",
  "lip_relief_half_radius_a",
  "lip_relief_half_radius_b",
  "chisel_edge_angle",
  "margin_width",
};

typedef struct
{
  guint n, within, unknown, wrong; /* wrong: a verdict that the truth contradicts */
  double squares, worst, worst_in_U;
  GArray *U;
} Sums;

typedef struct
{
  const SceneRoll *roll;
  const char *folder;
  gboolean keep;
  guint64 seed;
} Source;

static WsImage *
next (guint i, gpointer data, GError **error)
{
  const Source *source = data;
  const WsImageLimits limits = WS_IMAGE_LIMITS_DEFAULT;
  g_autofree char *name = g_strdup_printf ("%" G_GUINT64_FORMAT "-%03u.png", source->seed, i);
  g_autofree char *path = g_build_filename (source->folder, name, NULL);
  if (!g_file_test (path, G_FILE_TEST_EXISTS))
  {
    g_autoptr (SceneImage) image = scene_render_roll (source->roll, i);
    scene_image_save (image, path, 0);
  }
  WsImage *loaded = ws_image_load (path, &limits, WS_IMAGE_GREY, error);
  if (!source->keep)
    g_remove (path);
  return loaded;
}

/* Which lip is called a hangs on the picture shown. */
static void
fill_truth (const SceneRoll *roll, const SceneRollTruth *truth, const WsResult *result,
            double out[N_TOLD])
{
  const double turn = roll->frame[result->shown].turn_deg;
  const double sign = cos (turn * G_PI / 180) < 0 ? -1 : 1;
  const WsQuantity *far = ws_result_quantity (result, "run_out_far");
  const double below = far != NULL && result->turned != NULL ? result->far_mm : 0;
  const SceneTruth *point = &truth->point;
  const double mirror = roll->drill.left_hand ? -1 : 1;
  out[RUN_OUT_POINT] = truth->run_out_point_mm;
  out[RUN_OUT_FAR] =
    2 * hypot (roll->bend.x - below * roll->bend_tilt.x, roll->bend.y - below * roll->bend_tilt.y);
  out[BEND_TILT] = truth->bend_tilt_deg;
  out[BEND_DIRECTION] = mirror * truth->bend_direction_deg + (sign < 0 ? 180 : 0);
  out[POINT_ANGLE] = point->point_angle_deg;
  out[HALF_ANGLE_DIFFERENCE] = sign * point->half_angle_difference_deg;
  out[LIP_LENGTH_DIFFERENCE] = sign * point->lip_length_difference_mm;
  out[LIP_HEIGHT_DIFFERENCE] = sign * point->lip_height_difference_mm;
  out[POINT_OFFSET] = sign * point->point_offset_mm;
  out[DIAMETER] = point->diameter_mm;
  out[LEAD] = truth->lead_mm;
  out[HELIX] = truth->helix_deg;
  out[WEB] = truth->web_mm;
  const guint a = sign < 0;
  out[RELIEF_A] = truth->lip_relief_deg[a][0];
  out[RELIEF_B] = truth->lip_relief_deg[1 - a][0];
  out[RELIEF_HALF_A] = truth->lip_relief_deg[a][1];
  out[RELIEF_HALF_B] = truth->lip_relief_deg[1 - a][1];
  out[CHISEL_ANGLE] = truth->chisel_edge_angle_deg;
  out[MARGIN_WIDTH] = truth->margin_width_mm;
}

static void
judge (Sums *sums, const WsResult *result, const double *truth, const char *name)
{
  for (guint i = 0; i < N_TOLD; i++)
  {
    const WsQuantity *quantity = ws_result_quantity (result, stems[i]);
    if (quantity == NULL)
    {
      sums[i].unknown++;
      continue;
    }
    double error = quantity->value - truth[i];
    if (i == BEND_DIRECTION)
      error = remainder (error, 360);
    sums[i].n++;
    const gboolean inside = truth[i] >= quantity->lower && truth[i] <= quantity->upper;
    sums[i].wrong += (quantity->verdict == WS_VERDICT_ACCEPT && !inside) ||
                     (quantity->verdict == WS_VERDICT_REJECT && inside);
    sums[i].within += fabs (error) <= quantity->U;
    sums[i].squares += error * error;
    sums[i].worst = MAX (sums[i].worst, fabs (error));
    sums[i].worst_in_U = MAX (sums[i].worst_in_U, fabs (error) / quantity->U);
    g_array_append_val (sums[i].U, quantity->U);
    if (g_getenv ("ROLL_EACH") != NULL &&
        (fabs (error) > quantity->U || g_getenv ("ROLL_ALL") != NULL))
      g_print ("  %s %s: %.5f, U %.5f, error %+.5f\n", name, stems[i], quantity->value, quantity->U,
               error);
  }
}

static gint
by_value (gconstpointer a, gconstpointer b)
{
  const double d = *(const double *)a - *(const double *)b;
  return d < 0 ? -1 : d > 0;
}

static void
report (Sums *sums)
{
  g_print ("%-24s %5s %7s %10s %10s %9s %10s %6s %8s %5s\n", "quantity", "n", "unknown", "RMS",
           "worst", "coverage", "median U", "U/RMS", "worst/U", "wrong");
  for (guint i = 0; i < N_TOLD; i++)
  {
    if (sums[i].n == 0)
      continue;
    g_array_sort (sums[i].U, by_value);
    const double rms = sqrt (sums[i].squares / sums[i].n),
                 U = g_array_index (sums[i].U, double, sums[i].n / 2);
    g_print ("%-24s %5u %7u %10.5f %10.5f %8.1f%% %10.5f %6.2f %8.2f %5u\n", stems[i], sums[i].n,
             sums[i].unknown, rms, sums[i].worst, 100.0 * sums[i].within / sums[i].n, U, U / rms,
             sums[i].worst_in_U, sums[i].wrong);
  }
}

static void
try_series (guint64 seed, const char *folder, gboolean keep, Sums *sums, guint *refused)
{
  SceneRoll roll;
  SceneRollTruth truth;
  GError *error = NULL;
  scene_random_roll (seed, &roll);
  scene_roll_truth (&roll, &truth);
  WsOptics optics = WS_OPTICS_UNKNOWN;
  optics.has_scale = TRUE;
  optics.mm_per_px = roll.camera.mm_per_px;
  Source source = { &roll, folder, keep, seed };
  g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_TWIST_DRILL);
  card->diameter_mm = roll.drill.diameter;
  card->length_mm = LENGTHS * roll.drill.diameter;
  g_autoptr (WsResult) result =
    ws_measure_series (ws_view_find ("drill-roll"), roll.n, next, &source, card, &optics, &error);
  g_autofree char *name = g_strdup_printf ("%" G_GUINT64_FORMAT, seed);
  if (result == NULL || result->reason != WS_RETAKE_NONE)
  {
    g_print ("%s: %s %s\n", name, result != NULL ? ws_retake_code (result->reason) : "",
             result != NULL ? result->detail : error->message);
    g_clear_error (&error);
    *refused += 1;
    return;
  }
  for (guint i = 0; g_getenv ("ROLL_ALL") != NULL && i < result->findings->len; i++)
    g_print ("%s %s\n", name, ((WsFinding *)g_ptr_array_index (result->findings, i))->text);
  double of_truth[N_TOLD];
  fill_truth (&roll, &truth, result, of_truth);
  judge (sums, result, of_truth, name);
}

int
main (int argc, char **argv)
{
  const guint n = argc > 1 ? (guint)strtoul (argv[1], NULL, 10) : DEFAULT_N;
  const guint64 first = argc > 2 ? g_ascii_strtoull (argv[2], NULL, 10) : 1000;
  if (n == 0 || n > MOST_N)
  {
    g_printerr ("usage: benchmark-roll [N [FIRST_SEED [FOLDER]]]\n");
    return 64;
  }
  const gboolean keep = argc > 3;
  g_autofree char *folder = keep ? g_strdup (argv[3]) : g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  if (folder == NULL)
    return 73;
  Sums sums[N_TOLD] = { 0 };
  guint refused = 0;
  for (guint i = 0; i < N_TOLD; i++)
    sums[i].U = g_array_new (FALSE, FALSE, sizeof (double));
  for (guint i = 0; i < n; i++)
    try_series (first + i, folder, keep, sums, &refused);
  report (sums);
  g_print ("%u series, %u refused\n", n, refused);
  for (guint i = 0; i < N_TOLD; i++)
    g_array_unref (sums[i].U);
  if (!keep)
    g_rmdir (folder);
  return 0;
}
