#include <jansson.h>
#include <math.h>
#include <string.h>

#include <whetsight/view.h>

#include "archive/plant.h"

#define SECONDS_A_DAY 86400.0
#define DAYS_FROM_MONDAY 3 /* 1970-01-01 was a Thursday */

/* ---- What is left out ----------------------------------------------------------------------- */

void
wsi_plant_left_init (WsPlantLeft *left)
{
  *left = (WsPlantLeft){ .wrong = g_ptr_array_new_with_free_func (g_free) };
}

void
wsi_plant_left_clear (WsPlantLeft *left)
{
  g_clear_pointer (&left->wrong, g_ptr_array_unref);
}

void
wsi_plant_left_wrong (WsPlantLeft *left, const WsInspection *inspection)
{
  g_ptr_array_add (left->wrong, g_strdup_printf ("%s (%s)", inspection->id, inspection->wrong));
}

double
wsi_plant_day (const char *time)
{
  g_autoptr (GTimeZone) utc = g_time_zone_new_utc ();
  g_autoptr (GDateTime) date = g_date_time_new_from_iso8601 (time, utc);
  return date != NULL ? (double)g_date_time_to_unix (date) / SECONDS_A_DAY + DAYS_FROM_MONDAY : NAN;
}

/* ---- Readings ------------------------------------------------------------------------------- */

/* Lines of a budget that every picture draws anew; all others may be the bench's own. */
static const char *const redrawn[] = { "edge noise", "repeated observations",
                                       "tool put back against the stop", NULL };

static double
number_at (const json_t *object, const char *key)
{
  const json_t *value = json_object_get (object, key);
  return json_is_number (value) ? json_number_value (value) : NAN;
}

/* Where the record doesn't say what U is made of, all of it may last. */
static double
lasting_u (const json_t *quantity, double u)
{
  gsize i;
  double sum = 0;
  const json_t *line;
  json_array_foreach (json_object_get (quantity, "budget"), i, line)
  {
    const char *name = json_string_value (json_object_get (line, "name"));
    const double part = number_at (line, "contribution");
    if (name != NULL && g_strv_contains (redrawn, name) && isfinite (part))
      sum += part * part;
  }
  return sqrt (MAX (u * u - sum, 0));
}

typedef struct
{
  const WsArchiveFilter *filter;
  WsPlantBenches *benches;
} Gathering;

static void
quantity_free (gpointer data)
{
  WsPlantQuantity *of = data;
  for (gsize i = 0; i < of->gauges.n; i++)
    g_free ((char *)of->gauges.gauges[i].name);
  g_free (of->gauges.gauges);
  g_ptr_array_unref (of->readings);
  g_free (of->view);
  g_free (of->quantity);
  g_free (of);
}

static WsPlantQuantity *
quantity_of (WsPlantBenches *benches, const char *view, const char *name)
{
  for (guint i = 0; i < benches->quantities->len; i++)
  {
    WsPlantQuantity *of = g_ptr_array_index (benches->quantities, i);
    if (g_str_equal (of->view, view) && g_str_equal (of->quantity, name))
      return of;
  }
  WsPlantQuantity *of = g_new0 (WsPlantQuantity, 1);
  of->view = g_strdup (view);
  of->quantity = g_strdup (name);
  of->readings = g_ptr_array_new_with_free_func ((GDestroyNotify)g_array_unref);
  g_ptr_array_add (benches->quantities, of);
  return of;
}

static GArray *
readings_of (WsPlantQuantity *of, const char *station)
{
  for (gsize i = 0; i < of->gauges.n; i++)
    if (g_str_equal (of->gauges.gauges[i].name, station))
      return g_ptr_array_index (of->readings, i);
  const gsize n = of->gauges.n++;
  of->gauges.gauges = g_renew (WsGauge, of->gauges.gauges, of->gauges.n);
  of->gauges.gauges[n] = (WsGauge){ .name = g_strdup (station) };
  g_ptr_array_add (of->readings, g_array_new (FALSE, FALSE, sizeof (WsGaugeReading)));
  return g_ptr_array_index (of->readings, n);
}

