#include "bench/routes.h"

#include <string.h>

#include "bench/api.h"
#include "bench/pages.h"

const WsRoute wsi_routes[] = {
  /* Pages. */
  { "GET", "/", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN, wsi_page_tools },
  { "GET", "/measure/{tool}", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN, wsi_page_measure },
  { "POST", "/measure/{tool}", WS_ROLE_OPERATOR, WS_ROUTE_UPLOAD, wsi_page_upload },
  { "GET", "/inspections", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN, wsi_page_inspections },
  { "GET", "/inspections/{id}", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN, wsi_page_inspection },
  { "GET", "/assets/{name}", WS_ROLE_NOBODY, WS_ROUTE_PLAIN, wsi_page_asset },

  /* What programs use. */
  { "GET", "/api/tools", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN, wsi_api_tools },
  { "POST", "/api/tools/{tool}/inspections", WS_ROLE_OPERATOR, WS_ROUTE_UPLOAD, wsi_api_upload },
  { "GET", "/api/inspections", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN, wsi_api_inspections },
  { "GET", "/api/inspections/{id}", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN, wsi_api_inspection },
  { "GET", "/api/inspections/{id}/picture", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN, wsi_api_picture },
  { "GET", "/api/inspections/{id}/original", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN, wsi_api_original },
  { NULL, NULL, WS_ROLE_NOBODY, WS_ROUTE_PLAIN, NULL },
};

/* The ids that the pattern's places have; FALSE for another path. */
static gboolean
fits (const char *pattern, char *const *path, const char **ids)
{
  guint n_ids = 0, i = 0;
  g_auto (GStrv) pieces = g_strsplit (pattern + 1, "/", 0);
  for (; pieces[i] != NULL && path[i] != NULL; i++)
    if (pieces[i][0] == '{' && n_ids < WSI_REQUEST_MOST_IDS)
      ids[n_ids++] = path[i];
    else if (!g_str_equal (pieces[i], path[i]))
      return FALSE;
  return pieces[i] == NULL && path[i] == NULL;
}

const WsRoute *
wsi_routes_find (WsServeRequest *request, char **allow)
{
  const char *method = g_str_equal (request->method, "HEAD") ? "GET" : request->method;
  g_autoptr (GString) others = g_string_new (NULL);
  for (const WsRoute *route = wsi_routes; route->method != NULL; route++)
  {
    memset (request->ids, 0, sizeof request->ids);
    if (!fits (route->pattern, request->path, request->ids))
      continue;
    if (g_str_equal (route->method, method))
      return route;
    g_string_append_printf (others, "%s%s", others->len > 0 ? ", " : "", route->method);
  }
  *allow = others->len > 0 ? g_strdup (others->str) : NULL;
  return NULL;
}
