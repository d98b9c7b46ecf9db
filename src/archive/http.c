#include "archive/http.h"

#include <string.h>

#include <whetsight/error.h>

#ifdef WS_HAVE_CURL

#include "late/curl.h"

#define SECONDS_TO_CONNECT 5L
#define MS_TO_CONTINUE 10L

struct WsHttp
{
  CURL *curl;
};

WsHttp *
wsi_http_new (GError **error)
{
  if (!wsi_late_has_curl (error))
    return NULL;
  CURL *curl = curl_easy_init ();
  if (curl == NULL)
  {
    g_set_error_literal (error, WS_ERROR, WS_ERROR_INTERNAL, "libcurl can't be set up");
    return NULL;
  }
  WsHttp *http = g_new (WsHttp, 1);
  http->curl = curl;
  return http;
}

void
wsi_http_free (WsHttp *http)
{
  if (http == NULL)
    return;
  curl_easy_cleanup (http->curl);
  g_free (http);
}

typedef struct
{
  GByteArray *bytes;
  gsize most;
} Answer;

static size_t
take (char *bytes, size_t size, size_t n, void *data)
{
  Answer *answer = data;
  if (size * n > answer->most - answer->bytes->len)
    return 0;
  g_byte_array_append (answer->bytes, (const guint8 *)bytes, (guint)(size * n));
  return size * n;
}

static void
set_body (CURL *curl, const WsHttpRequest *request)
{
  gsize n = 0;
  const char *bytes =
    request->body != NULL ? (const char *)g_bytes_get_data (request->body, &n) : "";
  if (request->body != NULL)
  {
    curl_easy_setopt (curl, CURLOPT_POSTFIELDSIZE_LARGE, (curl_off_t)n);
    curl_easy_setopt (curl, CURLOPT_POSTFIELDS, bytes != NULL ? bytes : "");
  }
  else if (g_str_equal (request->method, "HEAD"))
    curl_easy_setopt (curl, CURLOPT_NOBODY, 1L);
  curl_easy_setopt (curl, CURLOPT_CUSTOMREQUEST, request->method);
}

/* Free with curl_slist_free_all(). */
static struct curl_slist *
headers_of (const WsHttpRequest *request)
{
  struct curl_slist *list = NULL;
  for (gsize i = 0; request->headers != NULL && request->headers[i] != NULL; i++)
    list = curl_slist_append (list, request->headers[i]);
  return list;
}

/* Certificates are checked by libcurl unless it is told not to. */
static void
set_up (CURL *curl, const WsHttpRequest *request, Answer *answer, struct curl_slist *headers)
{
  curl_easy_reset (curl);
  curl_easy_setopt (curl, CURLOPT_URL, request->url);
  curl_easy_setopt (curl, CURLOPT_PROTOCOLS_STR, "http,https");
  curl_easy_setopt (curl, CURLOPT_NOSIGNAL, 1L);
  curl_easy_setopt (curl, CURLOPT_CONNECTTIMEOUT, SECONDS_TO_CONNECT);
  curl_easy_setopt (curl, CURLOPT_TIMEOUT, (long)request->seconds);
  curl_easy_setopt (curl, CURLOPT_USERAGENT, "whetsight");
  curl_easy_setopt (curl, CURLOPT_PATH_AS_IS, 1L);
  /* An own header "Expect:" would be signed, and not sent. */
  curl_easy_setopt (curl, CURLOPT_EXPECT_100_TIMEOUT_MS, MS_TO_CONTINUE);
  curl_easy_setopt (curl, CURLOPT_HTTPHEADER, headers);
  curl_easy_setopt (curl, CURLOPT_WRITEFUNCTION, take);
  curl_easy_setopt (curl, CURLOPT_WRITEDATA, answer);
  if (request->signing != NULL)
  {
    curl_easy_setopt (curl, CURLOPT_AWS_SIGV4, request->signing);
    curl_easy_setopt (curl, CURLOPT_USERNAME, request->key);
    curl_easy_setopt (curl, CURLOPT_PASSWORD, request->secret);
  }
  set_body (curl, request);
}

guint
wsi_http_send (WsHttp *http, const WsHttpRequest *request, GByteArray **body, GError **error)
{
  long status = 0;
  curl_off_t length = 0;
  g_autoptr (GByteArray) bytes = g_byte_array_new ();
  Answer answer = { bytes, request->most };
  struct curl_slist *headers = headers_of (request);
  set_up (http->curl, request, &answer, headers);
  const CURLcode code = curl_easy_perform (http->curl);
  curl_easy_getinfo (http->curl, CURLINFO_RESPONSE_CODE, &status);
  curl_easy_getinfo (http->curl, CURLINFO_CONTENT_LENGTH_DOWNLOAD_T, &length);
  curl_slist_free_all (headers);
  /* Nothing of it stays behind in the handle. */
  curl_easy_reset (http->curl);
  if (request->length != NULL)
    *request->length = length > 0 ? (guint64)length : 0;
  if (code == CURLE_OK && status > 0)
  {
    if (body != NULL)
      *body = g_steal_pointer (&bytes);
    return (guint)status;
  }
  g_autofree char *origin = wsi_http_origin (request->url);
  g_set_error (error, WS_ERROR, WS_ERROR_CANT_WRITE, "%s: no answer: %s",
               origin != NULL ? origin : "?",
               code == CURLE_WRITE_ERROR ? "it is too long" : curl_easy_strerror (code));
  return 0;
}

#else

WsHttp *
wsi_http_new (GError **error)
{
  g_set_error_literal (error, WS_ERROR, WS_ERROR_USAGE,
                       "this program was built without libcurl (Debian: libcurl4-openssl-dev), so "
                       "it can't send over the network; build it again with that");
  return NULL;
}

void
wsi_http_free (WsHttp *http)
{
  g_free (http);
}

guint
wsi_http_send (WsHttp *http, const WsHttpRequest *request, GByteArray **body, GError **error)
{
  (void)http;
  (void)request;
  (void)body;
  g_set_error_literal (error, WS_ERROR, WS_ERROR_USAGE, "built without libcurl");
  return 0;
}

#endif

char *
wsi_http_origin (const char *address)
{
  g_autoptr (GUri) uri = g_uri_parse (address, G_URI_FLAGS_HAS_PASSWORD, NULL);
  const char *scheme = uri != NULL ? g_uri_get_scheme (uri) : NULL;
  if (scheme == NULL || (!g_str_equal (scheme, "http") && !g_str_equal (scheme, "https")) ||
      g_uri_get_userinfo (uri) != NULL || g_uri_get_host (uri) == NULL ||
      *g_uri_get_host (uri) == '\0')
    return NULL;
  return g_uri_join (G_URI_FLAGS_NONE, scheme, NULL, g_uri_get_host (uri), g_uri_get_port (uri), "",
                     NULL, NULL);
}
