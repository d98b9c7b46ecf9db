#include "report/pdf/picture.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/language.h"
#include "report/pdf/jpeg.h"
#include "report/pdf/read.h"
#include "report/pdf/sheet.h"
#include "report/picture/picture_area.h"

#define NO_PICTURE 20.0     /* room to say so */
#define MOST_PICTURE 0.58   /* of the paper's height */
#define PICTURE_MARGIN 14.0 /* at its sides: it is what one looks at */

/* Of a JPEG on paper, px: 200 an inch on A4, where a print shows no more. */
#define MOST_PX 1600.0
#define SMALL_PX 400.0 /* of one beside others */

static double
most_width (const WsPage *page)
{
  return page->width - 2.0 * PICTURE_MARGIN;
}

static void
paint_part (const WsPage *page, cairo_surface_t *sheet, const WsArea *area, double height)
{
  cairo_t *cr = page->cr;
  const double factor = fmin (height / area->height, most_width (page) / area->width);
  cairo_save (cr);
  cairo_translate (cr, 0.5 * (page->width - factor * area->width), page->y);
  cairo_scale (cr, factor, factor);
  /* Without the outermost px, which would blend with what surrounds the picture. */
  cairo_rectangle (cr, 1.0, 1.0, area->width - 2.0, area->height - 2.0);
  cairo_clip (cr);
  cairo_set_source_surface (cr, sheet, -area->x, -area->y);
  cairo_paint (cr);
  cairo_restore (cr);
}

/* ---- A JPEG stays one ---------------------------------------------------------------------- */

static gboolean
is_jpeg (const char *path)
{
  guint8 head[3] = { 0 };
  FILE *file = path != NULL ? fopen (path, "rb") : NULL;
  const gboolean read = file != NULL && fread (head, 1, sizeof head, file) == sizeof head;
  if (file != NULL)
    fclose (file);
  return read && memcmp (head, "\xFF\xD8\xFF", sizeof head) == 0;
}

/* The part of the sheet, no larger than paper shows, as a JPEG; NULL when it can't be made. */
static cairo_surface_t *
part_as_jpeg (cairo_surface_t *sheet, const WsArea *area, double most_px)
{
  const double factor = fmin (1.0, most_px / (area->width - 2.0));
  const int width = (int)floor (factor * (area->width - 2.0));
  const int height = (int)floor (factor * (area->height - 2.0));
  cairo_surface_t *part = cairo_image_surface_create (CAIRO_FORMAT_RGB24, width, height);
  cairo_t *cr = cairo_create (part);
  cairo_scale (cr, factor, factor);
  cairo_set_source_surface (cr, sheet, -area->x - 1.0, -area->y - 1.0);
  cairo_pattern_set_filter (cairo_get_source (cr), CAIRO_FILTER_BEST);
  cairo_paint (cr);
  cairo_destroy (cr);
  if (wsi_jpeg_attach (part))
    return part;
  cairo_surface_destroy (part);
  return NULL;
}

/* As large as fits below the page's y, in the middle of what begins at x. */
static void
paint_jpeg (const WsPage *page, cairo_surface_t *part, double x, double width, double height)
{
  cairo_t *cr = page->cr;
  const double columns = cairo_image_surface_get_width (part);
  const double factor = fmin (height / cairo_image_surface_get_height (part), width / columns);
  cairo_save (cr);
  cairo_translate (cr, x + 0.5 * (width - factor * columns), page->y);
  cairo_scale (cr, factor, factor);
  cairo_set_source_surface (cr, part, 0.0, 0.0);
  cairo_paint (cr);
  cairo_restore (cr);
}

/* ---- On the page --------------------------------------------------------------------------- */

/* Of the picture as the record has it, px; FALSE when a record from elsewhere has no such size. */
static gboolean
picture_size (const json_t *record, double *width, double *rows)
{
  const json_t *image = json_object_get (record, "image");
  *width = wsi_record_number (image, "width");
  *rows = wsi_record_number (image, "height");
  return *width >= 1.0 && *rows >= 1.0 && *width <= G_MAXINT / 4 && *rows <= G_MAXINT / 4;
}