/* Lengths in px say nothing from bench to bench. */
static void
add_quantities (const Gathering *gathering, const WsInspection *inspection, json_t *record,
                double day)
{
  const char *name;
  json_t *quantity;
  json_object_foreach (json_object_get (record, "quantities"), name, quantity)
  {
    const double value = number_at (quantity, "value"), k = number_at (quantity, "k");
    const double u = number_at (quantity, "U") / (k > 0 ? k : 2);
    if (g_str_has_suffix (name, "_px") || !isfinite (value) || !(u > 0) ||
        (gathering->filter->quantity != NULL && !g_str_equal (name, gathering->filter->quantity)))
      continue;
    WsPlantQuantity *of = quantity_of (gathering->benches, inspection->view, name);
    GArray *readings = readings_of (of, inspection->station);
    const GArray *first = g_ptr_array_index (of->readings, 0);
    /* A line told by its other end hasn't turned. */
    const double near =
      first->len > 0 && ws_views_mean_direction (name)
        ? ws_direction_near (value, g_array_index (first, WsGaugeReading, 0).value)
        : value;
    const WsGaugeReading reading = { day, near, u, lasting_u (quantity, u) };
    g_array_append_val (readings, reading);
  }
}

static gboolean
gather (const WsInspection *inspection, gpointer data, GError **error)
{
  const Gathering *gathering = data;
  WsPlantLeft *left = &gathering->benches->left;
  const double day = wsi_plant_day (inspection->time);
  (void)error;
  if (inspection->wrong != NULL || !isfinite (day))
  {
    if (inspection->wrong != NULL)
      wsi_plant_left_wrong (left, inspection);
    return TRUE;
  }
  const gboolean is_retake = g_strcmp0 (inspection->verdict, "retake") == 0;
  left->n_retakes += is_retake ? 1 : 0;
  left->n_nameless += !is_retake && inspection->station == NULL ? 1 : 0;
  if (is_retake || inspection->station == NULL)
    return TRUE;
  json_t *record = json_loads (inspection->record, 0, NULL);
  add_quantities (gathering, inspection, record, day);
  gathering->benches->n++;
  json_decref (record);
  return TRUE;
}

/* ---- What comes of them --------------------------------------------------------------------- */

static gint
by_name (gconstpointer a, gconstpointer b)
{
  const WsPlantQuantity *const *p = a, *const *q = b;
  const int views = strcmp ((*p)->view, (*q)->view);
  return views != 0 ? views : strcmp ((*p)->quantity, (*q)->quantity);
}

static int
by_bench (gconstpointer a, gconstpointer b)
{
  return strcmp (((const WsGauge *)a)->name, ((const WsGauge *)b)->name);
}

static void
conclude (WsPlantQuantity *of, const WsToolCard *card)
{
  const WsMasterValue *master = card != NULL ? ws_tool_card_master (card, of->quantity) : NULL;
  for (gsize i = 0; i < of->gauges.n; i++)
  {
    const GArray *readings = g_ptr_array_index (of->readings, i);
    of->gauges.gauges[i].readings = (const WsGaugeReading *)(void *)readings->data;
    of->gauges.gauges[i].n = readings->len;
  }
  qsort (of->gauges.gauges, of->gauges.n, sizeof (WsGauge), by_bench);
  of->gauges.reference = master != NULL ? master->value : NAN;
  of->gauges.U_reference = master != NULL ? master->U : NAN;
  if (master != NULL && of->gauges.n > 0 && ws_views_mean_direction (of->quantity))
    of->gauges.reference =
      ws_direction_near (master->value, of->gauges.gauges[0].readings[0].value);
  of->has_biases = wsi_gauges_compare (&of->gauges);
}

WsPlantBenches *
wsi_plant_benches (WsArchive *archive, const WsArchiveFilter *filter, const WsToolCard *card,
                   GError **error)
{
  g_autoptr (WsPlantBenches) benches = g_new0 (WsPlantBenches, 1);
  const Gathering gathering = { filter, benches };
  benches->quantities = g_ptr_array_new_with_free_func (quantity_free);
  wsi_plant_left_init (&benches->left);
  if (!ws_archive_each (archive, filter, TRUE, gather, (gpointer)&gathering, error))
    return NULL;
  g_ptr_array_sort (benches->quantities, by_name);
  for (guint i = 0; i < benches->quantities->len; i++)
    conclude (g_ptr_array_index (benches->quantities, i), card);
  return g_steal_pointer (&benches);
}

void
wsi_plant_benches_free (WsPlantBenches *benches)
{
  if (benches == NULL)
    return;
  g_clear_pointer (&benches->quantities, g_ptr_array_unref);
  wsi_plant_left_clear (&benches->left);
  g_free (benches);
}
