#include "report/pdf/qr.h"

#include <qrencode.h>
#include <string.h>

#include "report/canvas.h"

#define QUIET 4 /* modules around it, ISO/IEC 18004 */

static void
fill_modules (cairo_t *cr, const QRcode *code)
{
  for (int row = 0; row < code->width; row++)
    for (int column = 0; column < code->width; column++)
      if (code->data[row * code->width + column] & 1)
        cairo_rectangle (cr, column, row, 1.0, 1.0);
  cairo_fill (cr);
}

gboolean
wsi_qr_draw (cairo_t *cr, const char *text, double x, double y, double size)
{
  QRcode *code =
    QRcode_encodeData ((int)strlen (text), (const unsigned char *)text, 0, QR_ECLEVEL_M);
  if (code == NULL)
    return FALSE;
  const double module = size / (code->width + 2 * QUIET);
  cairo_save (cr);
  wsi_canvas_colour (cr, WS_BLACK);
  cairo_translate (cr, x + QUIET * module, y + QUIET * module);
  cairo_scale (cr, module, module);
  /* Modules that touch must not show seams. */
  cairo_set_antialias (cr, CAIRO_ANTIALIAS_NONE);
  fill_modules (cr, code);
  cairo_restore (cr);
  QRcode_free (code);
  return TRUE;
}
