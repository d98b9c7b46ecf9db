#include "report/history.h"

#include <jansson.h>
#include <math.h>
#include <string.h>

#include "base/language.h"
#include "base/number.h"

/* Where a length is seen in the picture, and a regrind takes of it. */
#define SEEN_LENGTH "tip_height_mm"

/* U of what is told. */
#define K 2.0

typedef struct
{
  WsHistory *history;
  GHashTable *wear;    /* name -> WsWear */
  GHashTable *use;     /* view and name -> the last use on this edge, as double * */
  GHashTable *changes; /* name -> how many its growth is the sum of, as guint */
  double before;       /* last length before the regrind that is open; NAN */
  gboolean is_open;    /* a regrind whose length isn't known yet */
} Walk;

static double
number_at (const json_t *object, const char *key)
{
  const json_t *value = json_object_get (object, key);
  return json_is_number (value) ? json_number_value (value) : NAN;
}

/* ---- Length ------------------------------------------------------------------------------ */

/* By hand, else as the picture shows it; FALSE for none. */
static gboolean
read_length (const json_t *record, double *length, double *u, double *least)
{
  const json_t *by_hand = json_object_get (record, "tool_length");
  const json_t *seen = json_object_get (json_object_get (record, "quantities"), SEEN_LENGTH);
  *least = number_at (json_object_get (record, "tool"), "min_length_mm");
  *length = number_at (by_hand, "value_mm");
  *u = number_at (by_hand, "u_mm");
  if (isfinite (*length))
    return TRUE;
  *length = number_at (seen, "value");
  *u = number_at (seen, "U") / number_at (seen, "k");
  if (isnan (*least))
    *least = number_at (seen, "lower");
  return isfinite (*length) && isfinite (*least);
}

static void
note_length (Walk *walk, const json_t *record)
{
  WsHistory *history = walk->history;
  double length, u, least;
  if (!read_length (record, &length, &u, &least))
    return;
  if (walk->is_open)
    g_array_index (history->regrinds, WsRegrind, history->regrinds->len - 1).took =
      walk->before - length;
  walk->is_open = FALSE;
  history->length = length;
  history->u_length = u;
  history->least = least;
}

static void
note_regrind (Walk *walk, const WsInspection *inspection)
{
  const WsRegrind regrind = { inspection->time, inspection->grinder, NAN };
  if (!inspection->reground)
    return;
  /* Two views of one edge may both say so; what was open stays unknown. */
  g_array_append_val (walk->history->regrinds, regrind);
  walk->before = walk->history->length;
  walk->is_open = isfinite (walk->before) && !walk->is_open;
  g_hash_table_remove_all (walk->use);
}

static void
find_life (WsHistory *history)
{
  double sum = 0.0, squares = 0.0;
  guint n = 0;
  for (guint i = 0; i < history->regrinds->len; i++)
  {
    const double took = g_array_index (history->regrinds, WsRegrind, i).took;
    if (!isfinite (took))
      continue;
    sum += took;
    squares += took * took;
    n++;
  }
  if (n == 0)
    return;
  history->took = sum / n;
  const double spread = n > 1 ? sqrt (fmax (squares - sum * sum / n, 0.0) / (n - 1.0) / n) : 0.0;
  history->u_took = fmax (spread, G_SQRT2 * history->u_length / n);
  const double rest = history->length - history->least;
  if (!(history->took > 0.0) || !isfinite (rest))
    return;
  history->left = fmax (rest, 0.0) / history->took;
  history->u_left = hypot (history->u_length, history->left * history->u_took) / history->took;
}

/* ---- Wear -------------------------------------------------------------------------------- */

static double
use_of (const json_t *entry)
{
  const double value = number_at (entry, "value");
  const double lower = number_at (entry, "lower"), upper = number_at (entry, "upper");
  if (isfinite (lower) && isfinite (upper) && upper > lower)
    return fabs (value - 0.5 * (lower + upper)) / (0.5 * (upper - lower));
  if (isfinite (upper) && upper > 0.0)
    return fmax (value, 0.0) / upper;
  if (isfinite (lower) && lower > 0.0 && value > 0.0)
    return lower / value;
  return NAN;
}

