/*
 * Pictures in an object store that speaks S3: PUT, GET, HEAD, DELETE and list of objects by
 * path-style addresses, signed by AWS Signature Version 4.
 *
 *   [pictures]
 *   store = https://store.local:9000/bucket/shop
 *   region = eu-central-1
 *   keys = s3.keys
 *
 * A picture is the object STORE/1f/1f0c….  The keys stand in a file that nobody else may read, in
 * the form of AWS's credentials file, or in the environment: AWS_ACCESS_KEY_ID and
 * AWS_SECRET_ACCESS_KEY.  They are never in an argument, a message or an address.
 */
#ifndef WS_ARCHIVE_BUCKET_H
#define WS_ARCHIVE_BUCKET_H

#include <glib.h>

G_BEGIN_DECLS

/* May be used by several threads at once. */
typedef struct WsBucket WsBucket;

/* As the file's group says it; `path` of the file is for messages, and what is relative lies beside
 * it.  Errors: WS_ERROR_DATA naming the key, WS_ERROR_USAGE without libcurl.  Free with
 * wsi_bucket_free(). */
WsBucket *wsi_bucket_new (const char *path, GKeyFile *file, GError **error);
void wsi_bucket_free (WsBucket *bucket);

/* "https://store.local:9000/bucket/shop" */
const char *wsi_bucket_address (const WsBucket *bucket);

/* Once the store has it: the same again when it had it already.  Errors: WS_ERROR_CANT_WRITE. */
gboolean wsi_bucket_put (WsBucket *bucket, const char *sha256, GBytes *bytes, GError **error);

typedef enum
{
  WS_BUCKET_FOUND,
  WS_BUCKET_MISSING, /* the store says so */
  WS_BUCKET_TROUBLE  /* it can't be told: no answer, keys that it refuses; with an error */
} WsBucketAnswer;

/* Its bytes as they are: the caller holds them against the hash. */
WsBucketAnswer wsi_bucket_get (WsBucket *bucket, const char *sha256, GBytes **bytes,
                               GError **error);

WsBucketAnswer wsi_bucket_size (WsBucket *bucket, const char *sha256, guint64 *size,
                                GError **error);

/* One that isn't there is as good as removed. */
gboolean wsi_bucket_remove (WsBucket *bucket, const char *sha256, GError **error);

typedef gboolean (*WsBucketVisit) (const char *name, gpointer data, GError **error);

/* Names below STORE/, "1f/1f0c…", as the store lists them. */
gboolean wsi_bucket_each (WsBucket *bucket, WsBucketVisit visit, gpointer data, GError **error);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsBucket, wsi_bucket_free)

G_END_DECLS

#endif
