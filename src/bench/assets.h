/*
 * The page's own files, part of the program: src/bench/page.
 */
#ifndef WS_BENCH_ASSETS_H
#define WS_BENCH_ASSETS_H

#include <glib.h>

G_BEGIN_DECLS

typedef struct
{
  const char *name;
  const guint8 *bytes;
  gsize n_bytes;
} WsAsset;

/* Made when the program is built; ends in one without a name. */
extern const WsAsset wsi_assets[];

G_END_DECLS

#endif
