/*
 * Certificates: read, or made for a shop that has none.
 */
#ifndef WS_BENCH_TLS_H
#define WS_BENCH_TLS_H

#include <glib.h>

G_BEGIN_DECLS

/* A certificate that signs itself, and its key, as PEM text; for those names and addresses, which
 * end in NULL.  Errors: WS_ERROR_INTERNAL; WS_ERROR_USAGE where this program was built without
 * GnuTLS.  Free with g_free(). */
gboolean wsi_tls_make (const char *const *names, char **certificate, char **key, GError **error);

/* "4F:09:…", SHA-256, as browsers show it; NULL when it is no certificate.  Free with g_free(). */
char *wsi_tls_fingerprint (const char *certificate);

/* Names and addresses that this computer has, small letters, ending in NULL.  Free with
 * g_strfreev(). */
char **wsi_tls_own_names (void);

G_END_DECLS

#endif
