#include "report/plant.h"

#include <math.h>
#include <string.h>

#include <whetsight/view.h>

#include "base/language.h"
#include "base/number.h"
#include "report/text_table.h"
#include "report/told.h"

#define MOST_PAIRS 10
#define MOST_SHORT 10

/* "+0.012", with the places that U shows; "" for unknown.  Free with g_free(). */
static char *
signed_number (double value, guint places)
{
  if (!isfinite (value))
    return g_strdup ("");
  g_autofree char *text = wsi_number_format (value, places);
  return g_strconcat (*text == '-' ? "" : "+", text, NULL);
}

static char *
plain_number (double value, guint places)
{
  return isfinite (value) ? wsi_number_format (value, places) : g_strdup ("");
}

/* ---- Words that text and page share ---------------------------------------------------------- */

const char *
wsi_plant_bench_words (const WsPlantQuantity *of, const WsGauge *gauge)
{
  if (!of->has_biases)
    return N_ ("nothing to compare with");
  if (!isfinite (gauge->en))
    return N_ ("no U to judge by");
  if (wsi_gauge_is_apart (gauge))
    return gauge->bias > 0 ? N_ ("reads too much") : N_ ("reads too little");
  return gauge->weeks < WS_GAUGES_LEAST_SPREAD ? N_ ("agrees, by few weeks") : N_ ("agrees");
}

char *
wsi_plant_drift_words (const WsGauge *gauge)
{
  if (!isfinite (gauge->U_moved))
    return g_strdup_printf (_ ("not enough weeks: %u of %d"), gauge->weeks, WS_GAUGES_LEAST_DRIFT);
  const guint places = wsi_number_places (gauge->U_moved);
  g_autofree char *moved = signed_number (gauge->moved, places);
  g_autofree char *U = plain_number (gauge->U_moved, places);
  return g_strdup_printf (wsi_gauge_drifts_far (gauge) ? _ ("DRIFTS: %s ± %s in %.0f days")
                          : wsi_gauge_drifts (gauge)
                            ? _ ("moves, within its U so far: %s ± %s in %.0f days")
                            : _ ("stands: %s ± %s in %.0f days"),
                          moved, U, gauge->span_days);
}

char *
wsi_plant_reference_words (const WsPlantQuantity *of)
{
  const WsGauges *all = &of->gauges;
  if (!of->has_biases)
    return g_strdup (_ ("no reference, and no second bench: nothing can be said of biases"));
  const guint places = wsi_number_places (all->U_reference);
  g_autofree char *value = plain_number (all->reference, places);
  g_autofree char *U = plain_number (all->U_reference, places);
  return all->by_mean
           ? g_strdup_printf (_ ("against the weighted mean of all benches, %s ± %s: no reference "
                                 "was given"),
                              value, U)
           : g_strdup_printf (_ ("against the reference, %s ± %s"), value, U);
}

char *
wsi_plant_doubt_words (const WsPlantQuantity *of)
{
  const WsGauges *all = &of->gauges;
  if (!(all->chi_square > all->chi_limit))
    return NULL;
  return g_strdup_printf (
    _ (
      "The benches don't agree within their U (chi-square %.1f, up to %.1f is chance): their "
      "mean is no good reference. Measure the master tool by better means, and look at the pairs."),
    all->chi_square, all->chi_limit);
}

char *
wsi_plant_median_words (const WsSurvival *survival, gboolean days)
{
  if (survival->n == 0)
    return g_strdup (_ ("none seen"));
  if (!isfinite (survival->median))
    return g_strdup_printf (days ? _ ("not known: half of them haven't ended, longest %.0f days")
                                 : _ ("not known: half of them haven't ended, longest %.0f looks"),
                            survival->longest);
  g_autofree char *low =
    isfinite (survival->low) ? wsi_number_format (survival->low, 0) : g_strdup (_ ("open"));
  g_autofree char *high =
    isfinite (survival->high) ? wsi_number_format (survival->high, 0) : g_strdup (_ ("open"));
  return g_strdup_printf (days ? _ ("%.0f days (%s to %s)") : _ ("%.0f looks (%s to %s)"),
                          survival->median, low, high);
}

static guint
ended_in_all (const WsPlantLives *lives)
{
  guint n = 0;
  for (guint i = 0; i < lives->groups->len; i++)
    n += ((const WsPlantGroup *)g_ptr_array_index (lives->groups, i))->by_days.n_ended;
  return n;
}

const char *
wsi_plant_group_words (const WsPlantLives *lives, const WsPlantGroup *group)
{
  const guint own = group->by_days.n_ended;
  if (lives->groups->len < 2)
    return N_ ("nobody to compare with");
  if (own < WS_PLANT_LEAST_ENDED || ended_in_all (lives) - own < WS_PLANT_LEAST_ENDED)
    return N_ ("too few have ended to tell");
  return wsi_plant_ends_early (lives, group) ? N_ ("END EARLY") : N_ ("no earlier than others");
}

