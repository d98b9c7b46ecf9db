#include "report/pdf/paper.h"

#include <whetsight/error.h>

#include "late/cairo.h"
#include "report/pdf/sheet.h"

static cairo_status_t
take_bytes (void *closure, const unsigned char *bytes, unsigned int n_bytes)
{
  g_byte_array_append (closure, bytes, n_bytes);
  return CAIRO_STATUS_SUCCESS;
}

/* Once for the pages' numbers, once for good. */
static gboolean
draw_twice (WsPage *page, WsPaperDraw draw, gpointer data, GError **error)
{
  page->dry = TRUE;
  if (!draw (page, data, error))
    return FALSE;
  const guint told = page->number;
  page->dry = FALSE;
  page->of = told;
  page->number = 0;
  if (!draw (page, data, error))
    return FALSE;
  if (page->number != told)
    g_set_error (error, WS_ERROR, WS_ERROR_INTERNAL, "the report has %u pages and says %u",
                 page->number, told);
  return page->number == told;
}

static gboolean
read_logo (WsPage *page, GError **error)
{
  const char *path = page->style->shop != NULL ? page->style->shop->logo : NULL;
  if (path == NULL)
    return TRUE;
  page->logo = wsi_sheet_read (path, error);
  if (page->logo == NULL)
    g_prefix_error (error, "logo: ");
  return page->logo != NULL;
}

GBytes *
wsi_paper_print (const char *title, const WsPdfStyle *style, WsPaperDraw draw, gpointer data,
                 GError **error)
{
  /* ISO 216 A4, 210 mm x 297 mm; ANSI letter, 8.5 in x 11 in. */
  const gboolean letter = style->paper == WS_PAPER_LETTER;
  const double width = letter ? 612.0 : 210.0 / WS_MM_PER_INCH * 72.0;
  const double height = letter ? 792.0 : 297.0 / WS_MM_PER_INCH * 72.0;
  g_autoptr (GByteArray) bytes = g_byte_array_new ();
  if (!wsi_late_has_cairo (error))
    return NULL;
  cairo_surface_t *surface = cairo_pdf_surface_create_for_stream (take_bytes, bytes, width, height);
  cairo_pdf_surface_set_metadata (surface, CAIRO_PDF_METADATA_TITLE, title);
  cairo_pdf_surface_set_metadata (surface, CAIRO_PDF_METADATA_CREATOR, "whetsight " WS_VERSION);
  cairo_t *cr = cairo_create (surface);
  WsPage page = { .cr = cr, .style = style, .width = width, .height = height };
  gboolean done = read_logo (&page, error) && draw_twice (&page, draw, data, error);
  cairo_surface_destroy (page.logo);
  /* What stops the context leaves the surface good, and pages empty. */
  cairo_status_t status = cairo_status (cr);
  cairo_destroy (cr);
  cairo_surface_finish (surface);
  if (status == CAIRO_STATUS_SUCCESS)
    status = cairo_surface_status (surface);
  cairo_surface_destroy (surface);
  if (done && status != CAIRO_STATUS_SUCCESS)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_INTERNAL, "can't write the PDF: %s",
                 cairo_status_to_string (status));
    done = FALSE;
  }
  return done ? g_bytes_new (bytes->data, bytes->len) : NULL;
}
