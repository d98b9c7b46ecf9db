#include "archive/state.h"

#include <string.h>

#include <whetsight/view.h>

#include "archive/columns.h"
#include "archive/remeasured.h"

typedef struct
{
  char *time, *id, *view;
  WsVerdict verdict;
  gboolean reground, wrong;
} Row;

static void
row_clear (gpointer data)
{
  Row *row = data;
  g_free (row->time);
  g_free (row->id);
  g_free (row->view);
}

WsVerdict
wsi_archive_verdict (const char *name)
{
  for (int i = WS_VERDICT_ACCEPT; name != NULL && i <= WS_VERDICT_RETAKE; i++)
    if (g_str_equal (name, ws_verdict_name ((WsVerdict)i)))
      return (WsVerdict)i;
  return WS_VERDICT_NONE;
}

gboolean
wsi_is_of_work (const char *name)
{
  const WsView *view = ws_view_find (name);
  return view != NULL && view->of_work;
}

/* From what may be used to what mayn't. */
static guint
badness (WsVerdict verdict)
{
  static const WsVerdict order[] = { WS_VERDICT_ACCEPT, WS_VERDICT_NONE, WS_VERDICT_UNDECIDED,
                                     WS_VERDICT_RETAKE, WS_VERDICT_REJECT };
  guint i = 0;
  while (i < G_N_ELEMENTS (order) && order[i] != verdict)
    i++;
  return i;
}

const WsNote *
wsi_archive_worse (const WsInspection *inspection)
{
  const WsNote *note = wsi_remeasured_newest (inspection, NULL);
  return note != NULL && badness (wsi_archive_verdict (note->now)) >
                           badness (wsi_archive_verdict (inspection->verdict))
           ? note
           : NULL;
}

WsVerdict
wsi_archive_standing (const WsInspection *inspection)
{
  const WsNote *worse = wsi_archive_worse (inspection);
  return wsi_archive_verdict (worse != NULL ? worse->now : inspection->verdict);
}

static gboolean
note (const WsInspection *inspection, gpointer data, GError **error)
{
  const Row row = { .time = g_strdup (inspection->time),
                    .id = g_strdup (inspection->id),
                    .view = g_strdup (inspection->view),
                    .verdict = inspection->wrong == NULL ? wsi_archive_standing (inspection)
                                                         : WS_VERDICT_UNDECIDED,
                    .reground = inspection->reground,
                    .wrong = inspection->wrong != NULL };
  (void)error;
  g_array_append_val ((GArray *)data, row);
  return TRUE;
}

/* Records that were imported may have been taken before those that were here already. */
static gint
by_time (gconstpointer a, gconstpointer b)
{
  return strcmp (((const Row *)a)->time, ((const Row *)b)->time);
}

static WsToolState *
join (WsArchive *archive, const GArray *rows, GError **error)
{
  const char *newest = rows->len > 0 ? g_array_index (rows, Row, rows->len - 1).id : NULL;
  g_autoptr (WsInspection) last = newest != NULL ? ws_archive_find (archive, newest, error) : NULL;
  g_auto (GStrv) required = last != NULL ? wsi_columns_views (last->record) : NULL;
  g_autofree WsViewResult *results = g_new0 (WsViewResult, rows->len + 1);
  guint n_wrong = 0;
  if (newest != NULL && last == NULL)
    return NULL;
  for (guint i = 0; i < rows->len; i++)
  {
    const Row *row = &g_array_index (rows, Row, i);
    results[i] =
      (WsViewResult){ row->view, row->verdict, row->reground, wsi_is_of_work (row->view) };
    n_wrong += row->wrong ? 1 : 0;
  }
  WsToolState *state = wsi_tool_state_join ((const char *const *)required, results, rows->len);
  wsi_tool_state_doubt (state, n_wrong);
  return state;
}

WsToolState *
wsi_archive_tool_state (WsArchive *archive, const char *tool, GError **error)
{
  WsArchiveFilter filter = WS_ARCHIVE_ALL;
  g_autoptr (GArray) rows = g_array_new (FALSE, FALSE, sizeof (Row));
  g_array_set_clear_func (rows, row_clear);
  filter.tool = tool;
  if (!ws_archive_each (archive, &filter, TRUE, note, rows, error))
    return NULL;
  g_array_sort (rows, by_time);
  return join (archive, rows, error);
}
