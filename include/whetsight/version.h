/*
 * Which Whetsight this is.
 */
#ifndef WHETSIGHT_VERSION_H
#define WHETSIGHT_VERSION_H

#include <glib.h>

G_BEGIN_DECLS

/* "0.1.0": of the library that is linked, as its records have it; static. */
const char *ws_version (void);

G_END_DECLS

#endif
