/*
 * What a shop settles once for all calls: whetsight/whetsight.conf in the user's folder for
 * settings ($XDG_CONFIG_HOME, ~/.config).
 *
 *   [show]
 *   units = in
 *   [report]
 *   company = Quillbrook Turning
 *   address = 4 Mill Lane, Quillbrook
 *   logo = quill.png
 *   customer = …
 *   order = …
 *   part = …
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
  /* What stands on printed reports; each NULL when nobody said. */
  char *company, *address, *logo, *customer, *order, *part;
} WsConfig;

void wsi_config_clear (WsConfig *config);

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (WsConfig, wsi_config_clear)

/* The words of units: "mm", "in", "both". */
extern const WsOptionCheck wsi_check_units;

/* Without the file all is left open; `logo` is a path, beside the file when it is relative. Errors:
 * WS_ERROR_DATA naming group and key; unknown ones too.  Clear with wsi_config_clear(). */
gboolean wsi_config_load (WsConfig *config, GError **error);

/* The units of `word` as typed, NULL for none, else the file's, else `otherwise`.  Errors: those of
 * wsi_config_load(). */
gboolean wsi_config_units (const char *word, WsUnits otherwise, WsUnits *units, GError **error);

G_END_DECLS

#endif
