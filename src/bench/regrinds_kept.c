#include "bench/regrinds_kept.h"

#define MOST_KEPT 64

struct WsRegrindsKept
{
  GMutex lock;
  GHashTable *by_name; /* -> WsRegrindTold */
};

void
wsi_regrind_told_clear (WsRegrindTold *told)
{
  g_clear_pointer (&told->said, json_decref);
  g_clear_pointer (&told->why, g_free);
  g_clear_pointer (&told->drawing, g_bytes_unref);
}

static void
told_free (gpointer data)
{
  wsi_regrind_told_clear (data);
  g_free (data);
}

/* A deep one: jansson counts references for one thread at a time. */
static void
copy_told (const WsRegrindTold *from, WsRegrindTold *to)
{
  to->said = json_deep_copy (from->said);
  to->why = g_strdup (from->why);
  to->drawing = from->drawing != NULL ? g_bytes_ref (from->drawing) : NULL;
}

WsRegrindsKept *
wsi_regrinds_kept_new (void)
{
  WsRegrindsKept *kept = g_new0 (WsRegrindsKept, 1);
  g_mutex_init (&kept->lock);
  kept->by_name = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, told_free);
  return kept;
}

void
wsi_regrinds_kept_free (WsRegrindsKept *kept)
{
  if (kept == NULL)
    return;
  g_hash_table_unref (kept->by_name);
  g_mutex_clear (&kept->lock);
  g_free (kept);
}

gboolean
wsi_regrinds_kept_find (WsRegrindsKept *kept, const char *name, WsRegrindTold *told)
{
  g_mutex_lock (&kept->lock);
  const WsRegrindTold *found = g_hash_table_lookup (kept->by_name, name);
  if (found != NULL)
    copy_told (found, told);
  g_mutex_unlock (&kept->lock);
  return found != NULL;
}

void
wsi_regrinds_keep (WsRegrindsKept *kept, const char *name, const WsRegrindTold *told)
{
  WsRegrindTold *copy = g_new0 (WsRegrindTold, 1);
  copy_told (told, copy);
  g_mutex_lock (&kept->lock);
  if (g_hash_table_size (kept->by_name) >= MOST_KEPT)
    g_hash_table_remove_all (kept->by_name);
  g_hash_table_replace (kept->by_name, g_strdup (name), copy);
  g_mutex_unlock (&kept->lock);
}
