#include "archive/bucket.h"

#include <string.h>
#include <sys/stat.h>

#include <glib/gstdio.h>
#include <whetsight/error.h>

#include "archive/http.h"
#include "base/file.h"
#include "base/key_file.h"
#include "base/sha256.h"

#define GROUP "pictures"
#define MAX_KEYS_BYTES 65536
#define MAX_PICTURE (1U << 30)
#define MAX_LIST (8U << 20)
#define USUAL_REGION "us-east-1"

/* A store that is busy or being started again is asked once more after a while, doubled each time:
 * 0.1 + 0.2 + … s. */
#define TRIES 5
#define FIRST_WAIT_US 100000

/* For one request: a picture of 100 MB at 1 MB/s. */
#define SECONDS_TO_ANSWER 120

/* Of nothing. */
#define EMPTY_SHA256 "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"

struct WsBucket
{
  char *address;        /* without a slash at its end */
  char *origin, *place; /* "https://store.local:9000", "/bucket/shop" */
  char *signing;        /* as WsHttpRequest's */
  char *key, *secret;
  GAsyncQueue *idle; /* of WsHttp: connections that are kept */
  gint is_silent;    /* it gave no answer, however often it was asked: others ask it once */
};

/* ---- Settings -------------------------------------------------------------------------------- */

static gboolean
refuse (const char *path, const char *key, const char *expected, GError **error)
{
  g_set_error (error, WS_ERROR, WS_ERROR_DATA, "%s: [" GROUP "] %s: expected %s", path, key,
               expected);
  return FALSE;
}

/* Pictures go unencrypted to this computer alone. */
static gboolean
is_safe (const char *address)
{
  g_autoptr (GUri) uri = g_uri_parse (address, G_URI_FLAGS_NONE, NULL);
  const char *host = uri != NULL ? g_uri_get_host (uri) : "";
  return g_str_has_prefix (address, "https://") || g_str_equal (host, "localhost") ||
         g_str_equal (host, "::1") || g_str_has_prefix (host, "127.");
}

/* The bucket, and names in it: what has to be escaped is signed differently by different stores. */
static gboolean
is_plain (const char *place)
{
  return strlen (place) > 1 && strstr (place, "//") == NULL && strstr (place, "..") == NULL &&
         strspn (place, G_CSET_A_2_Z G_CSET_a_2_z G_CSET_DIGITS "/._-") == strlen (place);
}

static gboolean
read_address (WsBucket *bucket, const char *path, GKeyFile *file, GError **error)
{
  bucket->address = g_key_file_get_string (file, GROUP, "store", NULL);
  bucket->origin = bucket->address != NULL ? wsi_http_origin (bucket->address) : NULL;
  if (bucket->origin == NULL)
    return refuse (path, "store", "https://host:port/bucket/prefix, without a name or password",
                   error);
  while (g_str_has_suffix (bucket->address, "/"))
    bucket->address[strlen (bucket->address) - 1] = '\0';
  if (!is_safe (bucket->address))
    return refuse (path, "store", "https; http goes to this computer alone", error);
  const char *place = strchr (strstr (bucket->address, "://") + strlen ("://"), '/');
  if (place == NULL || !is_plain (place))
    return refuse (path, "store",
                   "a bucket behind the host: https://host/bucket, of letters, digits, / . _ -",
                   error);
  bucket->place = g_strdup (place);
  return TRUE;
}

static gboolean
read_region (WsBucket *bucket, const char *path, GKeyFile *file, GError **error)
{
  g_autofree char *region = g_key_file_get_string (file, GROUP, "region", NULL);
  const char *word = region != NULL ? region : USUAL_REGION;
  if (*word == '\0' || strspn (word, G_CSET_A_2_Z G_CSET_a_2_z G_CSET_DIGITS "-") != strlen (word))
    return refuse (path, "region", "a region's name, eu-central-1 say", error);
  bucket->signing = g_strdup_printf ("aws:amz:%s:s3", word);
  return TRUE;
}

/* ---- Keys ------------------------------------------------------------------------------------ */

