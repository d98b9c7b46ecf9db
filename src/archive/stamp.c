#include "archive/stamp.h"

#include <signal.h>
#include <string.h>
#include <time.h>

#include <whetsight/error.h>

#include "late/crypto.h"

/* Long enough for a slow line, short enough to wait for; so long a refused connection is tried
 * again, too. */
#define TIMEOUT_S 10

/* A stamp with its certificates takes some 5000 bytes. */
#define MAX_BYTES 65536

#define NONCE_BYTES 8

G_DEFINE_AUTOPTR_CLEANUP_FUNC (BIO, BIO_free_all)
G_DEFINE_AUTOPTR_CLEANUP_FUNC (TS_REQ, TS_REQ_free)
G_DEFINE_AUTOPTR_CLEANUP_FUNC (TS_RESP, TS_RESP_free)
G_DEFINE_AUTOPTR_CLEANUP_FUNC (TS_MSG_IMPRINT, TS_MSG_IMPRINT_free)
G_DEFINE_AUTOPTR_CLEANUP_FUNC (TS_VERIFY_CTX, TS_VERIFY_CTX_free)
G_DEFINE_AUTOPTR_CLEANUP_FUNC (X509_ALGOR, X509_ALGOR_free)
G_DEFINE_AUTOPTR_CLEANUP_FUNC (X509_STORE, X509_STORE_free)
G_DEFINE_AUTOPTR_CLEANUP_FUNC (ASN1_INTEGER, ASN1_INTEGER_free)
G_DEFINE_AUTOPTR_CLEANUP_FUNC (BIGNUM, BN_free)

/* What the library noted last, which is the cause nearest to us; its list is emptied. */
static gboolean
refuse (GError **error, WsErrorCode code, const char *what)
{
  const unsigned long cause = ERR_peek_last_error ();
  const char *why = cause != 0 ? ERR_reason_error_string (cause) : NULL;
  g_set_error (error, WS_ERROR, (int)code, "%s%s%s", what, why != NULL ? ": " : "",
               why != NULL ? why : "");
  ERR_clear_error ();
  return FALSE;
}

/* ---- The request ----------------------------------------------------------------------------- */

static TS_MSG_IMPRINT *
imprint_of (const char *text)
{
  unsigned char digest[SHA256_DIGEST_LENGTH];
  g_autoptr (TS_MSG_IMPRINT) imprint = TS_MSG_IMPRINT_new ();
  g_autoptr (X509_ALGOR) algorithm = X509_ALGOR_new ();
  SHA256 ((const unsigned char *)text, strlen (text), digest);
  if (imprint == NULL || algorithm == NULL)
    return NULL;
  X509_ALGOR_set_md (algorithm, EVP_sha256 ());
  return TS_MSG_IMPRINT_set_algo (imprint, algorithm) &&
             TS_MSG_IMPRINT_set_msg (imprint, digest, sizeof digest)
           ? g_steal_pointer (&imprint)
           : NULL;
}

/* So that no old answer passes for this one. */
static ASN1_INTEGER *
new_nonce (void)
{
  unsigned char bytes[NONCE_BYTES];
  if (RAND_bytes (bytes, sizeof bytes) != 1)
    return NULL;
  g_autoptr (BIGNUM) number = BN_bin2bn (bytes, sizeof bytes, NULL);
  return number != NULL ? BN_to_ASN1_INTEGER (number, NULL) : NULL;
}

static TS_REQ *
new_request (const char *text)
{
  g_autoptr (TS_REQ) request = TS_REQ_new ();
  g_autoptr (TS_MSG_IMPRINT) imprint = imprint_of (text);
  g_autoptr (ASN1_INTEGER) nonce = new_nonce ();
  return request != NULL && imprint != NULL && nonce != NULL && TS_REQ_set_version (request, 1) &&
             TS_REQ_set_msg_imprint (request, imprint) && TS_REQ_set_nonce (request, nonce) &&
             TS_REQ_set_cert_req (request, 1)
           ? g_steal_pointer (&request)
           : NULL;
}

static BIO *
transfer (const char *host, const char *port, const char *path, BIO *body)
{
  return OSSL_HTTP_transfer (NULL, host, port, path, 0, NULL, NULL, NULL, NULL, NULL, NULL, 0, NULL,
                             "application/timestamp-query", body, "application/timestamp-reply", 1,
                             MAX_BYTES, TIMEOUT_S, 0);
}

/* A service that hangs up in the middle would end the program by a signal; this thread lets it
 * pass.
 */
static BIO *
post (const char *host, const char *port, const char *path, BIO *body)
{
  sigset_t pipe_alone, before, waiting;
  const struct timespec at_once = { 0 };
  sigemptyset (&pipe_alone);
  sigaddset (&pipe_alone, SIGPIPE);
  sigpending (&waiting);
  pthread_sigmask (SIG_BLOCK, &pipe_alone, &before);
  BIO *answer = transfer (host, port, path, body);
  if (!sigismember (&waiting, SIGPIPE))
    while (sigtimedwait (&pipe_alone, NULL, &at_once) == SIGPIPE)
      ;
  pthread_sigmask (SIG_SETMASK, &before, NULL);
  return answer;
}

