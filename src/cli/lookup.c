#include "cli/lookup.h"

#include <string.h>

const WsQuantityInfo *
ws_lookup_quantity (const char *view_name, const char *name)
{
  const WsView *view = ws_view_find (view_name);
  const char *unit = strrchr (name, '_');
  for (gsize i = 0; view != NULL && unit != NULL && i < view->n_quantities; i++)
  {
    const WsQuantityInfo *info = &view->quantities[i];
    const gsize n = strlen (info->stem);
    if (strncmp (name, info->stem, n) == 0 && name + n == unit)
      return info;
  }
  return NULL;
}
