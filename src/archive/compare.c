/*
 * What measuring again changed: verdicts, and how far values moved.
 */
#include <math.h>
#include <string.h>

#include "archive/columns.h"
#include "archive/lean.h"
#include "archive/note.h"
#include "archive/remeasured.h"

#include <whetsight/remeasure.h>
#include <whetsight/view.h>

#include "maths/stats.h"

#define MANY 0.95

/* What is gathered of a quantity. */
typedef struct
{
  GArray *moved; /* of double: differences in units of the U before */
  GArray *ratio; /* of double: U after over U before */
  double largest;
  char *largest_id;
  guint n_lost, n_gained;
} Gathered;

typedef struct
{
  const char *reason;
  WsWrongVisit tell;
  gpointer data;
  WsComparison *comparison;
  GHashTable *quantities; /* name -> Gathered */
} Comparing;

static void
flip_free (gpointer data)
{
  WsFlip *flip = data;
  char *const texts[] = { flip->id, flip->tool, flip->view, flip->was, flip->now, flip->reason };
  for (gsize i = 0; i < G_N_ELEMENTS (texts); i++)
    g_free (texts[i]);
  g_free (flip);
}

static void
shift_free (gpointer data)
{
  WsShift *shift = data;
  g_free (shift->quantity);
  g_free (shift->largest_id);
  g_free (shift);
}

static void
gathered_free (gpointer data)
{
  Gathered *gathered = data;
  g_array_unref (gathered->moved);
  g_array_unref (gathered->ratio);
  g_free (gathered->largest_id);
  g_free (gathered);
}

void
ws_comparison_free (WsComparison *comparison)
{
  if (comparison == NULL)
    return;
  g_ptr_array_unref (comparison->flips);
  g_ptr_array_unref (comparison->shifts);
  g_free (comparison);
}

/* ---- Gathering ---------------------------------------------------------------------------- */

static Gathered *
gathered_of (Comparing *comparing, const char *quantity)
{
  Gathered *gathered = g_hash_table_lookup (comparing->quantities, quantity);
  if (gathered != NULL)
    return gathered;
  gathered = g_new0 (Gathered, 1);
  gathered->moved = g_array_new (FALSE, FALSE, sizeof (double));
  gathered->ratio = g_array_new (FALSE, FALSE, sizeof (double));
  g_hash_table_insert (comparing->quantities, g_strdup (quantity), gathered);
  return gathered;
}

/* Both have a value.  A line that is told by its other end now hasn't turned. */
static void
note_move (Gathered *gathered, const char *id, const WsRow *was, const WsRow *now)
{
  const double value =
    ws_views_mean_direction (was->name) ? ws_direction_near (now->value, was->value) : now->value;
  const double moved = (value - was->value) / was->U;
  const double ratio = now->U / was->U;
  if (!isfinite (moved))
    return;
  g_array_append_val (gathered->moved, moved);
  if (isfinite (ratio))
    g_array_append_val (gathered->ratio, ratio);
  if (gathered->largest_id != NULL && fabs (moved) <= fabs (gathered->largest))
    return;
  gathered->largest = moved;
  g_free (gathered->largest_id);
  gathered->largest_id = g_strdup (id);
}

static void
note_quantity (Comparing *comparing, const char *id, const char *name, const json_t *before,
               const json_t *after)
{
  WsRow was, now;
  wsi_columns_quantity (before, name, &was);
  wsi_columns_quantity (after, name, &now);
  if (!isfinite (was.value) && !isfinite (now.value))
    return;
  Gathered *gathered = gathered_of (comparing, name);
  if (!isfinite (now.value))
    gathered->n_lost++;
  else if (!isfinite (was.value))
    gathered->n_gained++;
  else
    note_move (gathered, id, &was, &now);
}

static void
note_quantities (Comparing *comparing, const char *id, const json_t *before, const json_t *after)
{
  const char *name;
  json_t *quantity;
  json_t *old = json_object_get (before, "quantities"),
         *new = json_object_get (after, "quantities");
  json_object_foreach (old, name, quantity)
  {
    note_quantity (comparing, id, name, before, after);
  }
  json_object_foreach (new, name, quantity)
  {
    if (json_object_get (old, name) == NULL)
      note_quantity (comparing, id, name, before, after);
  }
}

