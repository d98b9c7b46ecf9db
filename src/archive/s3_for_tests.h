/*
 * A small object store on loopback that verifies signatures: AWS Signature Version 4 computed anew
 * here, by GLib's HMAC, from what came over the wire.
 */
#ifndef WS_ARCHIVE_S3_FOR_TESTS_H
#define WS_ARCHIVE_S3_FOR_TESTS_H

#include "archive/http_for_tests.h"

#include <stdlib.h>

#define S3_KEY "QUILLBROOKKEY0000001"
#define S3_SECRET "quill/brook+secret/0000000000000000000001"

typedef struct
{
  GHashTable *objects; /* "/bucket/shop/1f/1f0c…" -> GBytes */
  const char *region;
  GMutex lock;
  guint n_put, n_get, n_refused; /* n_refused: by signature or hash */
  guint busy;                    /* so many answers are 503 */
  guint drop;                    /* so many are done, but not answered */
  gboolean alter;                /* what is got has a byte changed */
  guint page;                    /* names in one page of a list; 0: 1000 */
  char *last_why;                /* of the last refusal */
} S3;

/* ---- The signature ----------------------------------------------------------------------------
 */

static inline char *
s3_sha256 (gconstpointer bytes, gsize n)
{
  return g_compute_checksum_for_data (G_CHECKSUM_SHA256, bytes, n);
}

static inline void
s3_hmac (const guint8 *key, gsize n_key, const char *text, guint8 out[32])
{
  gsize n = 32;
  GHmac *hmac = g_hmac_new (G_CHECKSUM_SHA256, key, n_key);
  g_hmac_update (hmac, (const guint8 *)text, (gssize)strlen (text));
  g_hmac_get_digest (hmac, out, &n);
  g_hmac_unref (hmac);
}

/* What is signed; of the request's parts as the documentation orders them. */
static inline char *
s3_signature (const char *secret, const char *date, const char *scope, const char *canonical)
{
  guint8 key[32];
  g_auto (GStrv) parts = g_strsplit (scope, "/", 4); /* day, region, service, aws4_request */
  g_autofree char *first = g_strconcat ("AWS4", secret, NULL);
  g_autofree char *hash = s3_sha256 (canonical, strlen (canonical));
  g_autofree char *to_sign = g_strdup_printf ("AWS4-HMAC-SHA256\n%s\n%s\n%s", date, scope, hash);
  s3_hmac ((const guint8 *)first, strlen (first), parts[0], key);
  for (int i = 1; i < 4; i++)
    s3_hmac (key, sizeof key, parts[i], key);
  s3_hmac (key, sizeof key, to_sign, key);
  GString *hex = g_string_new (NULL);
  for (gsize i = 0; i < sizeof key; i++)
    g_string_append_printf (hex, "%02x", key[i]);
  return g_string_free (hex, FALSE);
}

static inline int
s3_by_text (const void *a, const void *b)
{
  return strcmp (*(const char *const *)a, *(const char *const *)b);
}

/* Sorted, as it has to be signed; a name alone gets "=". */
static inline char *
s3_canonical_query (const char *query)
{
  g_auto (GStrv) parts = g_strsplit (query, "&", -1);
  GString *text = g_string_new (NULL);
  qsort (parts, g_strv_length (parts), sizeof *parts, s3_by_text);
  for (char **part = parts; *part != NULL; part++)
    g_string_append_printf (text, "%s%s%s", text->len > 0 ? "&" : "", *part,
                            strchr (*part, '=') == NULL && **part != '\0' ? "=" : "");
  return g_string_free (text, FALSE);
}

static inline char *
s3_canonical (const char *method, const char *target, GHashTable *headers, const char *signed_names)
{
  const char *mark = strchr (target, '?');
  g_autofree char *path =
    mark != NULL ? g_strndup (target, (gsize)(mark - target)) : g_strdup (target);
  g_autofree char *query = s3_canonical_query (mark != NULL ? mark + 1 : "");
  g_auto (GStrv) names = g_strsplit (signed_names, ";", -1);
  GString *text = g_string_new (NULL);
  g_string_append_printf (text, "%s\n%s\n%s\n", method, path, query);
  for (char **name = names; *name != NULL; name++)
  {
    const char *value = g_hash_table_lookup (headers, *name);
    g_string_append_printf (text, "%s:%s\n", *name, value != NULL ? value : "(not sent)");
  }
  const char *hash = g_hash_table_lookup (headers, "x-amz-content-sha256");
  g_string_append_printf (text, "\n%s\n%s", signed_names, hash != NULL ? hash : "");
  return g_string_free (text, FALSE);
}

/* The value of "NAME=…" of an Authorization header; free with g_free(). */
static inline char *
s3_field (const char *authorization, const char *name)
{
  const char *at = authorization != NULL ? strstr (authorization, name) : NULL;
  if (at == NULL)
    return g_strdup ("");
  at += strlen (name);
  return g_strndup (at, strcspn (at, ", "));
}