static WsWear *
wear_of (Walk *walk, const char *name)
{
  WsWear *wear = g_hash_table_lookup (walk->wear, name);
  if (wear != NULL)
    return wear;
  wear = g_new0 (WsWear, 1);
  wear->name = g_strdup (name);
  g_hash_table_insert (walk->wear, wear->name, wear);
  return wear;
}

static void
note_change (Walk *walk, WsWear *wear, const char *view, double use)
{
  g_autofree char *key = g_strdup_printf ("%s %s", view, wear->name);
  const double *before = g_hash_table_lookup (walk->use, key);
  if (before != NULL)
  {
    const guint n = GPOINTER_TO_UINT (g_hash_table_lookup (walk->changes, wear->name));
    wear->growth += use - *before;
    g_hash_table_insert (walk->changes, wear->name, GUINT_TO_POINTER (n + 1));
  }
  g_hash_table_insert (walk->use, g_steal_pointer (&key), g_memdup2 (&use, sizeof use));
}

static void
note_wear (Walk *walk, const WsInspection *inspection, const json_t *record)
{
  const char *name;
  json_t *entry;
  json_object_foreach (json_object_get (record, "quantities"), name, entry)
  {
    const double use = use_of (entry);
    if (!isfinite (use))
      continue;
    WsWear *wear = wear_of (walk, name);
    wear->use = use;
    wear->n_pictures++;
    wear->n_rejected +=
      g_strcmp0 (json_string_value (json_object_get (entry, "verdict")), "reject") == 0 ? 1 : 0;
    note_change (walk, wear, inspection->view, use);
  }
}

/* What grows fastest first, then what uses most. */
static gint
by_growth (gconstpointer a, gconstpointer b)
{
  const WsWear *first = a, *second = b;
  const double one = fmax (isnan (first->growth) ? 0.0 : first->growth, 0.0);
  const double other = fmax (isnan (second->growth) ? 0.0 : second->growth, 0.0);
  if (one != other)
    return one > other ? -1 : 1;
  if (first->use != second->use)
    return first->use > second->use ? -1 : 1;
  return strcmp (first->name, second->name);
}

static void
take_wear (Walk *walk)
{
  GHashTableIter iter;
  gpointer value;
  g_hash_table_iter_init (&iter, walk->wear);
  while (g_hash_table_iter_next (&iter, NULL, &value))
  {
    WsWear wear = *(WsWear *)value;
    const guint n = GPOINTER_TO_UINT (g_hash_table_lookup (walk->changes, wear.name));
    wear.growth = n > 0 ? wear.growth / n : NAN;
    g_array_append_val (walk->history->wear, wear);
  }
  g_array_sort (walk->history->wear, by_growth);
}

/* ---- The whole --------------------------------------------------------------------------- */

static void
wear_clear (gpointer data)
{
  g_free (((WsWear *)data)->name);
}

WsHistory *
wsi_history_new (const GPtrArray *inspections)
{
  WsHistory *history = g_new0 (WsHistory, 1);
  g_autoptr (GHashTable) wear = g_hash_table_new_full (g_str_hash, g_str_equal, NULL, g_free);
  g_autoptr (GHashTable) use = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, g_free);
  g_autoptr (GHashTable) changes = g_hash_table_new (g_str_hash, g_str_equal);
  Walk walk = { .history = history, .wear = wear, .use = use, .changes = changes, .before = NAN };
  history->regrinds = g_array_new (FALSE, FALSE, sizeof (WsRegrind));
  history->wear = g_array_new (FALSE, FALSE, sizeof (WsWear));
  g_array_set_clear_func (history->wear, wear_clear);
  history->length = history->u_length = history->least = NAN;
  history->took = history->u_took = history->left = history->u_left = NAN;
  for (guint i = 0; i < inspections->len; i++)
  {
    const WsInspection *inspection = g_ptr_array_index (inspections, i);
    json_t *record = inspection->wrong == NULL
                       ? json_loads (inspection->record, JSON_REJECT_DUPLICATES, NULL)
                       : NULL;
    if (record == NULL)
      continue;
    history->n++;
    note_regrind (&walk, inspection);
    note_length (&walk, record);
    note_wear (&walk, inspection, record);
    json_decref (record);
  }
  take_wear (&walk);
  find_life (history);
  return history;
}

