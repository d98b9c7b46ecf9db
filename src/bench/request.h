/*
 * One request as it came, held in memory: made by the server of connections, by tests and by the
 * fuzzer alike.  All that is read from it was checked: paths have no part that leaves them, texts
 * are UTF-8.
 */
#ifndef WS_BENCH_REQUEST_H
#define WS_BENCH_REQUEST_H

#include <glib.h>

#include "bench/actor.h"

G_BEGIN_DECLS

/* A part of a form; borrows from the request's body. */
typedef struct
{
  char *name;
  char *file_name; /* NULL for what isn't a file */
  const char *bytes;
  gsize n_bytes;
} WsServePart;

#define WSI_REQUEST_MOST_IDS 2

typedef struct
{
  char *method;
  char **path;         /* decoded pieces, ending in NULL; none for "/" */
  GHashTable *query;   /* name -> text */
  GHashTable *headers; /* small letters -> text */
  GHashTable *cookies;
  gboolean twice;   /* a header that must come once came twice */
  GBytes *body;     /* or NULL */
  GPtrArray *parts; /* of WsServePart: of a form, or the body as one file */

  char *client; /* the other end's address, for limits */

  /* Set when the request is matched to its route. */
  const char *ids[WSI_REQUEST_MOST_IDS]; /* what stands in the pattern's places */
  WsServeActor actor;
  char token[65]; /* that changes must come with; "" for who isn't signed in */
  gboolean is_api;
} WsServeRequest;

/* `target`: path and query as they were sent.  NULL when it is no path that anything lies at.
 * Free with wsi_request_free(). */
WsServeRequest *wsi_request_new (const char *method, const char *target);
void wsi_request_free (WsServeRequest *request);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsServeRequest, wsi_request_free)

/* Takes a header up; cookies are read. */
void wsi_request_add_header (WsServeRequest *request, const char *name, const char *value);

/* Takes the body up and reads it by its type: a form of either kind, JSON's members as texts, or
 * one file.  FALSE when it isn't what its type says; `what` tells, static. */
gboolean wsi_request_set_body (WsServeRequest *request, GBytes *body, const char **what);

/* NULL when there is none. */
const char *wsi_request_header (const WsServeRequest *request, const char *name);
const char *wsi_request_query (const WsServeRequest *request, const char *name);

/* A field of the form or, where the form has none, of the query; a file is none.  Valid UTF-8
 * without control characters but line ends and tabs; NULL when there is none, or it is empty. Free
 * with g_free(). */
char *wsi_request_field (const WsServeRequest *request, const char *name);

/* A whole number from `least` to `most`, `otherwise` where there is none. */
guint64 wsi_request_count (const WsServeRequest *request, const char *name, guint64 most,
                           guint64 otherwise);

/* "drill.png" of "C:\\pictures\\drill.png": a name that a file in a folder of ours may have.  Free
 * with g_free(). */
char *wsi_request_safe_name (const char *name);

G_END_DECLS

#endif