static gboolean
read_keys_file (WsBucket *bucket, const char *path, GError **error)
{
  GStatBuf about;
  if (g_stat (path, &about) == 0 && (about.st_mode & (S_IRWXG | S_IRWXO)) != 0)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_DATA,
                 "%s: others may read these keys; chmod 600 it, and have new ones made", path);
    return FALSE;
  }
  g_autofree char *text = wsi_file_read_text (path, "keys", MAX_KEYS_BYTES, error);
  g_autoptr (GKeyFile) file = g_key_file_new ();
  if (text == NULL)
    return FALSE;
  /* What is wrong with it is told without its content. */
  if (g_key_file_load_from_data (file, text, strlen (text), G_KEY_FILE_NONE, NULL))
  {
    bucket->key = g_key_file_get_string (file, "default", "aws_access_key_id", NULL);
    bucket->secret = g_key_file_get_string (file, "default", "aws_secret_access_key", NULL);
  }
  if (bucket->key != NULL && bucket->secret != NULL)
    return TRUE;
  g_set_error (error, WS_ERROR, WS_ERROR_DATA,
               "%s: expected [default] with aws_access_key_id and aws_secret_access_key", path);
  return FALSE;
}

static gboolean
read_keys (WsBucket *bucket, const char *path, GKeyFile *file, GError **error)
{
  g_autofree char *name = g_key_file_get_string (file, GROUP, "keys", NULL);
  g_autofree char *folder = g_path_get_dirname (path);
  if (name != NULL)
  {
    g_autofree char *keys =
      g_path_is_absolute (name) ? g_strdup (name) : g_build_filename (folder, name, NULL);
    return read_keys_file (bucket, keys, error);
  }
  bucket->key = g_strdup (g_getenv ("AWS_ACCESS_KEY_ID"));
  bucket->secret = g_strdup (g_getenv ("AWS_SECRET_ACCESS_KEY"));
  return (bucket->key != NULL && bucket->secret != NULL) ||
         refuse (path, "keys",
                 "a file with the store's keys, or AWS_ACCESS_KEY_ID and AWS_SECRET_ACCESS_KEY in "
                 "the environment",
                 error);
}

static gboolean
check_words (const char *path, GKeyFile *file, GError **error)
{
  static const char *const known[] = { "store", "region", "keys", NULL };
  g_auto (GStrv) groups = g_key_file_get_groups (file, NULL);
  g_auto (GStrv) keys = g_key_file_get_keys (file, GROUP, NULL, NULL);
  for (char **group = groups; *group != NULL; group++)
    if (!g_str_equal (*group, GROUP))
      return refuse (path, "store", "the group [" GROUP "] alone", error);
  for (char **key = keys; key != NULL && *key != NULL; key++)
    if (!g_strv_contains (known, *key))
      return refuse (path, *key, "store, region or keys", error);
  return TRUE;
}

static void
free_connection (gpointer http)
{
  wsi_http_free (http);
}

WsBucket *
wsi_bucket_new (const char *path, GKeyFile *file, GError **error)
{
  g_autoptr (WsBucket) bucket = g_new0 (WsBucket, 1);
  bucket->idle = g_async_queue_new_full (free_connection);
  if (!check_words (path, file, error) || !read_address (bucket, path, file, error) ||
      !read_region (bucket, path, file, error) || !read_keys (bucket, path, file, error))
    return NULL;
  WsHttp *first = wsi_http_new (error);
  if (first == NULL)
    return NULL;
  g_async_queue_push (bucket->idle, first);
  return g_steal_pointer (&bucket);
}

/* Memory that held them may be given out again. */
static void
forget (char *text)
{
  if (text != NULL)
    explicit_bzero (text, strlen (text));
  g_free (text);
}

void
wsi_bucket_free (WsBucket *bucket)
{
  if (bucket == NULL)
    return;
  g_async_queue_unref (bucket->idle);
  forget (bucket->key);
  forget (bucket->secret);
  g_free (bucket->signing);
  g_free (bucket->place);
  g_free (bucket->origin);
  g_free (bucket->address);
  g_free (bucket);
}

const char *
wsi_bucket_address (const WsBucket *bucket)
{
  return bucket->address;
}

/* ---- Requests -------------------------------------------------------------------------------- */

typedef struct
{
  const char *method, *url;
  GBytes *body;
  const char *body_sha256;
  gsize most;
  guint64 *length;
} Wanted;

static guint
send_once (WsBucket *bucket, const Wanted *wanted, GByteArray **body, GError **error)
{
  /* libcurl 7.88 signs a body's hash by this header alone. */
  g_autofree char *hash = g_strconcat ("x-amz-content-sha256: ", wanted->body_sha256, NULL);
  const char *const headers[] = { hash, wanted->body != NULL ? "Content-Type: image/unknown" : NULL,
                                  NULL };
  const WsHttpRequest request = { .method = wanted->method,
                                  .url = wanted->url,
                                  .headers = headers,
                                  .body = wanted->body,
                                  .most = wanted->most,
                                  .seconds = SECONDS_TO_ANSWER,
                                  .length = wanted->length,
                                  .signing = bucket->signing,
                                  .key = bucket->key,
                                  .secret = bucket->secret };
  WsHttp *http = g_async_queue_try_pop (bucket->idle);
  if (http == NULL)
    http = wsi_http_new (error);
  if (http == NULL)
    return 0;
  const guint status = wsi_http_send (http, &request, body, error);
  g_async_queue_push (bucket->idle, http);
  return status;
}

