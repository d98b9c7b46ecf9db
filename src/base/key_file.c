#include "base/key_file.h"

#include <string.h>

#include <whetsight/error.h>

/* Cut to what GLib takes for the group's name: it passes by a damaged character behind it. */
static const char *
group_of (char *line)
{
  char *end = strchr (line, ']');
  if (end != NULL)
    end[1] = '\0';
  return line;
}

static gboolean
check_no_repeats (const char *name, const char *text, GError **error)
{
  g_autoptr (GHashTable) seen = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL);
  g_auto (GStrv) lines = g_strsplit (text, "\n", -1);
  const char *group = "";
  for (gsize i = 0; lines[i] != NULL; i++)
  {
    char *line = g_strstrip (lines[i]);
    char *equals = strchr (line, '=');
    if (*line == '[')
      group = group_of (line);
    if (*line == '[' || *line == '#' || equals == NULL)
      continue;
    *equals = '\0';
    g_strchomp (line);
    if (!g_hash_table_add (seen, g_strconcat (group, " ", line, NULL)))
    {
      g_set_error (error, WS_ERROR, WS_ERROR_DATA, "%s: %s %s: given twice; keep one line", name,
                   group, line);
      return FALSE;
    }
  }
  return TRUE;
}

GKeyFile *
wsi_key_file_parse (const char *name, const char *what, const char *text, GError **error)
{
  g_autoptr (GError) cause = NULL;
  g_autoptr (GKeyFile) file = g_key_file_new ();
  if (!check_no_repeats (name, text, error))
    return NULL;
  if (g_key_file_load_from_data (file, text, strlen (text), G_KEY_FILE_NONE, &cause))
    return g_steal_pointer (&file);
  g_set_error (error, WS_ERROR, WS_ERROR_DATA, "%s: not a %s: %s", name, what, cause->message);
  return NULL;
}
