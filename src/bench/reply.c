#include "bench/reply.h"

#include <stdlib.h>
#include <string.h>

#include "base/language.h"

WsServeReply *
wsi_reply_bytes (guint status, const char *type, GBytes *body)
{
  WsServeReply *reply = g_new0 (WsServeReply, 1);
  reply->status = status;
  reply->type = type;
  reply->body = g_bytes_ref (body);
  return reply;
}

WsServeReply *
wsi_reply_chart (GBytes *chart)
{
  WsServeReply *reply = wsi_reply_bytes (200, "image/svg+xml", chart);
  reply->is_picture = TRUE;
  return reply;
}

WsServeReply *
wsi_reply_take_text (guint status, const char *type, char *text)
{
  g_autoptr (GBytes) body = g_bytes_new_take (text, strlen (text));
  return wsi_reply_bytes (status, type, body);
}

WsServeReply *
wsi_reply_take_json (guint status, json_t *value)
{
  char *text = json_dumps (value, JSON_COMPACT);
  json_decref (value);
  /* What can't be written is our own fault. */
  if (text == NULL)
    return wsi_reply_take_text (500, "application/json", g_strdup ("{\"error\":\"internal\"}"));
  g_autoptr (GBytes) body = g_bytes_new_with_free_func (text, strlen (text), free, text);
  return wsi_reply_bytes (status, "application/json", body);
}

WsServeReply *
wsi_reply_take_location (char *location)
{
  WsServeReply *reply =
    wsi_reply_take_text (303, "text/plain; charset=utf-8", g_strdup ("See there.\n"));
  reply->location = location;
  return reply;
}

void
wsi_reply_free (WsServeReply *reply)
{
  if (reply == NULL)
    return;
  g_bytes_unref (reply->body);
  g_free (reply->location);
  g_free (reply->cookie);
  g_free (reply->file_name);
  g_free (reply->allow);
  g_free (reply->tag);
  g_free (reply);
}

const char *
wsi_reply_status_words (guint status)
{
  static const struct
  {
    guint status;
    const char *words;
  } known[] = {
    { 400, N_ ("The request is wrong") },
    { 401, N_ ("Sign in first") },
    { 403, N_ ("Not yours to do") },
    { 404, N_ ("Nothing is here") },
    { 405, N_ ("Not done here this way") },
    { 409, N_ ("Somebody was faster") },
    { 413, N_ ("Too large") },
    { 415, N_ ("Not a kind of file that is known") },
    { 422, N_ ("That can't be used") },
    { 429, N_ ("Too many tries") },
    { 500, N_ ("Our own fault") },
    { 503, N_ ("Busy") },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (known); i++)
    if (known[i].status == status)
      return known[i].words;
  return "";
}