/* As wide as the paper has room for, but for upright ones. */
static double
picture_height (const WsPage *page, const WsPdfPage *what, const json_t *record)
{
  double width, rows;
  if (what->annotated == NULL || !picture_size (record, &width, &rows))
    return NO_PICTURE;
  return fmin (most_width (page) * rows / width, MOST_PICTURE * page->height);
}

/* FALSE when the sheet isn't one of a picture of that size. */
static gboolean
find_area (cairo_surface_t *sheet, const json_t *record, WsArea *area)
{
  double width, rows;
  if (!picture_size (record, &width, &rows))
    return FALSE;
  wsi_report_picture_area ((guint)width, (guint)rows, cairo_image_surface_get_width (sheet), area);
  return area->x + area->width <= cairo_image_surface_get_width (sheet) &&
         area->y + area->height <= cairo_image_surface_get_height (sheet);
}

/* FALSE as find_area(). */
static gboolean
paint_sheet (const WsPage *page, cairo_surface_t *sheet, const WsPdfPage *what,
             const json_t *record, double height)
{
  WsArea area;
  if (!find_area (sheet, record, &area))
    return FALSE;
  cairo_surface_t *part = is_jpeg (what->original) ? part_as_jpeg (sheet, &area, MOST_PX) : NULL;
  if (part == NULL)
    paint_part (page, sheet, &area, height);
  else
    paint_jpeg (page, part, PICTURE_MARGIN, most_width (page), height);
  cairo_surface_destroy (part);
  return TRUE;
}

static void
put_no_picture (WsPage *page, double height, const char *why)
{
  WsTextStyle style = wsi_page_letters (WS_PAGE_TEXT, FALSE, WS_GREY);
  style.across = style.down = WS_MIDDLE;
  wsi_page_put (page, &style, 0.5 * page->width, page->y + 0.5 * height, why);
}

void
wsi_page_draw_picture (WsPage *page, const WsPdfPage *what, const json_t *record)
{
  g_autoptr (GError) wrong = NULL;
  const double height = picture_height (page, what, record);
  const gboolean is_named = height > NO_PICTURE;
  cairo_surface_t *sheet = !page->dry && is_named ? wsi_sheet_read (what->annotated, &wrong) : NULL;
  if (!page->dry && sheet == NULL)
    put_no_picture (page, height,
                    is_named ? _ ("the annotated picture is missing or can't be read")
                             : _ ("no annotated picture"));
  else if (!page->dry && !paint_sheet (page, sheet, what, record, height))
    put_no_picture (page, height, _ ("the annotated picture is not of this inspection"));
  if (sheet != NULL)
    cairo_surface_destroy (sheet);
  page->y += height + 4.0;
}

static void
put_no_small_picture (const WsPage *page, double x, double width, double height)
{
  WsTextStyle style = wsi_page_letters (WS_PAGE_SMALL, FALSE, WS_GREY);
  style.across = style.down = WS_MIDDLE;
  wsi_canvas_box (page->cr, WS_PAPER, x, page->y, width, height);
  wsi_page_put (page, &style, x + 0.5 * width, page->y + 0.5 * height, _ ("no picture"));
}

double
wsi_page_draw_small (const WsPage *page, const WsPdfPage *what, const json_t *record, double x,
                     double width)
{
  WsArea area;
  const double height = 0.75 * width;
  cairo_surface_t *part = NULL;
  cairo_surface_t *sheet =
    !page->dry && what->annotated != NULL ? wsi_sheet_read (what->annotated, NULL) : NULL;
  if (sheet != NULL && find_area (sheet, record, &area))
    part = part_as_jpeg (sheet, &area, SMALL_PX);
  if (part != NULL)
    paint_jpeg (page, part, x, width, height);
  else if (!page->dry)
    put_no_small_picture (page, x, width, height);
  cairo_surface_destroy (part);
  cairo_surface_destroy (sheet);
  return height;
}
