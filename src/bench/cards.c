#include "bench/cards.h"

#include <math.h>
#include <string.h>
#include <unistd.h>

#include <glib/gstdio.h>
#include <whetsight/error.h>
#include <whetsight/view.h>

#include "archive/event.h"
#include "base/file.h"
#include "base/language.h"
#include "base/number.h"

#define MOST_ID 100 /* bytes */

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
  const char *kind = _ (ws_tool_kind_name (card->kind));
  if (!isfinite (size))
    return g_strdup (kind);
  g_autofree char *number = wsi_number_exact (size);
  return g_strdup_printf ("%s %s mm", kind, number);
}

/* ---- For programs --------------------------------------------------------------------------- */

static json_t *
texts (const char *const *words)
{
  json_t *array = json_array ();
  for (; *words != NULL; words++)
    json_array_append_new (array, json_string (*words));
  return array;
}

json_t *
wsi_cards_json (const WsServeCard *card)
{
  if (card->card == NULL || card->card->id == NULL)
  {
    g_autofree char *name = g_path_get_basename (card->path);
    return json_pack ("{s:s, s:s}", "file", name, "wrong",
                      card->wrong != NULL ? card->wrong : "the card has no id");
  }
  g_autofree char *words = wsi_card_words (card->card);
  g_autofree const char **views = wsi_card_views (card->card);
  return json_pack ("{s:s, s:s, s:s, s:o}", "tool", card->card->id, "kind",
                    ws_tool_kind_name (card->card->kind), "words", words, "views", texts (views));
}

/* ---- Changing ------------------------------------------------------------------------------- */

/* The limits that a card has, as text: which are the same whatever stands around them. */
static char *
limits_text (const WsToolCard *card)
{
  GString *text = g_string_new (NULL);
  for (guint i = 0; card != NULL && i < card->limits->len; i++)
  {
    const WsLimit *limit = &g_array_index (card->limits, WsLimit, i);
    g_autofree char *lower = wsi_number_exact (limit->lower);
    g_autofree char *upper = wsi_number_exact (limit->upper);
    g_string_append_printf (text, "%s %s %s\n", limit->quantity, lower, upper);
  }
  return g_string_free (text, FALSE);
}

/* A profile lies beside the card, nowhere else. */
static gboolean
check_profile (const char *text, GError **error)
{
  static const char *const keys[] = { "nominal_profile", "part_profile" };
  g_autoptr (GKeyFile) file = g_key_file_new ();
  const gboolean read =
    g_key_file_load_from_data (file, text, strlen (text), G_KEY_FILE_NONE, NULL);
  for (gsize i = 0; read && i < G_N_ELEMENTS (keys); i++)
  {
    g_autofree char *name = g_key_file_get_string (file, "tool", keys[i], NULL);
    if (name == NULL || (strchr (name, '/') == NULL && name[0] != '.'))
      continue;
    g_set_error (error, WS_ERROR, WS_ERROR_USAGE, "%s: a file beside the card, by its name alone",
                 keys[i]);
    return FALSE;
  }
  return TRUE;
}

/* What the text would be as a card, read as it will be; it may name a profile beside it. */
static WsToolCard *
try_card (const char *folder, const char *text, GError **error)
{
  g_autofree char *path = g_build_filename (folder, ".new-XXXXXX", NULL);
  const int fd = g_mkstemp (path);
  GError *cause = NULL;
  if (fd < 0)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_CANT_WRITE, "can't write to the folder of tool cards");
    return NULL;
  }
  close (fd);
  WsToolCard *card = NULL;
  if (wsi_file_save (path, text, strlen (text), error))
    card = ws_tool_card_load (path, &cause);
  g_unlink (path);
  if (cause == NULL)
    return card;
  /* The name that it was tried under says nothing. */
  const char *what =
    g_str_has_prefix (cause->message, path) ? cause->message + strlen (path) + 2 : cause->message;
  g_set_error (error, WS_ERROR, WS_ERROR_USAGE, "the card can't be used: %s", what);
  g_error_free (cause);
  return NULL;
}

static gboolean
id_is_sound (const char *id)
{
  return id[0] != '.' && strlen (id) <= MOST_ID && strpbrk (id, "/\\\n") == NULL;
}

static gboolean
save (WsArchive *archive, const WsCardChange *change, const char *path, const char *before,
      GError **error)
{
  json_t *old = before != NULL ? json_string (before) : NULL, *new = json_string (change->text);
  const WsEventWords words = {
    .kind = WS_EVENT_CARD,
    .subject = change->id,
    .by = change->by,
    .account = change->login,
    .text = change->reason,
    .before = old,
    .after = new,
  };
  /* The chain first: it holds the whole text, should the file not come to be written. */
  const gboolean saved = wsi_event_add (archive, &words, error) &&
                         wsi_file_save (path, change->text, strlen (change->text), error);
  json_decref (old);
  json_decref (new);
  return saved;
}

gboolean
wsi_cards_set (const char *folder, WsArchive *archive, const WsCardChange *change, gboolean *denied,
               GError **error)
{
  g_autofree char *before = NULL;
  g_autoptr (WsServeCard) there = wsi_cards_find (folder, change->id, NULL);
  g_autoptr (WsToolCard) card =
    check_profile (change->text, error) ? try_card (folder, change->text, error) : NULL;
  if (card == NULL)
    return FALSE;
  if (g_strcmp0 (card->id, change->id) != 0 || !id_is_sound (change->id))
  {
    g_set_error (error, WS_ERROR, WS_ERROR_USAGE, "the card's id is not the tool's, %s",
                 change->id);
    return FALSE;
  }
  g_autofree char *old_limits = limits_text (there != NULL ? there->card : NULL);
  g_autofree char *new_limits = limits_text (card);
  *denied = !change->may_limit && !g_str_equal (old_limits, new_limits);
  if (*denied)
    return FALSE;
  g_autofree char *name = g_strconcat (change->id, WSI_CARD_ENDING, NULL);
  g_autofree char *path =
    there != NULL ? g_strdup (there->path) : g_build_filename (folder, name, NULL);
  if (there != NULL)
    g_file_get_contents (there->path, &before, NULL, NULL);
  return save (archive, change, path, before, error);
}
