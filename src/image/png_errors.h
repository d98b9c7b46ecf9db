/*
 * What libpng says when it gives up: every function between setjmp() and a call of libpng owns
 * nothing and changes no local of its callers.
 */
#ifndef WS_IMAGE_PNG_ERRORS_H
#define WS_IMAGE_PNG_ERRORS_H

#include <glib.h>
#include <png.h>

G_BEGIN_DECLS

typedef struct
{
  char text[128]; /* "" as long as nothing failed */
} WsPngMessage;

/* For png_create_read_struct() and png_create_write_struct(), with a WsPngMessage as their error
 * pointer: keeps the message, then jumps. */
G_NORETURN void wsi_png_give_up (png_structp png, png_const_charp message);

/* What libpng only warns of leaves the pixels right. */
void wsi_png_ignore_warning (png_structp png, png_const_charp message);

G_END_DECLS

#endif
