/*
 * Whose paper it is.
 */
#include "report/pdf/letterhead.h"

#include <math.h>

#define LOGO_WIDTH 120.0
#define LOGO_HEIGHT 30.0
#define TOP 18.0
#define COMPANY 12.0 /* letters */

/* As large as its room allows, at the right. */
static void
draw_logo (const WsPage *page)
{
  const double width = cairo_image_surface_get_width (page->logo);
  const double height = cairo_image_surface_get_height (page->logo);
  const double factor = fmin (LOGO_WIDTH / width, LOGO_HEIGHT / height);
  cairo_save (page->cr);
  cairo_translate (page->cr, page->width - WS_PAGE_MARGIN - factor * width, TOP);
  cairo_scale (page->cr, factor, factor);
  cairo_set_source_surface (page->cr, page->logo, 0.0, 0.0);
  cairo_paint (page->cr);
  cairo_restore (page->cr);
}

void
wsi_page_put_letterhead (WsPage *page)
{
  const WsPdfShop *shop = page->style->shop;
  const WsTextStyle name = wsi_page_letters (COMPANY, TRUE, WS_INK);
  const WsTextStyle small = wsi_page_letters (WS_PAGE_TEXT, FALSE, WS_GREY);
  const double room = wsi_page_inner_width (page) - LOGO_WIDTH - 10.0;
  if (shop == NULL || (shop->company == NULL && shop->address == NULL && shop->logo == NULL))
    return;
  if (page->logo != NULL && !page->dry)
    draw_logo (page);
  if (shop->company != NULL)
    wsi_page_put_fitting (page, name, WS_PAGE_MARGIN, TOP, room, shop->company);
  if (shop->address != NULL)
    wsi_page_put_fitting (page, small, WS_PAGE_MARGIN, TOP + COMPANY + 5.0, room, shop->address);
  page->letterhead = LOGO_HEIGHT;
}
