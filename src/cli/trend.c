#include <math.h>
#include <stdio.h>
#include <string.h>

#include <whetsight/whetsight.h>

#include "base/file.h"
#include "base/language.h"
#include "cli/archive.h"
#include "cli/say.h"
#include "cli/verbs.h"

typedef struct
{
  char *archive;
  char *png, *svg;
  WsFilterOptions filter;
} Options;

static gboolean
check (const Options *options, char **words, GError **error)
{
  return (options->archive != NULL && options->filter.quantity != NULL && words[1] == NULL) ||
         wsi_refuse_usage (error,
                           "name the archive with --archive and what to show with --quantity; "
                           "see whetsight trend --help");
}

/* "Point angle of QT-D-0118, ground by R. Vane"; free with g_free(). */
static char *
title_of (const WsFilterOptions *filter)
{
  GString *title = g_string_new (wsi_archive_quantity_label (filter->quantity));
  if (filter->tool != NULL || filter->kind != NULL)
    g_string_append_printf (title, _ (" of %s"),
                            filter->tool != NULL ? filter->tool : _ (filter->kind));
  if (filter->grinder != NULL)
    g_string_append_printf (title, _ (", ground by %s"), filter->grinder);
  if (filter->station != NULL)
    g_string_append_printf (title, _ (", measured at %s"), filter->station);
  return g_string_free (title, FALSE);
}

static gboolean
save_chart (const WsTrend *trend, const char *path, WsChartFormat format, GError **error)
{
  if (path == NULL)
    return TRUE;
  g_autoptr (GBytes) bytes = ws_trend_chart (trend, format, error);
  return bytes != NULL &&
         wsi_file_save (path, g_bytes_get_data (bytes, NULL), g_bytes_get_size (bytes), error);
}

/* A line told by its other end hasn't turned: all by the newest one's number, limits along. */
static void
turn_to_newest (WsTrend *trend, WsTrendPoint *points)
{
  for (gsize i = 0; i < trend->n; i++)
  {
    WsTrendPoint *point = &points[i];
    const double by = ws_direction_near (point->value, points[trend->n - 1].value) - point->value;
    point->value += by;
    point->lower += by;
    point->upper += by;
  }
}

/* Of trend. */
enum
{
  EXIT_NO_SIGNAL = 0,
  EXIT_SIGNAL = 1,
  EXIT_EARLIER_SIGNAL = 2
};

static int
signal_status (const WsTrend *trend)
{
  if (ws_trend_signal (trend, trend->n - 1) != NULL)
    return EXIT_SIGNAL;
  for (gsize i = 0; i < trend->n; i++)
    if (ws_trend_signal (trend, i) != NULL)
      return EXIT_EARLIER_SIGNAL;
  return EXIT_NO_SIGNAL;
}

/* What was left out says more than a signal. */
static gboolean
show (const Options *options, const GPtrArray *values, int *status, GError **error)
{
  const char *unit = strrchr (options->filter.quantity, '_');
  g_autofree char *title = title_of (&options->filter);
  g_autofree WsTrendPoint *points = g_new0 (WsTrendPoint, MAX (values->len, 1));
  WsTrend trend = {
    .title = title, .unit = unit != NULL ? unit + 1 : "", .points = points, .n = values->len
  };
  for (guint i = 0; i < values->len; i++)
  {
    const WsArchiveValue *value = g_ptr_array_index (values, i);
    points[i] = (WsTrendPoint){ value->time,  value->value, value->U,
                                value->lower, value->upper, value->reground };
  }
  if (ws_views_mean_direction (options->filter.quantity))
    turn_to_newest (&trend, points);
  ws_trend_find_limits (&trend);
  g_autofree char *text = ws_trend_text (&trend);
  wsi_say ("%s", text);
  if (*status == WS_EXIT_ACCEPT)
    *status = signal_status (&trend);
  return save_chart (&trend, options->png, WS_CHART_PNG, error) &&
         save_chart (&trend, options->svg, WS_CHART_SVG, error);
}

/* Returns the exit status. */
static int
leave_out_wrong (const WsArchive *archive, GPtrArray *values)
{
  int status = WS_EXIT_ACCEPT;
  for (guint i = values->len; i-- > 0;)
  {
    const WsArchiveValue *value = g_ptr_array_index (values, i);
    if (value->wrong == NULL)
      continue;
    status = wsi_archive_tell_wrong (archive, value->id, value->wrong);
    g_ptr_array_remove_index (values, i);
  }
  return status;
}

/* Values by the same filter; `last` counts them, not inspections. */
static GPtrArray *
find (const Options *options, WsArchive *archive, int *status, GError **error)
{
  WsArchiveFilter filter;
  if (!wsi_filter_options_read (&options->filter, &filter, error))
    return NULL;
  GPtrArray *values = ws_archive_values (archive, &filter, error);
  if (values != NULL && filter.last > 0 && values->len > filter.last)
    g_ptr_array_remove_range (values, 0, values->len - (guint)filter.last);
  if (values != NULL)
    *status = leave_out_wrong (archive, values);
  if (values != NULL && values->len == 0)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_NO_INPUT,
                 "archive %s: no values of %s; whetsight archive list shows what is there",
                 options->archive, options->filter.quantity);
    g_clear_pointer (&values, g_ptr_array_unref);
  }
  return values;
}

static int
trend (gpointer data, char **words)
{
  const Options *options = data;
  g_autoptr (WsArchive) archive = NULL;
  g_autoptr (GPtrArray) values = NULL;
  GError *error = NULL;
  int status;
  if (!check (options, words, &error) ||
      (archive = ws_archive_open (options->archive, WS_ARCHIVE_READ, &error)) == NULL ||
      (values = find (options, archive, &status, &error)) == NULL ||
      !show (options, values, &status, &error))
    return wsi_fail (error);
  return status;
}

static const WsOption options[] = { { WS_OPTION_FILE, "archive", 'a',
                                      G_STRUCT_OFFSET (Options, archive), "DIR", "The archive",
                                      NULL },
                                    { WS_OPTION_FILE, "png", 0, G_STRUCT_OFFSET (Options, png),
                                      "FILE", "Draw the chart there", NULL },
                                    { WS_OPTION_FILE, "svg", 0, G_STRUCT_OFFSET (Options, svg),
                                      "FILE", "Draw the chart there", NULL },
                                    WS_OPTIONS_END };

const WsCommand wsi_verb_trend = {
  .name = "trend",
  .summary = "show a quantity in time, with control limits",
  .about = "Shows a quantity in time with control limits (individuals and moving ranges), U and "
           "regrinds: of one\ntool (--tool), a kind of tool (--kind) or of what somebody ground "
           "(--grinder).",
  .exits = "Exit status: 0 no signal, 1 the newest value signals, 2 only earlier ones do; 64 wrong "
           "call, 65\nsomething isn't as it was written, 66 no such values.",
  .groups = { { options, 0 }, { wsi_filter_options, G_STRUCT_OFFSET (Options, filter) } },
  .size = sizeof (Options),
  .run = trend,
};
