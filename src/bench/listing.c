#include "bench/listing.h"

#include <string.h>

#include <whetsight/error.h>

static gboolean
keep_id (const WsInspection *inspection, gpointer data, GError **error)
{
  (void)error;
  g_ptr_array_add (data, g_strdup (inspection->id));
  return TRUE;
}

/* A name may be a pattern; nothing else has stars. */
static const char *
pattern (const WsServeRequest *request, const char *name, gboolean *wild)
{
  const char *text = wsi_request_query (request, name);
  if (text == NULL || *text == '\0')
    return NULL;
  *wild = *wild || strpbrk (text, "*?") != NULL;
  return text;
}

static const char *
plain (const WsServeRequest *request, const char *name)
{
  const char *text = wsi_request_query (request, name);
  return text != NULL && *text != '\0' ? text : NULL;
}

GPtrArray *
wsi_listing_find (WsArchive *archive, const WsServeRequest *request, GError **error)
{
  WsArchiveFilter filter = WS_ARCHIVE_ALL;
  g_autoptr (GPtrArray) ids = g_ptr_array_new_with_free_func (g_free);
  g_autoptr (GPtrArray) found = g_ptr_array_new_with_free_func ((GDestroyNotify)ws_inspection_free);
  filter.tool = pattern (request, "tool", &filter.wild);
  filter.station = pattern (request, "station", &filter.wild);
  filter.grinder = pattern (request, "grinder", &filter.wild);
  filter.kind = plain (request, "kind");
  filter.view = plain (request, "view");
  filter.verdict = plain (request, "verdict");
  filter.from = plain (request, "from");
  filter.to = plain (request, "to");
  filter.before = wsi_request_count (request, "before", G_MAXINT64, 0);
  filter.last = wsi_request_count (request, "last", WSI_LISTING_MOST, WSI_LISTING_USUAL);
  if (!ws_archive_each (archive, &filter, FALSE, keep_id, ids, error))
    return NULL;
  for (guint i = ids->len; i-- > 0;)
  {
    WsInspection *inspection = ws_archive_find (archive, g_ptr_array_index (ids, i), error);
    if (inspection == NULL)
      return NULL;
    g_ptr_array_add (found, inspection);
  }
  return g_steal_pointer (&found);
}
