#include "bench/actor.h"

static const char *const names[WS_N_ROLES] = {
  [WS_ROLE_NOBODY] = "nobody",
  [WS_ROLE_OPERATOR] = "operator",
  [WS_ROLE_TOOLROOM] = "toolroom",
  [WS_ROLE_QUALITY] = "quality",
};

const char *
wsi_role_name (WsServeRole role)
{
  return names[role];
}

WsServeRole
wsi_role_of_name (const char *name)
{
  for (int i = WS_ROLE_OPERATOR; i < WS_N_ROLES; i++)
    if (g_strcmp0 (name, names[i]) == 0)
      return (WsServeRole)i;
  return WS_ROLE_NOBODY;
}
