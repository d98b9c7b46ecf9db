/*
 * Time stamps of a service (RFC 3161), by OpenSSL.
 */
#ifndef WS_ARCHIVE_STAMP_H
#define WS_ARCHIVE_STAMP_H

#include <glib.h>

G_BEGIN_DECLS

/* Has the SHA-256 of `text` stamped by the service at `url`, http://HOST[:PORT]/PATH; returns its
 * answer in base64.  Nothing else of the text leaves the computer.  Errors: WS_ERROR_USAGE for what
 * is no such address; WS_ERROR_CANT_WRITE when there is no good answer.  Free with g_free(). */
char *wsi_stamp_fetch (const char *url, const char *text, GError **error);

/* The time, ISO 8601, UTC, that an answer attests for `text`.  `authority`: a file with
 * certificates (PEM) that the service's has to follow from, or NULL, and then nobody vouches for
 * the time. Errors: WS_ERROR_DATA; WS_ERROR_NO_INPUT when there are no certificates.  Free with
 * g_free(). */
char *wsi_stamp_check (const char *stamp, const char *text, const char *authority, GError **error);

G_END_DECLS

#endif
