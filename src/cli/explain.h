/*
 * What `whetsight explain` explains.
 */
#ifndef WS_CLI_EXPLAIN_H
#define WS_CLI_EXPLAIN_H

#include "cli/command.h"

G_BEGIN_DECLS

extern const WsCommand wsi_explain_centre_height, wsi_explain_clearance, wsi_explain_set_out;

G_END_DECLS

#endif
