#include "vision/ws_vision.h"

#include <dlfcn.h>

#include <whetsight/error.h>

/* Beside the program first, so that a build works before it is installed.  The module
 * stays open: the loader hands out the same one again, and the libraries behind it can't
 * be unloaded safely. */
static const WsVisionModule *
open_module (GError **error)
{
  static const char *const names[] = { WS_VISION_MODULE_FILE,
                                       WS_VISION_MODULE_DIR "/" WS_VISION_MODULE_FILE };

  for (gsize i = 0; i < G_N_ELEMENTS (names); i++)
  {
    void *module = dlopen (names[i], RTLD_LAZY | RTLD_LOCAL);
    const WsVisionModule *found = module != NULL ? dlsym (module, WS_VISION_MODULE_SYMBOL) : NULL;
    if (found != NULL)
      return found;
  }
  g_set_error (error, WS_ERROR, WS_ERROR_INTERNAL, "can't open %s; install Whetsight again",
               names[0]);
  return NULL;
}

gboolean
ws_vision_decode (const guint8 *bytes, gsize n_bytes, WsVisionPicture *picture, GError **error)
{
  const WsVisionModule *module = open_module (error);
  if (module == NULL)
    return FALSE;

  *picture = (WsVisionPicture){ 0 };
  const char *wrong = module->decode (bytes, n_bytes, picture);
  if (wrong == NULL)
    return TRUE;
  g_set_error_literal (error, WS_ERROR, WS_ERROR_DATA, wrong);
  return FALSE;
}

void
ws_vision_picture_clear (WsVisionPicture *picture)
{
  g_clear_pointer (&picture->samples, g_free);
}
