#include "report/chart/sheet.h"

#include <whetsight/error.h>

#include "late/cairo.h"
#include "report/canvas.h"
#include "report/png_writer.h"

static cairo_status_t
take_bytes (void *closure, const unsigned char *bytes, unsigned int n_bytes)
{
  g_byte_array_append (closure, bytes, n_bytes);
  return CAIRO_STATUS_SUCCESS;
}

/* The surface's bytes; those of an SVG are in `svg` when it is finished. */
static GBytes *
bytes_of (cairo_surface_t *surface, GByteArray *svg, GError **error)
{
  const WsPngNotes notes = { 0 };
  const gboolean is_svg = cairo_surface_get_type (surface) == CAIRO_SURFACE_TYPE_SVG;
  if (is_svg)
    cairo_surface_finish (surface);
  else
    cairo_surface_flush (surface);
  const cairo_status_t status = cairo_surface_status (surface);
  if (status == CAIRO_STATUS_SUCCESS)
    return is_svg ? g_bytes_new (svg->data, svg->len) : wsi_png_write (surface, &notes, error);
  g_set_error (error, WS_ERROR, WS_ERROR_INTERNAL, "the chart can't be drawn: %s",
               cairo_status_to_string (status));
  return NULL;
}

GBytes *
wsi_chart_bytes (double width, double height, WsChartFormat format, WsChartDraw draw,
                 gconstpointer data, GError **error)
{
  g_autoptr (GByteArray) svg = g_byte_array_new ();
  if (!wsi_late_has_cairo (error))
    return NULL;
  cairo_surface_t *surface =
    format == WS_CHART_SVG
      ? cairo_svg_surface_create_for_stream (take_bytes, svg, width, height)
      : cairo_image_surface_create (CAIRO_FORMAT_RGB24, (int)width, (int)height);
  cairo_t *cr = cairo_create (surface);
  wsi_canvas_box (cr, WS_PAPER, 0, 0, width, height);
  draw (cr, data);
  cairo_destroy (cr);
  GBytes *bytes = bytes_of (surface, svg, error);
  cairo_surface_destroy (surface);
  return bytes;
}