static void
add_words (GString *text, char *words)
{
  g_string_append_printf (text, "%s%s", text->len > 0 ? "; " : "", words);
  g_free (words);
}

static char *
take_words (GString *text)
{
  return g_string_free (text, text->len == 0);
}

char *
wsi_plant_left_words (const WsPlantLeft *left)
{
  GString *text = g_string_new (NULL);
  if (left->wrong->len > 0)
  {
    g_ptr_array_add (left->wrong, NULL);
    g_autofree char *list = g_strjoinv (", ", (char **)left->wrong->pdata);
    g_ptr_array_remove_index (left->wrong, left->wrong->len - 1);
    add_words (text,
               g_strdup_printf (_ ("%u not as they were written: %s"), left->wrong->len, list));
  }
  if (left->n_retakes > 0)
    add_words (text, g_strdup_printf (_ ("%u retakes"), left->n_retakes));
  if (left->n_nameless > 0)
    add_words (text,
               g_strdup_printf (_ ("%u without a name of bench or grinder"), left->n_nameless));
  return take_words (text);
}

char *
wsi_plant_edges_words (const WsPlantLives *lives)
{
  GString *text = g_string_new (NULL);
  if (lives->n_begun_unseen > 0)
    add_words (text, g_strdup_printf (_ ("%u edges whose regrind isn't in the archive"),
                                      lives->n_begun_unseen));
  if (lives->n_doubted > 0)
    add_words (text,
               g_strdup_printf (_ ("%u edges with an inspection that isn't as it was written"),
                                lives->n_doubted));
  return take_words (text);
}

static int
by_en (gconstpointer a, gconstpointer b)
{
  const double p = fabs (((const WsPlantPair *)a)->en), q = fabs (((const WsPlantPair *)b)->en);
  return p > q ? -1 : p < q;
}

GArray *
wsi_plant_pairs (const WsPlantQuantity *of, guint most, guint *n, guint *n_apart)
{
  const WsGauges *all = &of->gauges;
  GArray *pairs = g_array_new (FALSE, FALSE, sizeof (WsPlantPair));
  *n_apart = 0;
  for (gsize i = 0; i < all->n; i++)
    for (gsize k = i + 1; k < all->n; k++)
    {
      const WsGauge *a = &all->gauges[i], *b = &all->gauges[k];
      const WsPlantPair pair = { a, b, wsi_gauges_en (a->mean, a->U, b->mean, b->U) };
      if (!isfinite (pair.en))
        continue;
      *n_apart += fabs (pair.en) > 1 ? 1 : 0;
      g_array_append_val (pairs, pair);
    }
  *n = pairs->len;
  g_array_sort (pairs, by_en);
  if (pairs->len > most)
    g_array_set_size (pairs, most);
  return pairs;
}

/* ---- Text: benches --------------------------------------------------------------------------- */

static void
append_bench (GString *text, const WsPlantQuantity *of, const WsGauge *gauge, int width)
{
  const guint places = wsi_number_places (gauge->U);
  g_autofree char *mean = plain_number (gauge->mean, places);
  g_autofree char *U = plain_number (gauge->U, places);
  g_autofree char *spread = plain_number (gauge->spread, places);
  g_autofree char *bias = signed_number (gauge->bias, places);
  g_autofree char *U_bias = plain_number (gauge->U_bias, places);
  g_autofree char *en = signed_number (gauge->en, 2);
  g_autofree char *drift = wsi_plant_drift_words (gauge);
  const int pad = width - (int)g_utf8_strlen (gauge->name, -1);
  g_string_append_printf (text, "%s%*s %4" G_GSIZE_FORMAT " %5u %10s %9s %9s %9s %9s %6s  %s; %s\n",
                          gauge->name, pad, "", gauge->n, gauge->weeks, mean, U, spread, bias,
                          U_bias, en, _ (wsi_plant_bench_words (of, gauge)), drift);
}

static void
append_pairs (GString *text, const WsPlantQuantity *of)
{
  guint n, n_apart;
  g_autoptr (GArray) pairs = wsi_plant_pairs (of, MOST_PAIRS, &n, &n_apart);
  if (n == 0)
    return;
  g_string_append_printf (
    text,
    _ ("Pairs of benches with |E_n| above 1: %u of %u (by chance about %.0f); "
       "the furthest apart:\n"),
    n_apart, n, 0.05 * n);
  for (guint i = 0; i < MIN (pairs->len, MAX (n_apart, 1)); i++)
  {
    const WsPlantPair *pair = &g_array_index (pairs, WsPlantPair, i);
    g_autofree char *en = signed_number (pair->en, 2);
    g_string_append_printf (text, "  %s – %s: E_n %s\n", pair->a->name, pair->b->name, en);
  }
}