/* NULL when the request is signed as it must be; static. */
static inline const char *
s3_check (const S3 *s3, const HttpAsked *asked)
{
  const char *authorization = g_hash_table_lookup (asked->headers, "authorization");
  const char *date = g_hash_table_lookup (asked->headers, "x-amz-date");
  const char *told = g_hash_table_lookup (asked->headers, "x-amz-content-sha256");
  g_autofree char *credential = s3_field (authorization, "Credential=");
  g_autofree char *names = s3_field (authorization, "SignedHeaders=");
  g_autofree char *signature = s3_field (authorization, "Signature=");
  g_autofree char *body = s3_sha256 (asked->body->data, asked->body->len);
  if (authorization == NULL || !g_str_has_prefix (authorization, "AWS4-HMAC-SHA256 "))
    return "AccessDenied";
  if (date == NULL || strlen (date) != strlen ("20261129T100000Z"))
    return "AccessDenied";
  if (told == NULL || !g_str_equal (told, body))
    return "XAmzContentSHA256Mismatch";
  if (strstr (names, "host") == NULL || strstr (names, "x-amz-content-sha256") == NULL ||
      strstr (names, "x-amz-date") == NULL)
    return "AccessDenied";
  g_autofree char *expected = g_strdup_printf (S3_KEY "/%.8s/%s/s3/aws4_request", date, s3->region);
  if (!g_str_equal (credential, expected))
    return "AuthorizationHeaderMalformed";
  g_autofree char *canonical = s3_canonical (asked->method, asked->target, asked->headers, names);
  g_autofree char *ours =
    s3_signature (S3_SECRET, date, credential + strlen (S3_KEY "/"), canonical);
  return g_str_equal (ours, signature) ? NULL : "SignatureDoesNotMatch";
}

/* ---- The store --------------------------------------------------------------------------------
 */

static inline HttpAnswer
s3_refuse (S3 *s3, guint status, const char *code)
{
  g_autofree char *text = g_strdup_printf ("<Error><Code>%s</Code></Error>", code);
  s3->n_refused += status == 403 ? 1 : 0;
  g_free (s3->last_why);
  s3->last_why = g_strdup (code);
  return (HttpAnswer){ status, g_bytes_new (text, strlen (text)) };
}

static inline char *
s3_parameter (const char *target, const char *name)
{
  g_autofree char *start = g_strconcat (name, "=", NULL);
  const char *mark = strchr (target, '?');
  g_auto (GStrv) parts = g_strsplit (mark != NULL ? mark + 1 : "", "&", -1);
  for (char **part = parts; *part != NULL; part++)
    if (g_str_has_prefix (*part, start))
      return g_uri_unescape_string (*part + strlen (start), NULL);
  return NULL;
}

/* Names behind the token, in their order. */
static inline HttpAnswer
s3_list (const S3 *s3, const HttpAsked *asked)
{
  g_autofree char *prefix = s3_parameter (asked->target, "prefix");
  g_autofree char *token = s3_parameter (asked->target, "continuation-token");
  const gsize bucket = strcspn (asked->target, "?");
  g_autoptr (GList) names = g_list_sort (g_hash_table_get_keys (s3->objects), (GCompareFunc)strcmp);
  GString *text = g_string_new ("<ListBucketResult>");
  guint n = 0;
  const char *last = NULL;
  for (GList *at = names; at != NULL; at = at->next)
  {
    const char *name = (const char *)at->data + bucket + 1;
    if (strncmp (at->data, asked->target, bucket) != 0 ||
        !g_str_has_prefix (name, prefix != NULL ? prefix : "") ||
        (token != NULL && strcmp (name, token) <= 0))
      continue;
    if (n++ == (s3->page > 0 ? s3->page : 1000))
    {
      g_string_append_printf (text, "<NextContinuationToken>%s</NextContinuationToken>", last);
      break;
    }
    g_string_append_printf (text, "<Contents><Key>%s</Key></Contents>", name);
    last = name;
  }
  g_string_append (text, "</ListBucketResult>");
  return (HttpAnswer){ 200, g_string_free_to_bytes (text) };
}

static inline HttpAnswer
s3_get (S3 *s3, const HttpAsked *asked)
{
  GBytes *found = g_hash_table_lookup (s3->objects, asked->target);
  s3->n_get++;
  if (found == NULL)
    return s3_refuse (s3, 404, "NoSuchKey");
  if (!s3->alter)
    return (HttpAnswer){ 200, g_bytes_ref (found) };
  gsize n;
  const guint8 *bytes = g_bytes_get_data (found, &n);
  guint8 *copy = g_memdup2 (bytes, n);
  copy[n / 2] ^= 1;
  return (HttpAnswer){ 200, g_bytes_new_take (copy, n) };
}

static inline HttpAnswer
s3_act (S3 *s3, const HttpAsked *asked)
{
  if (g_str_equal (asked->method, "PUT"))
  {
    s3->n_put++;
    g_hash_table_insert (s3->objects, g_strdup (asked->target),
                         g_bytes_new (asked->body->data, asked->body->len));
    return (HttpAnswer){ 200, NULL };
  }
  if (g_str_equal (asked->method, "DELETE"))
  {
    g_hash_table_remove (s3->objects, asked->target);
    return (HttpAnswer){ 204, NULL };
  }
  return strchr (asked->target, '?') != NULL ? s3_list (s3, asked) : s3_get (s3, asked);
}

static inline HttpAnswer
s3_answer (const HttpAsked *asked, gpointer data)
{
  S3 *s3 = data;
  g_mutex_lock (&s3->lock);
  const char *why = s3_check (s3, asked);
  HttpAnswer answer;
  if (why != NULL)
    answer = s3_refuse (s3, 403, why);
  else if (s3->busy > 0)
  {
    s3->busy--;
    answer = s3_refuse (s3, 503, "SlowDown");
  }
  else
    answer = s3_act (s3, asked);
  if (why == NULL && s3->drop > 0)
  {
    s3->drop--;
    answer.status = 0;
  }
  g_mutex_unlock (&s3->lock);
  return answer;
}

static inline void
s3_init (S3 *s3, const char *region)
{
  *s3 = (S3){ .objects = g_hash_table_new_full (g_str_hash, g_str_equal, g_free,
                                                (GDestroyNotify)g_bytes_unref),
              .region = region };
  g_mutex_init (&s3->lock);
}

static inline void
s3_clear (S3 *s3)
{
  g_hash_table_unref (s3->objects);
  g_mutex_clear (&s3->lock);
  g_free (s3->last_why);
}

#endif
