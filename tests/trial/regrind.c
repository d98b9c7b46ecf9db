/* Regrinds with known truth.  See regrind.h. */
#include "regrind.h"

#include <glib/gstdio.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include <whetsight/set_out.h>

static WsImage *
load (const SceneImage *scene)
{
  g_autofree char *folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  g_autofree char *path = g_build_filename (folder, "picture.png", NULL);
  WsImage *image =
    scene_image_save (scene, path, 0) ? ws_image_load (path, NULL, WS_IMAGE_GREY, NULL) : NULL;
  g_remove (path);
  g_rmdir (folder);
  return image;
}

/* Error and U of a quantity, px; U without what the scenes leave out: how well a tool seats, how it
 * lies, and what an unknown lens bends. */
static gboolean
is_left_out (const char *line)
{
  return strstr (line, "stop") != NULL || g_str_has_prefix (line, "alignment:") ||
         g_str_equal (line, "unknown lens");
}

static void
compare (const WsResult *result, const char *stem, double truth_mm, double mm_per_px, double *error,
         double *U)
{
  const WsQuantity *q = ws_result_quantity (result, stem);
  if (q == NULL || !q->known)
    return;
  *error = (q->value - truth_mm) / mm_per_px;
  double squares = 0;
  for (guint i = 0; i < q->budget->len; i++)
  {
    const WsBudgetLine *line = &g_array_index (q->budget, WsBudgetLine, i);
    const double part = line->u * line->sensitivity;
    squares += is_left_out (line->name) ? 0 : part * part;
  }
  *U = q->k * sqrt (squares) / mm_per_px;
}

void
trial_regrind_measure (SceneRegrindKind kind, guint64 seed, TrialRegrind *regrind)
{
  static const char *const views[SCENE_N_REGRINDS] = { "drill-side", "blade-plan", "blade-side",
                                                       "form-plan", "drill-side" };
  SceneRegrind scene;
  scene_regrind (kind, seed, &scene);
  *regrind = (TrialRegrind){ NULL, NAN, NAN, NAN, NAN };
  WsOptics optics = WS_OPTICS_UNKNOWN;
  optics.has_scale = TRUE;
  optics.mm_per_px = scene.mm_per_px;
  g_autoptr (WsImage) before = load (scene.before);
  g_autoptr (WsImage) after = load (scene.after);
  const WsSetOutPicture pictures[2] = { { before, &optics }, { after, &optics } };
  g_autoptr (WsResult) result =
    ws_set_out_measure (ws_view_find (views[kind]), &pictures[0], &pictures[1], WS_REFERENCE_STOP);
  if (result->reason != WS_RETAKE_NONE)
    regrind->refused = g_strdup_printf ("%s: %s", ws_retake_code (result->reason),
                                        result->detail != NULL ? result->detail : "");
  compare (result, "shorter", scene.shorter, scene.mm_per_px, &regrind->error, &regrind->U);
  compare (result, "shorter_at_point", scene.shorter_at_point, scene.mm_per_px,
           &regrind->point_error, &regrind->point_U);
  compare (result, "lower", scene.lower, scene.mm_per_px, &regrind->point_error, &regrind->point_U);
  scene_regrind_clear (&scene);
}

void
trial_regrind_clear (TrialRegrind *regrind)
{
  g_clear_pointer (&regrind->refused, g_free);
}

typedef struct
{
  guint n, inside, near;
  double squares, worst;
  GArray *U;
} Sum;

static void
add (Sum *sum, double error, double U)
{
  if (isnan (error))
    return;
  sum->n++;
  sum->inside += fabs (error) <= U;
  sum->near += fabs (error) <= 0.5;
  sum->squares += error * error;
  sum->worst = MAX (sum->worst, fabs (error));
  g_array_append_val (sum->U, U);
}

static int
by_size (gconstpointer a, gconstpointer b)
{
  const double p = *(const double *)a, q = *(const double *)b;
  return p < q ? -1 : p > q;
}

static void
print (const char *kind, const char *what, Sum *sum)
{
  if (sum->n == 0)
    return;
  g_array_sort (sum->U, by_size);
  const double rms = sqrt (sum->squares / sum->n);
  const double U = g_array_index (sum->U, double, sum->n / 2);
  printf ("%-6s %-8s %3u measured, RMS %.3f px, worst %.3f, within 0.5 px %u, inside U %u, median "
          "U / RMS %.1f\n",
          kind, what, sum->n, rms, sum->worst, sum->near, sum->inside, U / rms);
}

static gboolean
run_kind (SceneRegrindKind kind, guint n, guint64 seed, gboolean each)
{
  Sum edge = { .U = g_array_new (FALSE, FALSE, sizeof (double)) };
  Sum other = { .U = g_array_new (FALSE, FALSE, sizeof (double)) };
  guint refused = 0;
  for (guint i = 0; i < n; i++)
  {
    TrialRegrind one;
    trial_regrind_measure (kind, seed + i, &one);
    refused += one.refused != NULL;
    add (&edge, one.error, one.U);
    add (&other, one.point_error, one.point_U);
    if (each || one.refused != NULL || fabs (one.error) > MIN (one.U, 0.5) ||
        fabs (one.point_error) > MIN (one.point_U, 0.5))
      printf ("  %s %u: %s error %.3f U %.3f, other %.3f U %.3f px\n", scene_regrind_name (kind),
              (guint)(seed + i), one.refused != NULL ? one.refused : "", one.error, one.U,
              one.point_error, one.point_U);
    fflush (stdout);
    trial_regrind_clear (&one);
  }
  print (scene_regrind_name (kind), "edge", &edge);
  print (scene_regrind_name (kind), kind == SCENE_REGRIND_SIDE ? "height" : "point", &other);
  if (refused > 0)
    printf ("%-6s refused %u of %u\n", scene_regrind_name (kind), refused, n);
  const gboolean good = edge.inside == edge.n && edge.near == edge.n && other.inside == other.n &&
                        other.near == other.n;
  g_array_unref (edge.U);
  g_array_unref (other.U);
  return good;
}

int
regrind_main (int argc, char **argv)
{
  g_autofree char *only = NULL;
  int n = 50, seed = 1;
  gboolean each = FALSE, good = TRUE;
  const GOptionEntry entries[] = {
    { "kind", 'k', 0, G_OPTION_ARG_STRING, &only, "Tools of this kind alone", "KIND" },
    { "n", 'n', 0, G_OPTION_ARG_INT, &n, "So many of each", "N" },
    { "seed", 's', 0, G_OPTION_ARG_INT, &seed, "The first one", "SEED" },
    { "each", 'e', 0, G_OPTION_ARG_NONE, &each, "Tell each", NULL },
    { NULL, 0, 0, 0, NULL, NULL, NULL },
  };
  g_autoptr (GOptionContext) context = g_option_context_new (NULL);
  g_autoptr (GError) error = NULL;
  g_option_context_add_main_entries (context, entries, NULL);
  if (!g_option_context_parse (context, &argc, &argv, &error))
  {
    g_printerr ("trial: %s\n", error->message);
    return 64;
  }
  for (guint k = 0; k < SCENE_N_REGRINDS; k++)
    if (only == NULL || g_str_equal (only, scene_regrind_name ((SceneRegrindKind)k)))
      good = run_kind ((SceneRegrindKind)k, (guint)n, (guint64)seed, each) && good;
  return good ? 0 : 1;
}
