/*
 * All rows: each by its hash and its record, and contents that were swapped.
 */
#include <string.h>

#include "archive/check.h"
#include "archive/note.h"
#include "archive/row_check.h"
#include "archive/series.h"

/* Edited rows compared with each other to tell swapped contents: pairs grow with the square. */
#define MAX_SWAPS 200

static gboolean
compare_with_record (WsCheck *check, WsLink *link, const WsInspection *row, GError **error)
{
  g_autofree char *what = NULL;
  json_t *record = wsi_columns_parse (row->record, NULL);
  const gboolean compared = wsi_row_compare (check->archive, row, record, &what, error);
  json_decref (record);
  if (!compared)
    return FALSE;
  if (what != NULL)
    wsi_check_tell_row (check, link, "%s", what);
  return TRUE;
}

/* ---- Rows --------------------------------------------------------------------------- */

static WsLink *
add_link (WsCheck *check, const WsInspection *row)
{
  WsLink *link = g_new0 (WsLink, 1);
  WsChain *chain = wsi_check_chain_of (check, row->bench);
  link->chain = chain;
  link->number = row->place;
  link->index = chain->links->len;
  link->id = g_strdup (row->id != NULL ? row->id : "?");
  link->previous = g_strdup (row->previous);
  link->hash = g_strdup (row->hash);
  g_ptr_array_add (chain->links, link);
  if (!g_hash_table_contains (chain->by_hash, link->hash))
    g_hash_table_insert (chain->by_hash, link->hash, link);
  return link;
}

static void
count_name (const char *sha256, gpointer data)
{
  GHashTable *counts = data;
  const guint n = GPOINTER_TO_UINT (g_hash_table_lookup (counts, sha256));
  g_hash_table_insert (counts, g_strdup (sha256), GUINT_TO_POINTER (n + 1));
}

static void
note_use (WsCheck *check, const WsInspection *row, WsLink *link)
{
  if (!row->has_pictures)
    return;
  const char *const pictures[] = { row->image, row->annotated };
  for (gsize i = 0; i < G_N_ELEMENTS (pictures); i++)
    if (pictures[i] != NULL)
    {
      g_hash_table_insert (check->used, g_strdup (pictures[i]), link);
      count_name (pictures[i], check->uses);
    }
  g_auto (GStrv) others = wsi_series_others (row);
  for (gsize i = 0; others[i] != NULL; i++)
  {
    g_hash_table_insert (check->used, g_strdup (others[i]), link);
    count_name (others[i], check->uses);
  }
}

/* What the hash covers. */
static WsInspection *
copy_content (const WsInspection *row)
{
  WsInspection *copy = g_new0 (WsInspection, 1);
  copy->record = g_strdup (row->record);
  copy->settings = g_strdup (row->settings);
  copy->station = g_strdup (row->station);
  copy->grinder = g_strdup (row->grinder);
  copy->reground = row->reground;
  copy->imported = g_strdup (row->imported);
  copy->clock = g_strdup (row->clock);
  copy->annotated = g_strdup (row->annotated);
  copy->has_pictures = row->has_pictures;
  return copy;
}

static gboolean
check_row (const WsInspection *row, gpointer data, GError **error)
{
  WsCheck *check = data;
  char hash[WS_SHA256_HEX_SIZE];
  WsLink *link = add_link (check, row);
  check->result->rows++;
  if (wsi_note_is_event (row))
    check->result->events++;
  else
    check->result->notes += row->about != NULL ? 1 : 0;
  note_use (check, row, link);
  wsi_note_each_removed (row, count_name, check->removals);
  if (row->record != NULL)
    __atomic_fetch_add (&check->done_bytes, (guint64)strlen (row->record), __ATOMIC_RELAXED);
  wsi_check_progress (check);
  if (row->record == NULL)
  {
    wsi_check_tell_row (check, link, "its record was removed");
    return TRUE;
  }
  wsi_columns_hash (row, hash);
  if (g_str_equal (hash, row->hash))
    return compare_with_record (check, link, row, error);
  if (check->edited->len >= MAX_SWAPS)
  {
    wsi_check_tell_row (check, link, "edited");
    return TRUE;
  }
  WsEdited *edited = g_new0 (WsEdited, 1);
  edited->link = link;
  edited->row = copy_content (row);
  g_ptr_array_add (check->edited, edited);
  return TRUE;
}

/* The row whose place in the chain this content was written for. */
static const WsEdited *
true_place (const WsCheck *check, const WsEdited *edited)
{
  char hash[WS_SHA256_HEX_SIZE];
  for (guint i = 0; i < check->edited->len; i++)
  {
    const WsEdited *other = g_ptr_array_index (check->edited, i);
    if (other == edited)
      continue;
    g_free (edited->row->previous);
    edited->row->previous = g_strdup (other->link->previous);
    wsi_columns_hash (edited->row, hash);
    if (g_str_equal (hash, other->link->hash))
      return other;
  }
  return NULL;
}

static void
tell_edited (WsCheck *check)
{
  for (guint i = 0; i < check->edited->len; i++)
  {
    const WsEdited *edited = g_ptr_array_index (check->edited, i);
    const WsEdited *other = true_place (check, edited);
    if (other != NULL)
      wsi_check_tell_row (check, edited->link,
                          "swapped: holds the content of row %" G_GUINT64_FORMAT " (%s)",
                          other->link->number, other->link->id);
    else
      wsi_check_tell_row (check, edited->link, "edited");
  }
}

gboolean
wsi_check_rows (WsCheck *check, GError **error)
{
  if (!wsi_store_each_row (check->archive, check_row, check, error))
    return FALSE;
  tell_edited (check);
  return TRUE;
}
