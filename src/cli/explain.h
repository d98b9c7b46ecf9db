/*
 * What `whetsight explain` explains.
 */
#ifndef WS_CLI_EXPLAIN_H
#define WS_CLI_EXPLAIN_H

#include "cli/command.h"

G_BEGIN_DECLS

/* An item of a list of things to heed or to do, wrapped. */
void wsi_explain_add (GString *text, const char *format, ...) G_GNUC_PRINTF (2, 3);

extern const WsCommand wsi_explain_centre_height, wsi_explain_clearance, wsi_explain_set_out;

G_END_DECLS

#endif