void
wsi_history_free (WsHistory *history)
{
  if (history == NULL)
    return;
  g_array_unref (history->regrinds);
  g_array_unref (history->wear);
  g_free (history);
}

/* ---- Words ------------------------------------------------------------------------------- */

/* "0.42 ± 0.11"; free with g_free(). */
static char *
with_U (double value, double u)
{
  const guint places = wsi_number_places (K * u);
  g_autofree char *number = wsi_number_format (value, places);
  g_autofree char *U = wsi_number_format (K * u, places);
  return g_strdup_printf ("%s ± %s", number, U);
}

static void
append_life (GString *words, const WsHistory *history)
{
  if (isnan (history->took))
  {
    g_string_append (words,
                     _ (" What a regrind takes isn't known: no length before and after one."));
    return;
  }
  g_autofree char *took = with_U (history->took, history->u_took);
  g_string_append_printf (words, _ (" A regrind took %s mm in the mean."), took);
  if (!(history->took > 0.0))
    g_string_append (words, _ (" That can't be: look at the lengths that were told."));
  else if (isnan (history->least))
    g_string_append (words, _ (" How many are left isn't known: the card has no min_length_mm."));
  else if (isfinite (history->left))
    g_string_append_printf (words, _ (" Left: %.0f regrinds, at least %.0f with U."),
                            floor (history->left),
                            fmax (floor (history->left - K * history->u_left), 0.0));
}

char *
wsi_history_length_words (const WsHistory *history)
{
  GString *words = g_string_new (NULL);
  g_string_append_printf (words, _ ("%u regrinds on record."), history->regrinds->len);
  if (isnan (history->length))
    return g_string_free (words, FALSE);
  g_autofree char *length = with_U (history->length, history->u_length);
  g_autofree char *least = wsi_number_exact (history->least);
  g_string_append_printf (words, _ (" %s mm long"), length);
  if (isfinite (history->least))
    g_string_append_printf (words, _ (", %s mm must be left"), least);
  g_string_append_c (words, '.');
  append_life (words, history);
  return g_string_free (words, FALSE);
}

char *
wsi_history_wear_words (const WsWear *wear, const char *label)
{
  GString *words = g_string_new (label);
  g_string_append_printf (words, _ (": %.0f %% of the way to its limit"), 100.0 * wear->use);
  g_autofree char *growth = wsi_number_format (100.0 * wear->growth, 1);
  if (isfinite (wear->growth))
    g_string_append_printf (words, _ (", %s%s %% from picture to picture"),
                            *growth != '-' ? "+" : "", growth);
  if (wear->n_rejected > 0)
    g_string_append_printf (words, _ (", rejected in %u of %u"), wear->n_rejected,
                            wear->n_pictures);
  return g_string_free (words, FALSE);
}

GArray *
wsi_history_trend (const GPtrArray *inspections, const char *quantity, WsTrend *trend)
{
  GArray *points = g_array_new (FALSE, FALSE, sizeof (WsTrendPoint));
  const char *unit = strrchr (quantity, '_');
  gboolean reground = FALSE; /* by a picture before that has no value */
  for (guint i = 0; i < inspections->len; i++)
  {
    const WsInspection *inspection = g_ptr_array_index (inspections, i);
    json_t *record = inspection->wrong == NULL
                       ? json_loads (inspection->record, JSON_REJECT_DUPLICATES, NULL)
                       : NULL;
    const json_t *entry = json_object_get (json_object_get (record, "quantities"), quantity);
    const double lower = number_at (entry, "lower"), upper = number_at (entry, "upper");
    const WsTrendPoint point = { inspection->time,
                                 number_at (entry, "value"),
                                 number_at (entry, "U"),
                                 isnan (lower) ? -INFINITY : lower,
                                 isnan (upper) ? INFINITY : upper,
                                 reground || inspection->reground };
    json_decref (record);
    reground = point.reground && !isfinite (point.value);
    if (isfinite (point.value))
      g_array_append_val (points, point);
  }
  trend->unit = unit != NULL ? unit + 1 : "";
  trend->points = (const WsTrendPoint *)(void *)points->data;
  trend->n = points->len;
  ws_trend_find_limits (trend);
  return points;
}
