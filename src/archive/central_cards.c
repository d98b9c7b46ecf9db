#include "archive/central_cards.h"

#include <string.h>

#include <jansson.h>
#include <whetsight/error.h>
#include <whetsight/seal.h>

#include "archive/note.h"
#include "archive/statements.h"
#include "archive/store.h"

#define ROWS_AT_ONCE 500
#define ABOUT "card "

typedef struct
{
  WsArchive *centre;
  guint64 number;                /* of the row that was read last */
  char hash[WS_SHA256_HEX_SIZE]; /* and its hash */
  GHashTable *cards;             /* WsCentralCard by its tool */
} Walk;

static void
card_free (gpointer data)
{
  WsCentralCard *card = data;
  char *const texts[] = { card->tool, card->text, card->by, card->time, card->reason, card->hash };
  for (gsize i = 0; i < G_N_ELEMENTS (texts); i++)
    g_free (texts[i]);
  g_ptr_array_unref (card->earlier);
  g_free (card);
}

static gboolean
refuse (const Walk *walk, const char *what, GError **error)
{
  g_set_error (error, WS_ERROR, WS_ERROR_DATA,
               "archive %s: row %" G_GUINT64_FORMAT " %s; no card is taken",
               ws_archive_folder (walk->centre), walk->number, what);
  return FALSE;
}

static void
set_text (char **text, const char *value)
{
  g_free (*text);
  *text = g_strdup (value != NULL ? value : "");
}

static WsCentralCard *
card_of (Walk *walk, const char *tool)
{
  WsCentralCard *card = g_hash_table_lookup (walk->cards, tool);
  if (card != NULL)
    return card;
  card = g_new0 (WsCentralCard, 1);
  card->tool = g_strdup (tool);
  card->earlier = g_ptr_array_new_with_free_func (g_free);
  g_hash_table_insert (walk->cards, card->tool, card);
  return card;
}

/* `record` is that of a card's entry. */
static void
take_entry (Walk *walk, const WsInspection *row, const json_t *record)
{
  const char *about = json_string_value (json_object_get (record, "about"));
  const char *text = json_string_value (json_object_get (record, "after"));
  if (about == NULL || !g_str_has_prefix (about, ABOUT) || text == NULL)
    return;
  WsCentralCard *card = card_of (walk, about + strlen (ABOUT));
  if (card->text != NULL)
    g_ptr_array_add (card->earlier, g_steal_pointer (&card->text));
  card->number = row->place;
  set_text (&card->text, text);
  set_text (&card->by, json_string_value (json_object_get (record, "by")));
  set_text (&card->time, json_string_value (json_object_get (record, "time")));
  set_text (&card->reason, json_string_value (json_object_get (record, "text")));
  set_text (&card->hash, row->hash);
}

/* By the record alone, which the hash covers: columns may say what they like. */
static void
look_for_entry (Walk *walk, const WsInspection *row)
{
  json_t *record = json_loads (row->record, JSON_REJECT_DUPLICATES, NULL);
  const char *form = json_string_value (json_object_get (record, "note"));
  const char *kind = json_string_value (json_object_get (record, "kind"));
  if (g_strcmp0 (form, WSI_EVENT_FORM) == 0 &&
      g_strcmp0 (kind, wsi_event_kind_name (WS_EVENT_CARD)) == 0)
    take_entry (walk, row, record);
  json_decref (record);
}

static gboolean
take_row (const WsInspection *row, gpointer data, GError **error)
{
  Walk *walk = data;
  char hash[WS_SHA256_HEX_SIZE];
  walk->number++;
  if (row->place != walk->number || row->record == NULL)
    return refuse (walk, "is gone", error);
  wsi_columns_hash (row, hash);
  if (!g_str_equal (row->previous, walk->hash) || !g_str_equal (row->hash, hash))
    return refuse (walk, "is not as it was written", error);
  g_strlcpy (walk->hash, hash, sizeof walk->hash);
  if (row->imported == NULL) /* what another archive says changed there */
    look_for_entry (walk, row);
  return TRUE;
}

static gint
by_tool (gconstpointer a, gconstpointer b)
{
  const WsCentralCard *const *first = a, *const *second = b;
  return g_strcmp0 ((*first)->tool, (*second)->tool);
}

static GPtrArray *
sorted (GHashTable *cards)
{
  GHashTableIter iter;
  gpointer card;
  GPtrArray *all = g_ptr_array_new_with_free_func (card_free);
  g_hash_table_iter_init (&iter, cards);
  while (g_hash_table_iter_next (&iter, NULL, &card))
    g_ptr_array_add (all, card);
  g_ptr_array_sort (all, by_tool);
  return all;
}

/* Rows up to number `count`, whose hash has to be `hash`. */
static gboolean
walk_to (Walk *walk, guint64 count, const char *hash, GError **error)
{
  while (walk->number < count)
  {
    const guint64 before = walk->number;
    if (!wsi_store_each_row_after (walk->centre, before, MIN (count - before, ROWS_AT_ONCE),
                                   take_row, walk, error))
      return FALSE;
    if (walk->number == before)
      return refuse (walk, "was sealed as one that others follow, which are gone", error);
  }
  return g_str_equal (walk->hash, hash) || refuse (walk, "is not the one that was sealed", error);
}

