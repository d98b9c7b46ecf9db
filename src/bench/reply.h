/*
 * What is answered.
 */
#ifndef WS_BENCH_REPLY_H
#define WS_BENCH_REPLY_H

#include <glib.h>
#include <jansson.h>

G_BEGIN_DECLS

typedef struct
{
  guint status;
  const char *type; /* of the content; static */
  GBytes *body;
  char *location;      /* to go to, or NULL */
  char *cookie;        /* to be set, or NULL */
  char *file_name;     /* to be saved under, or NULL */
  guint retry_after;   /* s; 0: not said */
  char *allow;         /* methods that the path has, or NULL */
  char *tag;           /* of what stays as it is, for ETag; NULL for what must not be kept */
  gboolean is_picture; /* what people sent: shown, never run */
} WsServeReply;

/* Free with wsi_reply_free(). */
WsServeReply *wsi_reply_bytes (guint status, const char *type, GBytes *body);
/* A chart of the program's own, SVG, found. */
WsServeReply *wsi_reply_chart (GBytes *chart);
WsServeReply *wsi_reply_take_text (guint status, const char *type, char *text);

/* Takes the value over. */
WsServeReply *wsi_reply_take_json (guint status, json_t *value);

/* 303: what was sent was done, and is seen there; `location` is taken over. */
WsServeReply *wsi_reply_take_location (char *location);

void wsi_reply_free (WsServeReply *reply);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsServeReply, wsi_reply_free)

/* "Not Found"; static. */
const char *wsi_reply_status_words (guint status);

G_END_DECLS

#endif
