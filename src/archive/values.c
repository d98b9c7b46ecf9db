/*
 * Values of a quantity in time.
 */
#include <math.h>

#include "archive/store.h"

typedef struct
{
  const char *quantity;
  GPtrArray *values;
} Gathering;

static void
value_free (gpointer data)
{
  WsArchiveValue *value = data;
  g_free (value->id);
  g_free (value->time);
  g_free (value->tool);
  g_free (value->grinder);
  g_free (value->wrong);
  g_free (value);
}

static void
take_numbers (WsArchiveValue *value, const WsRow *row)
{
  value->value = row->value;
  value->U = row->U;
  value->lower = isnan (row->lower) ? -INFINITY : row->lower;
  value->upper = isnan (row->upper) ? INFINITY : row->upper;
}

static gboolean
gather (const WsInspection *row, json_t *record, gpointer data, GError **error)
{
  const Gathering *gathering = data;
  WsArchiveValue *value = g_new0 (WsArchiveValue, 1);
  WsRow numbers = { .value = NAN, .U = NAN, .lower = NAN, .upper = NAN };
  (void)error;
  if (row->wrong == NULL)
    wsi_columns_quantity (record, gathering->quantity, &numbers);
  value->id = g_strdup (row->id);
  value->time = g_strdup (row->time);
  value->tool = g_strdup (row->tool);
  value->grinder = g_strdup (row->grinder);
  value->wrong = g_strdup (row->wrong);
  value->reground = row->reground;
  take_numbers (value, &numbers);
  g_ptr_array_add (gathering->values, value);
  return TRUE;
}

static gint
by_time (gconstpointer a, gconstpointer b)
{
  const WsArchiveValue *const *first = a, *const *second = b;
  return g_strcmp0 ((*first)->time, (*second)->time);
}

GPtrArray *
ws_archive_values (WsArchive *archive, const WsArchiveFilter *filter, GError **error)
{
  g_autoptr (GPtrArray) values = g_ptr_array_new_with_free_func (value_free);
  Gathering gathering = { filter->quantity, values };
  WsArchiveFilter any_number = *filter;
  any_number.last = 0;
  if (!wsi_store_each_record (archive, &any_number, gather, &gathering, error))
    return NULL;
  g_ptr_array_sort (values, by_time);
  return g_steal_pointer (&values);
}