/* ---- The seal -------------------------------------------------------------------------------- */

typedef struct
{
  char *heads;      /* of all chains, a line each */
  GPtrArray *seals; /* of WsSeal: the one on them */
} Sealed;

static void
sealed_clear (Sealed *sealed)
{
  g_free (sealed->heads);
  g_clear_pointer (&sealed->seals, g_ptr_array_unref);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Sealed, sealed_clear)

static gboolean
refuse_seal (const WsArchive *centre, WsErrorCode code, const char *what, GError **error)
{
  g_set_error (error, WS_ERROR, (int)code, "archive %s: %s; no card is taken",
               ws_archive_folder (centre), what);
  return FALSE;
}

/* Anybody may have put seals of his own there: those count for nothing. */
static GPtrArray *
read_seal (const char *text, const char *key)
{
  g_autoptr (GPtrArray) seals = ws_seals_read (text, NULL);
  const WsSeal *seal = seals != NULL && seals->len == 1 ? g_ptr_array_index (seals, 0) : NULL;
  return seal != NULL && g_strcmp0 (seal->key, key) == 0 ? g_steal_pointer (&seals) : NULL;
}

static const WsSeal *
seal_of (const Sealed *sealed)
{
  return g_ptr_array_index (sealed->seals, 0);
}

/* The newest by that key. */
static gboolean
find_seal (WsArchive *centre, const char *key, Sealed *sealed, GError **error)
{
  WsQueryStep step = WS_QUERY_FAILED;
  WsQuery *query = wsi_query_new (centre->engine,
                                  "SELECT heads, text FROM seal JOIN seal_text USING (number)"
                                  " ORDER BY number DESC",
                                  WS_QUERY_LONG);
  while (sealed->seals == NULL && (step = wsi_step (query)) == WS_QUERY_ROW)
  {
    sealed->seals = read_seal (wsi_column_text_or (query, 1, ""), key);
    if (sealed->seals != NULL)
      sealed->heads = g_strdup (wsi_column_text_or (query, 0, ""));
  }
  if (sealed->seals == NULL && step == WS_QUERY_DONE)
    refuse_seal (centre, WS_ERROR_NO_INPUT,
                 "nothing of it was sealed by this key yet (archive seal --key)", error);
  else if (sealed->seals == NULL)
    wsi_statement_refuse (centre, error);
  wsi_query_free (query);
  return sealed->seals != NULL;
}

static gboolean
check_seal (const WsArchive *centre, const Sealed *sealed, GError **error)
{
  char hash[WS_SHA256_HEX_SIZE];
  wsi_heads_digest (sealed->heads, hash);
  return g_str_equal (seal_of (sealed)->hash, hash) ||
         refuse_seal (centre, WS_ERROR_DATA, "its newest seal is of other chains", error);
}

/* "17 1f0c… office", a line a chain. */
static gboolean
find_head (const WsArchive *centre, const char *heads, guint64 *count,
           char hash[WS_SHA256_HEX_SIZE], GError **error)
{
  g_auto (GStrv) lines = g_strsplit (heads, "\n", -1);
  for (gsize i = 0; lines[i] != NULL; i++)
  {
    g_auto (GStrv) parts = g_strsplit (lines[i], " ", 3);
    if (g_strv_length (parts) != 3 || !g_str_equal (parts[2], centre->engine->bench))
      continue;
    *count = g_ascii_strtoull (parts[0], NULL, 10);
    g_strlcpy (hash, parts[1], WS_SHA256_HEX_SIZE);
    return TRUE;
  }
  g_set_error (error, WS_ERROR, WS_ERROR_NO_INPUT,
               "archive %s: nothing of %s was sealed; --of NAME says whose cards are meant",
               ws_archive_folder (centre), centre->engine->bench);
  return FALSE;
}

GPtrArray *
wsi_central_cards (WsArchive *centre, const char *key, char **sealed, GError **error)
{
  guint64 count = 0;
  char hash[WS_SHA256_HEX_SIZE] = "";
  g_auto (Sealed) newest = { 0 };
  g_autofree char *public_half = ws_seal_key_public (key, error);
  g_autoptr (GHashTable) cards = g_hash_table_new (g_str_hash, g_str_equal);
  Walk walk = { .centre = centre, .cards = cards };
  const gboolean done = public_half != NULL && find_seal (centre, public_half, &newest, error) &&
                        check_seal (centre, &newest, error) &&
                        find_head (centre, newest.heads, &count, hash, error) &&
                        walk_to (&walk, count, hash, error);
  g_autoptr (GPtrArray) all = sorted (cards);
  if (!done)
    return NULL;
  *sealed = g_strdup (seal_of (&newest)->time);
  return g_steal_pointer (&all);
}
