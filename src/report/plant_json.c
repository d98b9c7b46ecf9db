#include <jansson.h>
#include <math.h>

#include "report/plant.h"

#define DIGITS 10

static json_t *
number (double value)
{
  return isfinite (value) ? json_real (value) : json_null ();
}

static char *
dump (json_t *root)
{
  char *text = json_dumps (root, JSON_REAL_PRECISION (DIGITS));
  json_decref (root);
  return text;
}

static json_t *
left_json (const WsPlantLeft *left)
{
  json_t *wrong = json_array ();
  for (guint i = 0; i < left->wrong->len; i++)
    json_array_append_new (wrong, json_string (g_ptr_array_index (left->wrong, i)));
  return json_pack ("{s:o, s:i, s:i}", "wrong", wrong, "retakes", (int)left->n_retakes, "nameless",
                    (int)left->n_nameless);
}

/* ---- Benches --------------------------------------------------------------------------------- */

static json_t *
bench_json (const WsGauge *gauge)
{
  return json_pack ("{s:s, s:i, s:i, s:o, s:o, s:o, s:o, s:o, s:o, s:b, s:o, s:o, s:o, s:b}",
                    "bench", gauge->name, "n", (int)gauge->n, "weeks", (int)gauge->weeks, "mean",
                    number (gauge->mean), "U", number (gauge->U), "spread", number (gauge->spread),
                    "bias", number (gauge->bias), "U_bias", number (gauge->U_bias), "E_n",
                    number (gauge->en), "apart", wsi_gauge_is_apart (gauge), "moved",
                    number (gauge->moved), "U_moved", number (gauge->U_moved), "days",
                    number (gauge->span_days), "drifts", wsi_gauge_drifts_far (gauge));
}

static json_t *
pairs_json (const WsPlantQuantity *of)
{
  guint n, n_apart;
  json_t *list = json_array ();
  g_autoptr (GArray) pairs = wsi_plant_pairs (of, G_MAXUINT, &n, &n_apart);
  for (guint i = 0; i < pairs->len; i++)
  {
    const WsPlantPair *pair = &g_array_index (pairs, WsPlantPair, i);
    json_array_append_new (list, json_pack ("{s:s, s:s, s:o}", "a", pair->a->name, "b",
                                            pair->b->name, "E_n", number (pair->en)));
  }
  return list;
}

static json_t *
quantity_json (const WsPlantQuantity *of)
{
  json_t *benches = json_array ();
  const char *reference = !of->has_biases ? NULL : of->gauges.by_mean ? "weighted mean" : "given";
  for (gsize i = 0; i < of->gauges.n; i++)
    json_array_append_new (benches, bench_json (&of->gauges.gauges[i]));
  return json_pack ("{s:s, s:s, s:s?, s:o, s:o, s:o, s:o, s:o, s:o}", "view", of->view, "quantity",
                    of->quantity, "reference_is", reference, "reference",
                    number (of->gauges.reference), "U_reference", number (of->gauges.U_reference),
                    "chi_square", number (of->gauges.chi_square), "chi_square_95",
                    number (of->gauges.chi_limit), "benches", benches, "pairs", pairs_json (of));
}

char *
wsi_plant_benches_json (const WsPlantBenches *benches)
{
  json_t *quantities = json_array ();
  for (guint i = 0; i < benches->quantities->len; i++)
    json_array_append_new (quantities, quantity_json (g_ptr_array_index (benches->quantities, i)));
  return dump (json_pack ("{s:s, s:i, s:o, s:o}", "plant", "benches", "inspections",
                          (int)benches->n, "left_out", left_json (&benches->left), "quantities",
                          quantities));
}

/* ---- Lives ----------------------------------------------------------------------------------- */

static json_t *
survival_json (const WsSurvival *survival)
{
  return json_pack ("{s:o, s:o, s:o, s:o}", "median", number (survival->median), "low",
                    number (survival->low), "high", number (survival->high), "longest",
                    number (survival->longest));
}

static json_t *
group_json (const WsPlantLives *lives, const WsPlantGroup *group)
{
  return json_pack (
    "{s:s, s:i, s:i, s:i, s:o, s:o, s:o, s:o, s:b}", "name", group->name, "edges",
    (int)group->by_days.n, "ended", (int)group->by_days.n_ended, "rejected_as_ground",
    (int)group->n_as_ground, "days", survival_json (&group->by_days), "looks",
    survival_json (&group->by_inspections), "expected", number (group->expected), "p",
    number (group->probability), "ends_early", wsi_plant_ends_early (lives, group));
}

char *
wsi_plant_lives_json (const WsPlantLives *lives)
{
  json_t *groups = json_array (), *shortest = json_array ();
  for (guint i = 0; i < lives->groups->len; i++)
    json_array_append_new (groups, group_json (lives, g_ptr_array_index (lives->groups, i)));
  for (guint i = 0; i < lives->shortest->len; i++)
  {
    const WsPlantShort *of = g_ptr_array_index (lives->shortest, i);
    json_array_append_new (shortest,
                           json_pack ("{s:s, s:s, s:s, s:o}", "tool", of->tool, "name", of->name,
                                      "reground", of->from, "days", number (of->days)));
  }
  return dump (json_pack ("{s:s, s:o, s:i, s:i, s:o, s:o}", "plant", "lives", "left_out",
                          left_json (&lives->left), "begun_unseen", (int)lives->n_begun_unseen,
                          "doubted", (int)lives->n_doubted, "groups", groups, "ended", shortest));
}