/* The answer is signed, so plain HTTP does. */
static TS_RESP *
ask (const char *url, TS_REQ *request, GError **error)
{
  char *host = NULL, *port = NULL, *path = NULL;
  int needs_tls = 0;
  g_autoptr (BIO) body = BIO_new (BIO_s_mem ());
  TS_RESP *response = NULL;
  if (!OSSL_HTTP_parse_url (url, &needs_tls, NULL, &host, &port, NULL, &path, NULL, NULL) ||
      needs_tls || !g_str_has_prefix (url, "http://"))
  {
    ERR_clear_error ();
    refuse (error, WS_ERROR_USAGE,
            "time stamp: expected http://HOST[:PORT]/PATH of a time stamp service");
  }
  else if (body == NULL || i2d_TS_REQ_bio (body, request) != 1)
    refuse (error, WS_ERROR_INTERNAL, "time stamp request");
  else
  {
    g_autoptr (BIO) answer = post (host, port, path, body);
    response = answer != NULL ? d2i_TS_RESP_bio (answer, NULL) : NULL;
    if (response == NULL)
      refuse (error, WS_ERROR_CANT_WRITE, "the time stamp service gives no answer");
  }
  OPENSSL_free (host);
  OPENSSL_free (port);
  OPENSSL_free (path);
  return response;
}

static char *
encode (TS_RESP *response)
{
  unsigned char *bytes = NULL;
  const int n = i2d_TS_RESP (response, &bytes);
  char *text = n > 0 ? g_base64_encode (bytes, (gsize)n) : NULL;
  OPENSSL_free (bytes);
  return text;
}

char *
wsi_stamp_fetch (const char *url, const char *text, GError **error)
{
  GError *cause = NULL;
  if (!wsi_late_has_crypto (error))
    return NULL;
  g_autoptr (TS_REQ) request = new_request (text);
  g_autoptr (TS_RESP) response = request != NULL ? ask (url, request, &cause) : NULL;
  if (cause != NULL)
  {
    g_propagate_error (error, cause);
    return NULL;
  }
  g_autoptr (TS_VERIFY_CTX) context =
    response != NULL ? TS_REQ_to_TS_VERIFY_CTX (request, NULL) : NULL;
  char *stamp =
    context != NULL && TS_RESP_verify_response (context, response) == 1 ? encode (response) : NULL;
  if (stamp == NULL)
    refuse (error, WS_ERROR_CANT_WRITE, "the time stamp service gives no good answer");
  return stamp;
}

/* ---- The answer ------------------------------------------------------------------------------ */

static TS_RESP *
decode (const char *stamp)
{
  gsize n;
  if (strlen (stamp) > MAX_BYTES)
    return NULL;
  g_autofree guchar *bytes = g_base64_decode (stamp, &n);
  const unsigned char *at = bytes;
  g_autoptr (TS_RESP) response = n > 0 ? d2i_TS_RESP (NULL, &at, (long)n) : NULL;
  return response != NULL && at == bytes + n ? g_steal_pointer (&response) : NULL;
}

static gboolean
read_time (TS_RESP *response, struct tm *time)
{
  TS_TST_INFO *info = TS_RESP_get_tst_info (response);
  return info != NULL && ASN1_TIME_to_tm (TS_TST_INFO_get_time (info), time) == 1;
}

/* Certificates expire: they have to have been good when the stamp was made. */
static X509_STORE *
load_store (const char *authority, struct tm *time)
{
  g_autoptr (X509_STORE) store = X509_STORE_new ();
  if (store == NULL || X509_STORE_load_file (store, authority) != 1)
    return NULL;
  X509_VERIFY_PARAM_set_time (X509_STORE_get0_param (store), timegm (time));
  return g_steal_pointer (&store);
}

static TS_VERIFY_CTX *
new_context (const char *text, X509_STORE *store)
{
  TS_VERIFY_CTX *context = TS_VERIFY_CTX_new ();
  unsigned char *digest = OPENSSL_malloc (SHA256_DIGEST_LENGTH);
  if (context == NULL || digest == NULL)
  {
    OPENSSL_free (digest);
    X509_STORE_free (store);
    TS_VERIFY_CTX_free (context);
    return NULL;
  }
  SHA256 ((const unsigned char *)text, strlen (text), digest);
  TS_VERIFY_CTX_set_flags (context, TS_VFY_VERSION | TS_VFY_IMPRINT);
  TS_VERIFY_CTX_set_imprint (context, digest, SHA256_DIGEST_LENGTH);
  if (store != NULL)
  {
    TS_VERIFY_CTX_add_flags (context, TS_VFY_SIGNATURE);
    TS_VERIFY_CTX_set_store (context, store);
  }
  return context;
}

char *
wsi_stamp_check (const char *stamp, const char *text, const char *authority, GError **error)
{
  struct tm time;
  X509_STORE *store = NULL;
  if (!wsi_late_has_crypto (error))
    return NULL;
  g_autoptr (TS_RESP) response = decode (stamp);
  if (response == NULL || !read_time (response, &time))
  {
    refuse (error, WS_ERROR_DATA, "its time stamp is none");
    return NULL;
  }
  if (authority != NULL && (store = load_store (authority, &time)) == NULL)
  {
    ERR_clear_error ();
    g_set_error (error, WS_ERROR, WS_ERROR_NO_INPUT, "%s: no certificates there (PEM)", authority);
    return NULL;
  }
  g_autoptr (TS_VERIFY_CTX) context = new_context (text, store);
  if (context == NULL || TS_RESP_verify_response (context, response) != 1)
  {
    refuse (error, WS_ERROR_DATA, "its time stamp doesn't hold");
    return NULL;
  }
  return g_strdup_printf ("%04d-%02d-%02dT%02d:%02d:%02dZ", time.tm_year + 1900, time.tm_mon + 1,
                          time.tm_mday, time.tm_hour, time.tm_min, time.tm_sec);
}