static gboolean
may_pass (guint status)
{
  return status == 0 || status == 429 || status >= 500;
}

/* 0 when no answer came, however often it was asked. */
static guint
send (WsBucket *bucket, const Wanted *wanted, GByteArray **body, GError **error)
{
  guint status = 0;
  gulong wait = FIRST_WAIT_US;
  const int tries = g_atomic_int_get (&bucket->is_silent) ? 1 : TRIES;
  for (int i = 0; i < tries; i++, wait *= 2)
  {
    g_clear_error (error);
    g_clear_pointer (body, g_byte_array_unref);
    status = send_once (bucket, wanted, body, error);
    if (!may_pass (status))
      break;
    if (i + 1 < tries)
      g_usleep (wait);
  }
  g_atomic_int_set (&bucket->is_silent, status == 0);
  return status;
}

/* "SignatureDoesNotMatch" of "<Code>SignatureDoesNotMatch</Code>"; letters alone.  Free with
 * g_free(). */
static char *
code_of (const GByteArray *body)
{
  const char *text = body != NULL && body->len > 0 ? (const char *)body->data : "";
  const gssize n = body != NULL ? (gssize)body->len : 0;
  const char *code = n > 0 ? g_strstr_len (text, n, "<Code>") : NULL;
  if (code == NULL)
    return g_strdup ("");
  code += strlen ("<Code>");
  gsize length = 0;
  while (code + length < text + n && length < 64 && g_ascii_isalnum (code[length]))
    length++;
  return g_strdup_printf (", %.*s", (int)length, code);
}

/* Sets `error` unless there was no answer, which has set it. */
static gboolean
refuse_answer (const WsBucket *bucket, guint status, const GByteArray *body, const char *what,
               GError **error)
{
  g_autofree char *code = code_of (body);
  if (status == 0)
    g_prefix_error (error, "%s: ", what);
  else
    g_set_error (error, WS_ERROR, WS_ERROR_CANT_WRITE,
                 "%s: the store %s answers with status %u%s%s", what, bucket->address, status, code,
                 status == 401 || status == 403
                   ? "; look at its keys, its region and this computer's clock"
                   : "");
  return FALSE;
}

static char *
url_of (const WsBucket *bucket, const char *sha256)
{
  return g_strdup_printf ("%s/%.2s/%s", bucket->address, sha256, sha256);
}

gboolean
wsi_bucket_put (WsBucket *bucket, const char *sha256, GBytes *bytes, GError **error)
{
  g_autofree char *url = url_of (bucket, sha256);
  g_autoptr (GByteArray) body = NULL;
  GError *cause = NULL;
  const Wanted wanted = { "PUT", url, bytes, sha256, MAX_LIST, NULL };
  const guint status = send (bucket, &wanted, &body, &cause);
  if (status >= 200 && status < 300)
    return TRUE;
  refuse_answer (bucket, status, body, "picture not kept", &cause);
  g_propagate_error (error, cause);
  return FALSE;
}

static WsBucketAnswer
answer_of (const WsBucket *bucket, guint status, const GByteArray *body, GError *cause,
           GError **error)
{
  if (status >= 200 && status < 300)
    return WS_BUCKET_FOUND;
  if (status == 404)
    return WS_BUCKET_MISSING;
  refuse_answer (bucket, status, body, "picture can't be read", &cause);
  g_propagate_error (error, cause);
  return WS_BUCKET_TROUBLE;
}

WsBucketAnswer
wsi_bucket_get (WsBucket *bucket, const char *sha256, GBytes **bytes, GError **error)
{
  g_autofree char *url = url_of (bucket, sha256);
  GByteArray *body = NULL;
  GError *cause = NULL;
  const Wanted wanted = { "GET", url, NULL, EMPTY_SHA256, MAX_PICTURE, NULL };
  const guint status = send (bucket, &wanted, &body, &cause);
  const WsBucketAnswer answer = answer_of (bucket, status, body, cause, error);
  if (answer == WS_BUCKET_FOUND)
    *bytes = g_byte_array_free_to_bytes (body);
  else if (body != NULL)
    g_byte_array_unref (body);
  return answer;
}

