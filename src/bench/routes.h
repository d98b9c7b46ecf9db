/*
 * All routes, in one table.  The security tests go through it, and so does the check of
 * openapi.json.
 */
#ifndef WS_BENCH_ROUTES_H
#define WS_BENCH_ROUTES_H

#include "bench/serve.h"

G_BEGIN_DECLS

typedef enum
{
  WS_ROUTE_PLAIN = 0,
  WS_ROUTE_UPLOAD = 1 << 0, /* its body holds pictures */
  WS_ROUTE_SIGN_IN = 1 << 1 /* a change that needs nobody signed in */
} WsRouteFlags;

typedef WsServeReply *(*WsRouteHandler) (WsServe *serve, WsServeRequest *request);

/* Methods but GET change something: they come with a token. */
typedef struct
{
  const char *method;
  const char *pattern; /* "/inspections/{id}" */
  WsServeRole role;    /* the least that may */
  WsRouteFlags flags;
  WsRouteHandler handle;
} WsRoute;

/* Ends in one without a method. */
extern const WsRoute wsi_routes[];

/* The route of the request, setting its ids; NULL when there is none.  `allow` is then what the
 * path has otherwise, or NULL; free with g_free(). */
const WsRoute *wsi_routes_find (WsServeRequest *request, char **allow);

G_END_DECLS

#endif
