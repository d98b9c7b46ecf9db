#include "bench/routes.h"

#include <string.h>

#include "bench/api.h"
#include "bench/pages.h"
#include "bench/prefer.h"
#include "bench/sign.h"

const WsRoute wsi_routes[] = {
  /* Pages. */
  { "GET", "/", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN, wsi_page_tools },
  { "GET", "/measure/{tool}", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN, wsi_page_measure },
  { "POST", "/measure/{tool}", WS_ROLE_OPERATOR, WS_ROUTE_UPLOAD, wsi_page_upload },
  { "GET", "/measure/{tool}/live", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN, wsi_page_live },
  { "GET", "/inspections", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN, wsi_page_inspections },
  { "GET", "/inspections/{id}", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN, wsi_page_inspection },
  { "POST", "/inspections/{id}/comments", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN, wsi_api_comment },
  { "POST", "/inspections/{id}/sign-offs", WS_ROLE_QUALITY, WS_ROUTE_PLAIN, wsi_api_sign_off },
  { "POST", "/inspections/{id}/releases", WS_ROLE_QUALITY, WS_ROUTE_PLAIN, wsi_api_release },
  { "GET", "/tools/{tool}", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN, wsi_page_tool },
  { "POST", "/scan", WS_ROLE_OPERATOR, WS_ROUTE_UPLOAD, wsi_page_scan },
  { "GET", "/labels.pdf", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN, wsi_page_labels },
  { "GET", "/inspections.csv", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN, wsi_page_export },
  { "GET", "/toolroom", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN, wsi_page_toolroom },
  { "GET", "/quality", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN, wsi_page_quality },
  { "GET", "/quality/check/{calibration}", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN, wsi_page_check },
  { "POST", "/quality/check/{calibration}", WS_ROLE_OPERATOR, WS_ROUTE_UPLOAD,
    wsi_page_make_check },
  { "GET", "/quality/study", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN, wsi_page_study },
  { "GET", "/quality/plant", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN, wsi_page_plant },
  { "GET", "/quality/again", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN, wsi_page_again },
  { "POST", "/quality/verifications", WS_ROLE_QUALITY, WS_ROUTE_PLAIN, wsi_page_verify },
  { "POST", "/quality/seals", WS_ROLE_QUALITY, WS_ROUTE_PLAIN, wsi_page_seal },
  { "GET", "/accounts", WS_ROLE_QUALITY, WS_ROUTE_PLAIN, wsi_page_accounts },
  { "POST", "/accounts", WS_ROLE_QUALITY, WS_ROUTE_PLAIN, wsi_api_set_account },
  { "POST", "/tools/{tool}/regrinds", WS_ROLE_TOOLROOM, WS_ROUTE_PLAIN, wsi_api_regrind },
  { "POST", "/tools/{tool}/handovers", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN, wsi_api_handover },
  { "POST", "/tools/{tool}/card", WS_ROLE_TOOLROOM, WS_ROUTE_PLAIN, wsi_api_set_card },
  { "POST", "/accounts/{account}", WS_ROLE_QUALITY, WS_ROUTE_PLAIN, wsi_api_set_account },
  { "GET", "/preferences", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN, wsi_prefer_page },
  { "POST", "/preferences", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN, wsi_prefer_set },
  { "GET", "/sign-in", WS_ROLE_NOBODY, WS_ROUTE_PLAIN, wsi_sign_page },
  { "POST", "/sign-in", WS_ROLE_NOBODY, WS_ROUTE_SIGN_IN, wsi_sign_in },
  { "POST", "/sign-out", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN, wsi_sign_out },
  { "GET", "/assets/{name}", WS_ROLE_NOBODY, WS_ROUTE_PLAIN, wsi_page_asset },

  /* What programs use. */
  { "GET", "/api/tools", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN, wsi_api_tools },
  { "POST", "/api/tools/{tool}/inspections", WS_ROLE_OPERATOR, WS_ROUTE_UPLOAD, wsi_api_upload },
  { "GET", "/api/inspections", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN, wsi_api_inspections },
  { "GET", "/api/inspections/{id}", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN, wsi_api_inspection },
  { "GET", "/api/inspections/{id}/picture", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN, wsi_api_picture },
  { "GET", "/api/inspections/{id}/original", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN, wsi_api_original },
  { "GET", "/api/inspections/{id}/report.pdf", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN, wsi_api_report },
  { "POST", "/api/inspections/{id}/comments", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN, wsi_api_comment },
  { "POST", "/api/inspections/{id}/sign-offs", WS_ROLE_QUALITY, WS_ROUTE_PLAIN, wsi_api_sign_off },
  { "POST", "/api/inspections/{id}/releases", WS_ROLE_QUALITY, WS_ROUTE_PLAIN, wsi_api_release },
  { "GET", "/api/tools/{tool}", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN, wsi_api_tool },
  { "GET", "/api/tools/{tool}/card", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN, wsi_api_card },
  { "PUT", "/api/tools/{tool}/card", WS_ROLE_TOOLROOM, WS_ROUTE_PLAIN, wsi_api_set_card },
  { "POST", "/api/tools/{tool}/regrinds", WS_ROLE_TOOLROOM, WS_ROUTE_PLAIN, wsi_api_regrind },
  { "POST", "/api/tools/{tool}/handovers", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN, wsi_api_handover },
  { "GET", "/api/tools/{tool}/live", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN, wsi_api_live },
  { "POST", "/api/tools/{tool}/live/inspections", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN, wsi_api_take },
  { "GET", "/api/tools/{tool}/values", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN, wsi_api_values },
  { "GET", "/api/tools/{tool}/trend.svg", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN, wsi_api_trend },
  { "GET", "/api/tools/{tool}/grind-sheet.pdf", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN,
    wsi_api_grind_sheet },
  { "GET", "/api/tools/{tool}/regrind", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN, wsi_api_regrind_told },
  { "GET", "/api/tools/{tool}/regrind.svg", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN,
    wsi_api_regrind_chart },
  { "GET", "/api/calibrations", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN, wsi_api_calibrations },
  { "GET", "/api/calibrations/{calibration}/checks", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN,
    wsi_api_checks },
  { "POST", "/api/calibrations/{calibration}/checks", WS_ROLE_OPERATOR, WS_ROUTE_UPLOAD,
    wsi_api_make_check },
  { "GET", "/api/calibrations/{calibration}/checks.svg", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN,
    wsi_api_checks_chart },
  { "GET", "/api/calibrations/{calibration}/live", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN,
    wsi_api_check_live },
  { "GET", "/api/study", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN, wsi_api_study },
  { "GET", "/api/views", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN, wsi_api_views },
  { "GET", "/api/session", WS_ROLE_NOBODY, WS_ROUTE_PLAIN, wsi_sign_session },
  { "POST", "/api/session", WS_ROLE_NOBODY, WS_ROUTE_SIGN_IN, wsi_sign_in },
  { "DELETE", "/api/session", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN, wsi_sign_out },
  { "PUT", "/api/session/password", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN, wsi_api_set_password },
  { "GET", "/api/accounts", WS_ROLE_QUALITY, WS_ROUTE_PLAIN, wsi_api_accounts },
  { "PUT", "/api/accounts/{account}", WS_ROLE_QUALITY, WS_ROUTE_PLAIN, wsi_api_set_account },
  { "GET", "/api/archive", WS_ROLE_OPERATOR, WS_ROUTE_PLAIN, wsi_api_archive },
  { "POST", "/api/archive/seals", WS_ROLE_QUALITY, WS_ROUTE_PLAIN, wsi_api_seal },
  { "POST", "/api/archive/verifications", WS_ROLE_QUALITY, WS_ROUTE_PLAIN, wsi_api_verify },
  { "GET", "/api/openapi.json", WS_ROLE_NOBODY, WS_ROUTE_PLAIN, wsi_api_description },
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
