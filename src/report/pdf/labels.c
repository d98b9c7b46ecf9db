#include "report/pdf/labels.h"

#include <whetsight/error.h>

#include "base/language.h"
#include "report/pdf/page.h"
#include "report/pdf/paper.h"
#include "report/pdf/qr.h"

#define ACROSS 3
#define DOWN 8
#define POINTS_A_MM (72.0 / WS_MM_PER_INCH)
#define WIDTH (63.5 * POINTS_A_MM)
#define HEIGHT (33.9 * POINTS_A_MM)
#define CODE (28.0 * POINTS_A_MM) /* modules of 1 mm: a phone reads them from an arm's length */
#define PAD (2.5 * POINTS_A_MM)
#define ID_SIZE 13.0
#define WORDS_SIZE 8.0

typedef struct
{
  const WsLabel *labels;
  gsize n;
} Sheet;

static gboolean
draw_label (const WsPage *page, const WsLabel *label, double x, double y, GError **error)
{
  const double text = x + CODE + PAD, room = WIDTH - CODE - 2 * PAD;
  WsTextStyle words = wsi_page_letters (WORDS_SIZE, FALSE, WS_INK);
  words.wrap = room;
  wsi_page_put_fitting (page, wsi_page_letters (ID_SIZE, TRUE, WS_BLACK), text, y + 0.25 * HEIGHT,
                        room, label->id);
  wsi_page_put (page, &words, text, y + 0.5 * HEIGHT, label->words);
  if (page->dry || wsi_qr_draw (page->cr, label->id, x, y + (HEIGHT - CODE) / 2, CODE))
    return TRUE;
  g_set_error (error, WS_ERROR, WS_ERROR_DATA, "%s: too long for a label's code", label->id);
  return FALSE;
}

static gboolean
draw (WsPage *page, gpointer data, GError **error)
{
  const Sheet *sheet = data;
  const double left = (page->width - ACROSS * WIDTH) / 2, top = (page->height - DOWN * HEIGHT) / 2;
  for (gsize i = 0; i < sheet->n; i++)
  {
    const guint place = (guint)(i % (ACROSS * DOWN));
    const guint column = place % ACROSS, row = place / ACROSS;
    const double x = left + column * WIDTH, y = top + row * HEIGHT;
    if (!draw_label (page, &sheet->labels[i], x, y, error))
      return FALSE;
    if (!page->dry && (place == ACROSS * DOWN - 1 || i == sheet->n - 1))
      cairo_show_page (page->cr);
  }
  return TRUE;
}

GBytes *
wsi_labels_print (const WsLabel *labels, gsize n, const WsPdfStyle *style, GError **error)
{
  Sheet sheet = { labels, n };
  return wsi_paper_print (_ ("Labels"), style, draw, &sheet, error);
}
