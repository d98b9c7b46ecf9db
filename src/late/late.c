#include "late/late.h"

#include <dlfcn.h>

#include <whetsight/error.h>

/* Beside the program first, so that a build works before it is installed. */
gconstpointer
wsi_late_open (const char *file, const char *symbol, GError **error)
{
  g_autofree char *installed = g_build_filename (WS_LATE_DIR, file, NULL);
  const char *const names[] = { file, installed };

  for (gsize i = 0; i < G_N_ELEMENTS (names); i++)
  {
    void *module = dlopen (names[i], RTLD_LAZY | RTLD_LOCAL);
    gconstpointer found = module != NULL ? dlsym (module, symbol) : NULL;
    if (found != NULL)
      return found;
  }
  g_set_error (error, WS_ERROR, WS_ERROR_INTERNAL, "can't open %s; install Whetsight again", file);
  return NULL;
}

gconstpointer
wsi_late_table (const char *file, const char *symbol, gconstpointer *kept)
{
  gconstpointer table = g_atomic_pointer_get (kept);
  GError *error = NULL;
  if (table != NULL)
    return table;
  table = wsi_late_open (file, symbol, &error);
  if (table == NULL)
    g_error ("%s", error->message);
  /* Threads that come at once find the same. */
  g_atomic_pointer_set (kept, table);
  return table;
}
