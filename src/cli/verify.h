/*
 * One picture of `verify`.
 */
#ifndef WS_CLI_VERIFY_H
#define WS_CLI_VERIFY_H

#include <whetsight/image.h>

#include "cli/shots.h"
#include "optics/checks.h"

G_BEGIN_DECLS

/* Measures the shot and adds a WsCheck for each size that is known of it.  FALSE when the picture
 * can't be measured: `reason` and `detail` say why, in words that last. */
gboolean ws_verify_measure (const WsShot *shot, const WsImage *image, const WsOptics *optics,
                            const char *run, GPtrArray *checks, WsRetake *reason, char **detail);

G_END_DECLS

#endif
