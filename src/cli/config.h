/*
 * What a shop settles once for all calls: whetsight/whetsight.conf in the user's folder for
 * settings ($XDG_CONFIG_HOME, ~/.config).
 *
 *   [show]
 *   units = in
 */
#ifndef WS_CLI_CONFIG_H
#define WS_CLI_CONFIG_H

#include <whetsight/result.h>

#include "cli/options.h"

G_BEGIN_DECLS

typedef struct
{
  gboolean has_units;
  WsUnits units;
} WsConfig;

/* The words of units: "mm", "in", "both". */
extern const WsOptionCheck wsi_check_units;

/* Without the file all is left open.  Errors: WS_ERROR_DATA naming group and key; unknown ones too.
 */
gboolean wsi_config_load (WsConfig *config, GError **error);

/* The units of `word` as typed, NULL for none, else the file's, else `otherwise`.  Errors: those of
 * wsi_config_load(). */
gboolean wsi_config_units (const char *word, WsUnits otherwise, WsUnits *units, GError **error);

G_END_DECLS

#endif
