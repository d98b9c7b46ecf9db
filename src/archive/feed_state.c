#include "archive/feed_state.h"

#include <fcntl.h>
#include <stdlib.h>
#include <sys/file.h>
#include <unistd.h>

#include <glib/gstdio.h>
#include <whetsight/error.h>

#include "base/file.h"
#include "base/key_file.h"

#define KIND_OF_FILE "feed's state"
#define MAX_BYTES (64 << 20)
#define MODE_LOCK 0600

/* ---- How far ----------------------------------------------------------------------------------
 */

static int
by_number (gconstpointer a, gconstpointer b)
{
  const guint64 p = *(const guint64 *)a, q = *(const guint64 *)b;
  return p < q ? -1 : p > q;
}

gboolean
wsi_feed_cursor_knows (const WsFeedCursor *cursor, guint64 number)
{
  return number <= cursor->after ||
         g_array_binary_search (cursor->beyond, &number, by_number, NULL);
}

void
wsi_feed_cursor_handled (WsFeedCursor *cursor, guint64 number)
{
  if (wsi_feed_cursor_knows (cursor, number))
    return;
  g_array_append_val (cursor->beyond, number);
  g_array_sort (cursor->beyond, by_number);
  const guint n = cursor->beyond->len;
  if (n <= cursor->n_remember)
    return;
  cursor->after = g_array_index (cursor->beyond, guint64, n - cursor->n_remember - 1);
  g_array_remove_range (cursor->beyond, 0, n - cursor->n_remember);
}

/* ---- Kept -------------------------------------------------------------------------------------
 */

static void
read_cursor (GKeyFile *file, const char *group, WsFeedCursor *cursor)
{
  cursor->after = g_key_file_get_uint64 (file, group, "after", NULL);
  g_auto (GStrv) numbers = g_key_file_get_string_list (file, group, "beyond", NULL, NULL);
  for (char **text = numbers; text != NULL && *text != NULL; text++)
  {
    guint64 number;
    if (g_ascii_string_to_unsigned (*text, 10, 1, G_MAXUINT64, &number, NULL))
      g_array_append_val (cursor->beyond, number);
  }
  g_array_sort (cursor->beyond, by_number);
}

static gboolean
read_state (WsFeedState *state, GError **error)
{
  if (!g_file_test (state->path, G_FILE_TEST_EXISTS))
    return TRUE;
  g_autofree char *text = wsi_file_read_text (state->path, KIND_OF_FILE, MAX_BYTES, error);
  g_autoptr (GKeyFile) file =
    text != NULL ? wsi_key_file_parse (state->path, KIND_OF_FILE, text, error) : NULL;
  if (file == NULL)
    return FALSE;
  read_cursor (file, "assets", &state->assets);
  read_cursor (file, "files", &state->files);
  g_auto (GStrv) tools = g_key_file_get_string_list (file, "assets", "tools", NULL, NULL);
  for (char **tool = tools; tool != NULL && *tool != NULL; tool++)
    g_hash_table_add (state->tools, g_strdup (*tool));
  return TRUE;
}

static void
write_cursor (GKeyFile *file, const char *group, const WsFeedCursor *cursor)
{
  g_autoptr (GPtrArray) numbers = g_ptr_array_new_with_free_func (g_free);
  for (guint i = 0; i < cursor->beyond->len; i++)
    g_ptr_array_add (
      numbers, g_strdup_printf ("%" G_GUINT64_FORMAT, g_array_index (cursor->beyond, guint64, i)));
  g_key_file_set_uint64 (file, group, "after", cursor->after);
  if (numbers->len > 0)
    g_key_file_set_string_list (file, group, "beyond", (const char *const *)numbers->pdata,
                                numbers->len);
}

gboolean
wsi_feed_state_save (const WsFeedState *state, GError **error)
{
  gsize n;
  guint n_tools;
  g_autoptr (GKeyFile) file = g_key_file_new ();
  g_autofree const char **tools =
    (const char **)g_hash_table_get_keys_as_array (state->tools, &n_tools);
  write_cursor (file, "assets", &state->assets);
  write_cursor (file, "files", &state->files);
  if (n_tools > 0)
    g_key_file_set_string_list (file, "assets", "tools", tools, n_tools);
  g_autofree char *text = g_key_file_to_data (file, &n, NULL);
  return wsi_file_save (state->path, text, n, error);
}

/* ---- Opened -----------------------------------------------------------------------------------
 */

static gboolean
take_lock (WsFeedState *state, const char *path, GError **error)
{
  g_autofree char *name = g_strconcat (path, ".lock", NULL);
  state->lock = g_open (name, O_RDWR | O_CREAT | O_CLOEXEC, MODE_LOCK);
  if (state->lock >= 0 && flock (state->lock, LOCK_EX | LOCK_NB) == 0)
    return TRUE;
  g_set_error (error, WS_ERROR, WS_ERROR_CANT_WRITE,
               state->lock >= 0 ? "%s: another run of this feed is at it" : "%s: can't write",
               state->lock >= 0 ? path : name);
  return FALSE;
}

WsFeedState *
wsi_feed_state_open (const char *path, guint n_remember, GError **error)
{
  g_autoptr (WsFeedState) state = g_new0 (WsFeedState, 1);
  WsFeedCursor *const cursors[] = { &state->assets, &state->files };
  state->path = g_strconcat (path, ".state", NULL);
  state->lock = -1;
  state->tools = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL);
  for (gsize i = 0; i < G_N_ELEMENTS (cursors); i++)
  {
    cursors[i]->beyond = g_array_new (FALSE, FALSE, sizeof (guint64));
    cursors[i]->n_remember = n_remember;
  }
  return take_lock (state, path, error) && read_state (state, error) ? g_steal_pointer (&state)
                                                                     : NULL;
}

void
wsi_feed_state_free (WsFeedState *state)
{
  if (state == NULL)
    return;
  if (state->lock >= 0)
    close (state->lock);
  g_clear_pointer (&state->assets.beyond, g_array_unref);
  g_clear_pointer (&state->files.beyond, g_array_unref);
  g_clear_pointer (&state->tools, g_hash_table_unref);
  g_free (state->path);
  g_free (state);
}
