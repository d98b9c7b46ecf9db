#include <string.h>

#include "base/sha256.h"
#include "bench/assets.h"
#include "bench/pages.h"

static const char *
type_of (const char *name)
{
  static const struct
  {
    const char *ending, *type;
  } kinds[] = {
    { ".css", "text/css; charset=utf-8" },
    { ".js", "text/javascript; charset=utf-8" },
    { ".svg", "image/svg+xml" },
    { ".json", "application/json" },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (kinds); i++)
    if (g_str_has_suffix (name, kinds[i].ending))
      return kinds[i].type;
  return "application/octet-stream";
}

WsServeReply *
wsi_page_asset (WsServe *serve, WsServeRequest *request)
{
  char hex[WS_SHA256_HEX_SIZE];
  (void)serve;
  for (const WsAsset *asset = wsi_assets; asset->name != NULL; asset++)
    if (g_str_equal (asset->name, request->ids[0]))
    {
      g_autoptr (GBytes) bytes = g_bytes_new_static (asset->bytes, asset->n_bytes);
      WsServeReply *reply = wsi_reply_bytes (200, type_of (asset->name), bytes);
      wsi_sha256_hex (asset->bytes, asset->n_bytes, hex);
      reply->tag = g_strdup (hex);
      return reply;
    }
  return wsi_serve_trouble (request, 404, "There is no such file.");
}