static void
note_verdict (Comparing *comparing, const WsInspection *inspection, const WsNote *again)
{
  if (g_strcmp0 (inspection->verdict, again->now) == 0)
    return;
  WsFlip *flip = g_new (WsFlip, 1);
  *flip = (WsFlip){ .id = g_strdup (inspection->id),
                    .tool = g_strdup (inspection->tool),
                    .view = g_strdup (inspection->view),
                    .was = g_strdup (inspection->verdict),
                    .now = g_strdup (again->now),
                    .reason = g_strdup (again->text) };
  g_ptr_array_add (comparing->comparison->flips, flip);
}

static gboolean
compare (const WsInspection *inspection, gpointer data, GError **error)
{
  Comparing *comparing = data;
  (void)error;
  comparing->comparison->n_inspections++;
  if (inspection->wrong != NULL)
  {
    comparing->comparison->n_wrong++;
    comparing->tell (inspection->id, inspection->wrong, comparing->data);
    return TRUE;
  }
  const WsNote *again = wsi_remeasured_newest (inspection, comparing->reason);
  if (again == NULL)
    return TRUE;
  json_t *before = wsi_columns_parse (inspection->record, NULL);
  json_t *note = wsi_lean_parse (again->record, NULL);
  comparing->comparison->n_again++;
  note_verdict (comparing, inspection, again);
  note_quantities (comparing, inspection->id, before, json_object_get (note, WSI_NOTE_RESULT));
  json_decref (before);
  json_decref (note);
  return TRUE;
}

/* ---- Summing up --------------------------------------------------------------------------- */

static double
median_of (GArray *values)
{
  return values->len > 0 ? wsi_median ((double *)(void *)values->data, values->len) : (double)NAN;
}

static void
sum_up (const Gathered *gathered, WsShift *shift)
{
  GArray *moved = gathered->moved;
  double *values = (double *)(void *)moved->data, sum = 0;
  shift->n = moved->len;
  shift->largest = gathered->largest;
  shift->largest_id = g_strdup (gathered->largest_id);
  shift->median = median_of (moved);
  shift->median_U = median_of (gathered->ratio);
  for (guint i = 0; i < moved->len; i++)
  {
    sum += values[i] * values[i];
    values[i] = fabs (values[i]);
    shift->n_beyond += values[i] > 1 ? 1 : 0;
  }
  shift->rms = moved->len > 0 ? sqrt (sum / moved->len) : (double)NAN;
  shift->percentile_95 = moved->len > 0 ? wsi_quantile (values, moved->len, MANY) : (double)NAN;
}

static gint
by_name (gconstpointer a, gconstpointer b)
{
  const WsShift *const *first = a, *const *second = b;
  return strcmp ((*first)->quantity, (*second)->quantity);
}

static void
sum_up_all (Comparing *comparing)
{
  GHashTableIter iter;
  gpointer name, gathered;
  g_hash_table_iter_init (&iter, comparing->quantities);
  while (g_hash_table_iter_next (&iter, &name, &gathered))
  {
    WsShift *shift = g_new0 (WsShift, 1);
    shift->quantity = g_strdup (name);
    shift->n_lost = ((const Gathered *)gathered)->n_lost;
    shift->n_gained = ((const Gathered *)gathered)->n_gained;
    sum_up (gathered, shift);
    g_ptr_array_add (comparing->comparison->shifts, shift);
  }
  g_ptr_array_sort (comparing->comparison->shifts, by_name);
}

WsComparison *
ws_archive_compare (WsArchive *archive, const WsArchiveFilter *filter, const char *reason,
                    WsWrongVisit tell, gpointer data, GError **error)
{
  g_autoptr (WsComparison) comparison = g_new0 (WsComparison, 1);
  g_autoptr (GHashTable) quantities =
    g_hash_table_new_full (g_str_hash, g_str_equal, g_free, gathered_free);
  Comparing comparing = { reason, tell, data, comparison, quantities };
  comparison->flips = g_ptr_array_new_with_free_func (flip_free);
  comparison->shifts = g_ptr_array_new_with_free_func (shift_free);
  if (!ws_archive_each (archive, filter, TRUE, compare, &comparing, error))
    return NULL;
  sum_up_all (&comparing);
  return g_steal_pointer (&comparison);
}
