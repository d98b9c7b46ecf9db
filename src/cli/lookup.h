#ifndef WS_CLI_LOOKUP_H
#define WS_CLI_LOOKUP_H

#include <whetsight/result.h>
#include <whetsight/view.h>

G_BEGIN_DECLS

/* What a view declares of a quantity, by its full name ("point_angle_deg", "diameter_px"); NULL
 * when there is no such view or quantity. */
const WsQuantityInfo *ws_lookup_quantity (const char *view, const char *name);

G_END_DECLS

#endif
