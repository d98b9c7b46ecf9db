#include "bench/listing.h"

#include <string.h>

#include "archive/store.h"

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

WsArchiveFilter
wsi_listing_filter (const WsServeRequest *request)
{
  WsArchiveFilter filter = WS_ARCHIVE_ALL;
  filter.tool = pattern (request, "tool", &filter.wild);
  filter.station = pattern (request, "station", &filter.wild);
  filter.grinder = pattern (request, "grinder", &filter.wild);
  filter.kind = plain (request, "kind");
  filter.view = plain (request, "view");
  filter.verdict = plain (request, "verdict");
  filter.from = plain (request, "from");
  filter.to = plain (request, "to");
  filter.before = wsi_request_count (request, "before", G_MAXINT64, 0);
  return filter;
}

GPtrArray *
wsi_listing_find (WsServe *serve, const WsServeRequest *request, GError **error)
{
  WsArchiveFilter filter = wsi_listing_filter (request);
  filter.last = wsi_request_count (request, "last", WSI_LISTING_MOST, WSI_LISTING_USUAL);
  WsArchive *archive = wsi_serve_take (serve, error);
  GPtrArray *found = archive != NULL ? wsi_store_find_all (archive, &filter, error) : NULL;
  wsi_serve_give (serve, archive);
  for (guint i = 0; found != NULL && i < found->len / 2; i++)
  {
    gpointer *rows = found->pdata;
    const gpointer one = rows[i];
    rows[i] = rows[found->len - 1 - i];
    rows[found->len - 1 - i] = one;
  }
  return found;
}
