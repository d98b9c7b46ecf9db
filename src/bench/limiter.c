#include "bench/limiter.h"

#include <math.h>

/* So many are remembered; then those that are full again are forgotten, now and then, and if there
 * are none, whoever is new waits. */
#define MOST_KNOWN 10000
#define FORGET_US G_USEC_PER_SEC

typedef struct
{
  double left;
  gint64 at;
} Bucket;

struct WsLimiter
{
  double most, a_second;
  GMutex lock;
  GHashTable *buckets;
  gint64 forgot; /* when full ones were forgotten last, µs */
};

WsLimiter *
wsi_limiter_new (double most, double a_second)
{
  WsLimiter *limiter = g_new0 (WsLimiter, 1);
  limiter->most = most;
  limiter->a_second = a_second;
  limiter->buckets = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, g_free);
  g_mutex_init (&limiter->lock);
  return limiter;
}

void
wsi_limiter_free (WsLimiter *limiter)
{
  if (limiter == NULL)
    return;
  g_hash_table_unref (limiter->buckets);
  g_mutex_clear (&limiter->lock);
  g_free (limiter);
}

static double
filled (const WsLimiter *limiter, const Bucket *bucket, gint64 now)
{
  const double seconds = (double)(now - bucket->at) / G_USEC_PER_SEC;
  return fmin (limiter->most, bucket->left + limiter->a_second * fmax (seconds, 0));
}

static void
forget_full (WsLimiter *limiter, gint64 now)
{
  GHashTableIter iter;
  gpointer bucket;
  g_hash_table_iter_init (&iter, limiter->buckets);
  while (g_hash_table_iter_next (&iter, NULL, &bucket))
    if (filled (limiter, bucket, now) >= limiter->most)
      g_hash_table_iter_remove (&iter);
}

/* NULL when no more can be remembered. */
static Bucket *
bucket_of (WsLimiter *limiter, const char *who, gint64 now)
{
  Bucket *bucket = g_hash_table_lookup (limiter->buckets, who);
  if (bucket != NULL)
    return bucket;
  if (g_hash_table_size (limiter->buckets) >= MOST_KNOWN && now - limiter->forgot >= FORGET_US)
  {
    limiter->forgot = now;
    forget_full (limiter, now);
  }
  if (g_hash_table_size (limiter->buckets) >= MOST_KNOWN)
    return NULL;
  bucket = g_new (Bucket, 1);
  *bucket = (Bucket){ limiter->most, now };
  g_hash_table_insert (limiter->buckets, g_strdup (who), bucket);
  return bucket;
}

gboolean
wsi_limiter_ask (WsLimiter *limiter, const char *who, gint64 now, guint *wait_s)
{
  gboolean granted = FALSE;
  *wait_s = 60;
  g_mutex_lock (&limiter->lock);
  Bucket *bucket = bucket_of (limiter, who, now);
  if (bucket != NULL)
  {
    bucket->left = filled (limiter, bucket, now);
    bucket->at = now;
    granted = bucket->left >= 1;
    bucket->left -= granted ? 1 : 0;
    *wait_s = (guint)ceil (fmax (1 - bucket->left, 0) / limiter->a_second);
  }
  g_mutex_unlock (&limiter->lock);
  return granted;
}