static void
append_quantity (GString *text, const WsPlantQuantity *of)
{
  int width = (int)g_utf8_strlen (_ ("bench"), -1);
  g_autofree char *label = wsi_told_label (ws_view_lookup, of->view, of->quantity, NULL);
  g_autofree char *reference = wsi_plant_reference_words (of);
  g_autofree char *doubt = wsi_plant_doubt_words (of);
  for (gsize i = 0; i < of->gauges.n; i++)
    width = MAX (width, (int)g_utf8_strlen (of->gauges.gauges[i].name, -1));
  g_string_append_printf (text, "\n%s (%s, %s): %s\n", label, of->view, of->quantity, reference);
  g_string_append_printf (text, "%-*s %4s %5s %10s %9s %9s %9s %9s %6s\n", width, _ ("bench"), "n",
                          _ ("weeks"), _ ("mean"), "U", _ ("spread"), _ ("bias"), _ ("U of it"),
                          "E_n");
  for (gsize i = 0; i < of->gauges.n; i++)
    append_bench (text, of, &of->gauges.gauges[i], width);
  if (doubt != NULL)
    wsi_text_wrap (text, "", doubt, 0);
  append_pairs (text, of);
}

static void
append_left (GString *text, char *words)
{
  if (words != NULL)
    g_string_append_printf (text, _ ("Left out: %s.\n"), words);
  g_free (words);
}

char *
wsi_plant_benches_text (const WsPlantBenches *benches)
{
  GString *text = g_string_new (NULL);
  g_string_append_printf (text, _ ("%u inspections of the master tool.\n"), benches->n);
  append_left (text, wsi_plant_left_words (&benches->left));
  for (guint i = 0; i < benches->quantities->len; i++)
    append_quantity (text, g_ptr_array_index (benches->quantities, i));
  if (benches->quantities->len > 0)
  {
    g_string_append_c (text, '\n');
    wsi_text_wrap (text, "",
                   _ ("U is for 95 %. A bench agrees where E_n, its bias over U of that, is 1 at "
                      "most; of benches that are right about 1 in 20 comes out beyond it, and as "
                      "many seem to drift. Look twice before one is stopped."),
                   0);
  }
  return g_string_free (text, FALSE);
}

/* ---- Text: lives ----------------------------------------------------------------------------- */

static void
append_group (GString *text, const WsPlantLives *lives, const WsPlantGroup *group)
{
  g_autofree char *days = wsi_plant_median_words (&group->by_days, TRUE);
  g_autofree char *looks = wsi_plant_median_words (&group->by_inspections, FALSE);
  g_string_append_printf (text, "\n%s: %s\n", group->name,
                          _ (wsi_plant_group_words (lives, group)));
  g_string_append_printf (text,
                          _ ("  %u edges, %u ended by a reject; as many as all others' would be "
                             "%.1f"),
                          group->by_days.n, group->by_days.n_ended,
                          isfinite (group->expected) ? group->expected : 0);
  if (isfinite (group->probability))
    g_string_append_printf (text, _ (", by chance p = %.3g"), group->probability);
  g_string_append_printf (text, _ ("\n  half have ended after %s\n  and after %s\n"), days, looks);
  if (group->n_as_ground > 0)
    g_string_append_printf (text, _ ("  %u more were rejected as they were ground\n"),
                            group->n_as_ground);
}

static void
append_shortest (GString *text, const WsPlantLives *lives)
{
  if (lives->shortest->len == 0)
    return;
  g_string_append_printf (text, "\n%s\n", _ ("Those that ended first:"));
  for (guint i = 0; i < MIN (lives->shortest->len, MOST_SHORT); i++)
  {
    const WsPlantShort *of = g_ptr_array_index (lives->shortest, i);
    g_string_append_printf (text, _ ("  %s, %s, reground %s: after %.1f days\n"), of->tool,
                            of->name, of->from, of->days);
  }
}

char *
wsi_plant_lives_text (const WsPlantLives *lives)
{
  GString *text = g_string_new (NULL);
  append_left (text, wsi_plant_left_words (&lives->left));
  append_left (text, wsi_plant_edges_words (lives));
  if (lives->groups->len == 0)
    g_string_append (text, _ ("No edge's regrind is in the archive: say --reground when a tool is "
                              "measured after one, and --grinder who ground it.\n"));
  for (guint i = 0; i < lives->groups->len; i++)
    append_group (text, lives, g_ptr_array_index (lives->groups, i));
  append_shortest (text, lives);
  if (lives->groups->len > 0)
  {
    g_string_append_c (text, '\n');
    wsi_text_wrap (text, "",
                   _ ("An edge ends with its first reject; one that is in use or was reground "
                      "before counts as having lasted so long at least (Kaplan and Meier; "
                      "intervals for 95 %). Days are those at which it was looked at, and say "
                      "nothing of how much it cut."),
                   0);
  }
  return g_string_free (text, FALSE);
}