WsBucketAnswer
wsi_bucket_size (WsBucket *bucket, const char *sha256, guint64 *size, GError **error)
{
  g_autofree char *url = url_of (bucket, sha256);
  g_autoptr (GByteArray) body = NULL;
  GError *cause = NULL;
  const Wanted wanted = { "HEAD", url, NULL, EMPTY_SHA256, MAX_LIST, size };
  const guint status = send (bucket, &wanted, &body, &cause);
  return answer_of (bucket, status, body, cause, error);
}

gboolean
wsi_bucket_remove (WsBucket *bucket, const char *sha256, GError **error)
{
  g_autofree char *url = url_of (bucket, sha256);
  g_autoptr (GByteArray) body = NULL;
  GError *cause = NULL;
  const Wanted wanted = { "DELETE", url, NULL, EMPTY_SHA256, MAX_LIST, NULL };
  const guint status = send (bucket, &wanted, &body, &cause);
  if ((status >= 200 && status < 300) || status == 404)
    return TRUE;
  refuse_answer (bucket, status, body, "picture not removed", &cause);
  g_propagate_error (error, cause);
  return FALSE;
}

/* ---- Lists ----------------------------------------------------------------------------------- */

/* The text of the next such element behind `*at`, which moves on; names here need no entities.
 * NULL when there is none.  Free with g_free(). */
static char *
next_element (const char **at, const char *name)
{
  g_autofree char *open = g_strdup_printf ("<%s>", name);
  g_autofree char *end = g_strdup_printf ("</%s>", name);
  const char *from = strstr (*at, open);
  const char *to = from != NULL ? strstr (from, end) : NULL;
  if (to == NULL)
    return NULL;
  from += strlen (open);
  *at = to + strlen (end);
  return g_strndup (from, (gsize)(to - from));
}

/* "/bucket/shop" is the bucket and, behind the next slash, what its names begin with.  The query is
 * in the order of its names, since libcurl signs it as it is. */
static char *
list_url (const WsBucket *bucket, const char *from)
{
  const char *slash = strchr (bucket->place + 1, '/');
  const gsize n = slash != NULL ? (gsize)(slash - bucket->place) : strlen (bucket->place);
  g_autofree char *prefix =
    g_strconcat (slash != NULL ? slash + 1 : "", slash != NULL ? "/" : "", NULL);
  g_autofree char *escaped = g_uri_escape_string (prefix, NULL, FALSE);
  g_autofree char *token = from != NULL ? g_uri_escape_string (from, NULL, FALSE) : NULL;
  return g_strdup_printf ("%s%.*s?%s%s%slist-type=2&prefix=%s", bucket->origin, (int)n,
                          bucket->place, token != NULL ? "continuation-token=" : "",
                          token != NULL ? token : "", token != NULL ? "&" : "", escaped);
}

static gboolean
visit_names (const WsBucket *bucket, const char *page, WsBucketVisit visit, gpointer data,
             GError **error)
{
  const char *at = page, *slash = strchr (bucket->place + 1, '/');
  const gsize prefix = slash != NULL ? strlen (slash + 1) + 1 : 0;
  gboolean done = TRUE;
  for (char *key; done && (key = next_element (&at, "Key")) != NULL; g_free (key))
    done = strlen (key) <= prefix || visit (key + prefix, data, error);
  return done;
}

/* One page; `*from` is where the next begins, NULL behind the last. */
static gboolean
visit_page (WsBucket *bucket, char **from, WsBucketVisit visit, gpointer data, GError **error)
{
  g_autofree char *url = list_url (bucket, *from);
  g_autoptr (GByteArray) body = NULL;
  GError *cause = NULL;
  const Wanted wanted = { "GET", url, NULL, EMPTY_SHA256, MAX_LIST, NULL };
  const guint status = send (bucket, &wanted, &body, &cause);
  g_clear_pointer (from, g_free);
  if (status != 200)
  {
    refuse_answer (bucket, status, body, "pictures can't be listed", &cause);
    g_propagate_error (error, cause);
    return FALSE;
  }
  g_autofree char *page = g_strndup ((const char *)body->data, body->len);
  const char *at = page;
  *from = next_element (&at, "NextContinuationToken");
  return visit_names (bucket, page, visit, data, error);
}

gboolean
wsi_bucket_each (WsBucket *bucket, WsBucketVisit visit, gpointer data, GError **error)
{
  g_autofree char *from = NULL;
  gboolean done;
  do
    done = visit_page (bucket, &from, visit, data, error);
  while (done && from != NULL);
  return done;
}
