#include "bench/cards.h"

#include <math.h>
#include <string.h>

#include <whetsight/error.h>
#include <whetsight/view.h>

#include "base/number.h"

void
wsi_card_free (WsServeCard *card)
{
  if (card == NULL)
    return;
  ws_tool_card_free (card->card);
  g_free (card->path);
  g_free (card->wrong);
  g_free (card);
}

static WsServeCard *
read_card (const char *folder, const char *name)
{
  GError *error = NULL;
  WsServeCard *card = g_new0 (WsServeCard, 1);
  card->path = g_build_filename (folder, name, NULL);
  card->card = ws_tool_card_load (card->path, &error);
  if (error != NULL)
    card->wrong = g_strdup (error->message);
  g_clear_error (&error);
  return card;
}

static const char *
id_of (const WsServeCard *card)
{
  return card->card != NULL ? card->card->id : NULL;
}

static gint
by_id (gconstpointer a, gconstpointer b)
{
  const char *first = id_of (*(const WsServeCard *const *)a);
  const char *second = id_of (*(const WsServeCard *const *)b);
  if (first == NULL || second == NULL)
    return (first == NULL) - (second == NULL);
  return g_strcmp0 (first, second);
}

GPtrArray *
wsi_cards_list (const char *folder)
{
  GPtrArray *cards = g_ptr_array_new_with_free_func ((GDestroyNotify)wsi_card_free);
  g_autoptr (GDir) dir = g_dir_open (folder, 0, NULL);
  const char *name;
  while (dir != NULL && (name = g_dir_read_name (dir)) != NULL)
    if (name[0] != '.' && g_str_has_suffix (name, WSI_CARD_ENDING))
      g_ptr_array_add (cards, read_card (folder, name));
  g_ptr_array_sort (cards, by_id);
  return cards;
}

/* Most are named by their id. */
static WsServeCard *
find_by_name (const char *folder, const char *id)
{
  g_autofree char *name = g_strconcat (id, WSI_CARD_ENDING, NULL);
  g_autofree char *path = g_build_filename (folder, name, NULL);
  if (id[0] == '.' || g_path_skip_root (id) != NULL || strchr (id, '/') != NULL ||
      !g_file_test (path, G_FILE_TEST_IS_REGULAR))
    return NULL;
  g_autoptr (WsServeCard) card = read_card (folder, name);
  return g_strcmp0 (id_of (card), id) == 0 ? g_steal_pointer (&card) : NULL;
}

WsServeCard *
wsi_cards_find (const char *folder, const char *id, GError **error)
{
  WsServeCard *found = find_by_name (folder, id);
  if (found != NULL)
    return found;
  g_autoptr (GPtrArray) cards = wsi_cards_list (folder);
  for (guint i = 0; i < cards->len; i++)
    if (g_strcmp0 (id_of (g_ptr_array_index (cards, i)), id) == 0)
      return g_ptr_array_steal_index (cards, i);
  g_set_error (error, WS_ERROR, WS_ERROR_NO_INPUT, "there is no tool card %s", id);
  return NULL;
}

const char **
wsi_card_views (const WsToolCard *card)
{
  GPtrArray *names = g_ptr_array_new ();
  for (char **name = card->views; name != NULL && *name != NULL; name++)
  {
    const WsView *view = ws_view_find (*name);
    if (view != NULL && view->kinds & 1U << card->kind)
      g_ptr_array_add (names, (gpointer)view->name);
  }
  for (const WsView *const *view = ws_views (); *view != NULL; view++)
    if ((*view)->kinds & 1U << card->kind && !g_ptr_array_find (names, (*view)->name, NULL))
      g_ptr_array_add (names, (gpointer)(*view)->name);
  g_ptr_array_add (names, NULL);
  return (const char **)g_ptr_array_free (names, FALSE);
}

char *
wsi_card_words (const WsToolCard *card)
{
  const double size = isfinite (card->diameter_mm) ? card->diameter_mm : card->width_mm;
  const char *kind = ws_tool_kind_name (card->kind);
  if (!isfinite (size))
    return g_strdup (kind);
  g_autofree char *number = wsi_number_exact (size);
  return g_strdup_printf ("%s %s mm", kind, number);
}
