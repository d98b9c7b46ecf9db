#include "image/png_errors.h"

void
wsi_png_give_up (png_structp png, png_const_charp message)
{
  WsPngMessage *kept = png_get_error_ptr (png);
  g_strlcpy (kept->text, message, sizeof kept->text);
  png_longjmp (png, 1);
}

void
wsi_png_ignore_warning (png_structp png, png_const_charp message)
{
  (void)png;
  (void)message;
}
