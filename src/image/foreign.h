/*
 * What a file is that isn't read here, by its first bytes.
 */
#ifndef WS_IMAGE_FOREIGN_H
#define WS_IMAGE_FOREIGN_H

#include <glib.h>

G_BEGIN_DECLS

/* "a WebP picture, save it as PNG", to go on after a name and a colon; NULL when nobody knows;
 * static. */
const char *wsi_foreign_kind (const guint8 *bytes, gsize n_bytes);

G_END_DECLS

#endif
