#include "bench/pictures.h"

#include <string.h>

#include <whetsight/error.h>

#include "base/sha256.h"

/* By what it begins with; what is none of these is to be saved, not shown. */
static const char *
type_of (const char *bytes, gsize n_bytes)
{
  static const struct
  {
    const char *begin;
    gsize n;
    const char *type;
  } kinds[] = {
    { "\x89PNG", 4, "image/png" }, { "\xff\xd8\xff", 3, "image/jpeg" },
    { "II*\0", 4, "image/tiff" },  { "MM\0*", 4, "image/tiff" },
    { "BM", 2, "image/bmp" },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (kinds); i++)
    if (n_bytes > kinds[i].n && memcmp (bytes, kinds[i].begin, kinds[i].n) == 0)
      return kinds[i].type;
  return "application/octet-stream";
}

static WsServeReply *
reply_file (const WsServeRequest *request, const char *path, const char *sha256)
{
  char hex[WS_SHA256_HEX_SIZE];
  gsize n_bytes;
  char *content;
  if (!g_file_get_contents (path, &content, &n_bytes, NULL))
    return wsi_serve_trouble (request, 404, "The picture is missing from the archive.");
  g_autoptr (GBytes) bytes = g_bytes_new_take (content, n_bytes);
  wsi_sha256_hex (content, n_bytes, hex);
  if (!g_str_equal (hex, sha256))
    return wsi_serve_trouble (request, 404,
                              "The picture isn't the one that was stored; nothing of it is shown.");
  WsServeReply *reply = wsi_reply_bytes (200, type_of (content, n_bytes), bytes);
  reply->is_picture = TRUE;
  reply->tag = g_strdup (sha256);
  return reply;
}

WsServeReply *
wsi_pictures_reply (WsServe *serve, const WsServeRequest *request, gboolean annotated)
{
  GError *error = NULL;
  WsArchive *archive = wsi_serve_take (serve, &error);
  g_autoptr (WsInspection) inspection =
    archive != NULL ? ws_archive_find (archive, request->ids[0], &error) : NULL;
  const char *sha256 = inspection == NULL ? NULL
                       : annotated        ? inspection->annotated
                                          : inspection->image;
  g_autofree char *path = inspection != NULL && inspection->wrong == NULL &&
                              ws_archive_has_picture (archive, inspection, sha256)
                            ? ws_archive_picture_path (archive, sha256)
                            : NULL;
  wsi_serve_give (serve, archive);
  if (error != NULL)
    return wsi_serve_take_error (serve, request, error);
  if (path == NULL)
    return wsi_serve_trouble (request, 404, "The archive doesn't have this picture.");
  return reply_file (request, path, sha256);
}
