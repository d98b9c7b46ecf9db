/*
 * The door to libcurl: one request at a time, over http or https, certificates checked.
 */
#ifndef WS_ARCHIVE_HTTP_H
#define WS_ARCHIVE_HTTP_H

#include <glib.h>

G_BEGIN_DECLS

/* Keeps its connection; belongs to one thread. */
typedef struct WsHttp WsHttp;

/* Borrowed. */
typedef struct
{
  const char *method; /* "GET", "HEAD", "PUT", "DELETE" */
  const char *url;
  const char *const *headers; /* "Name: value", ending in NULL; or NULL */
  GBytes *body;               /* or NULL */
  gsize most;                 /* bytes of an answer; more is an error */
  guint seconds;              /* that all of it may take */
  guint64 *length;            /* set to the answer's length, told to a HEAD; or NULL */

  /* Signed by AWS Signature Version 4: "aws:amz:REGION:s3"; or NULL. */
  const char *signing;
  const char *key, *secret;
} WsHttpRequest;

/* NULL with WS_ERROR_USAGE when the program was built without libcurl, WS_ERROR_INTERNAL when it
 * can't be opened.  Free with wsi_http_free(). */
WsHttp *wsi_http_new (GError **error);
void wsi_http_free (WsHttp *http);

/* The status of the answer, its body in `body` (or NULL); 0 with WS_ERROR_CANT_WRITE when there was
 * none: nobody there, too slow, too long, a certificate that isn't good.  Free `body` with
 * g_byte_array_unref(). */
guint wsi_http_send (WsHttp *http, const WsHttpRequest *request, GByteArray **body, GError **error);

/* "http://host:5000" of an address, without what stands behind the host; NULL for one that is none,
 * or that has a name and password in it.  Free with g_free(). */
char *wsi_http_origin (const char *address);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsHttp, wsi_http_free)

G_END_DECLS

#endif
