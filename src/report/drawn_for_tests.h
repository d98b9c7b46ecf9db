/*
 * What is drawn through the canvas, noted as it is drawn: for tests of where things lie.
 * tests/CMakeLists.txt sees to it for those that include this.
 */
#ifndef WS_REPORT_DRAWN_FOR_TESTS_H
#define WS_REPORT_DRAWN_FOR_TESTS_H

#include <string.h>

#include "base/testing.h"
#include "report/canvas.h"

typedef enum
{
  DRAWN_TEXT,
  DRAWN_LINE,
  DRAWN_DASHES,
  DRAWN_BOX
} DrawnKind;

typedef struct
{
  DrawnKind kind;
  WsColour colour;
  char *text;  /* of a text, else NULL */
  double x, y; /* where a text is anchored, a line's start */
  double left, top, right, bottom;
  double size; /* of letters; a line's width */
} Drawn;

/* Since drawn_clear(); in the order in which it was drawn. */
static GArray *drawn;

static inline void
drawn_free_text (gpointer data)
{
  g_free (((Drawn *)data)->text);
}

static inline void
drawn_clear (void)
{
  if (drawn != NULL)
    g_array_unref (drawn);
  drawn = g_array_new (FALSE, FALSE, sizeof (Drawn));
  g_array_set_clear_func (drawn, drawn_free_text);
}

static inline void
drawn_note (Drawn what)
{
  if (drawn != NULL)
    g_array_append_val (drawn, what);
  else
    g_free (what.text);
}

/* Before the canvas' own: of a static library by the linker, which makes names for both, of a
 * shared one as the program's, which count first. */
#ifdef WS_INTERPOSE
#include <dlfcn.h>
#define DRAWN_OURS(name) name
#define DRAWN_REAL(name) ((__typeof__ (&name))dlsym (RTLD_NEXT, #name))
#else
/* NOLINTBEGIN(bugprone-reserved-identifier) */
#define DRAWN_OURS(name) __wrap_##name
#define DRAWN_REAL(name) __real_##name
__typeof__ (wsi_canvas_text) DRAWN_OURS (wsi_canvas_text), DRAWN_REAL (wsi_canvas_text);
__typeof__ (wsi_canvas_line) DRAWN_OURS (wsi_canvas_line), DRAWN_REAL (wsi_canvas_line);
__typeof__ (wsi_canvas_dashes) DRAWN_OURS (wsi_canvas_dashes), DRAWN_REAL (wsi_canvas_dashes);
__typeof__ (wsi_canvas_box) DRAWN_OURS (wsi_canvas_box), DRAWN_REAL (wsi_canvas_box);
/* NOLINTEND(bugprone-reserved-identifier) */
#endif

void
DRAWN_OURS (wsi_canvas_text) (cairo_t *cr, const WsTextStyle *style, double x, double y,
                              const char *text)
{
  static const double shift[] = { [WS_START] = 0.0, [WS_MIDDLE] = 0.5, [WS_END] = 1.0 };
  double width, height;
  wsi_canvas_measure (cr, style, text, &width, &height);
  const double left = x - shift[style->across] * width, top = y - shift[style->down] * height;
  drawn_note ((Drawn){ DRAWN_TEXT, style->colour, g_strdup (text), x, y, left, top, left + width,
                       top + height, style->size });
  DRAWN_REAL (wsi_canvas_text) (cr, style, x, y, text);
}

static inline Drawn
drawn_line (DrawnKind kind, WsColour colour, double width, WsPoint from, WsPoint to)
{
  return (Drawn){ kind,
                  colour,
                  NULL,
                  from.x,
                  from.y,
                  MIN (from.x, to.x),
                  MIN (from.y, to.y),
                  MAX (from.x, to.x),
                  MAX (from.y, to.y),
                  width };
}

void
DRAWN_OURS (wsi_canvas_line) (cairo_t *cr, WsColour colour, double width, WsPoint from, WsPoint to)
{
  drawn_note (drawn_line (DRAWN_LINE, colour, width, from, to));
  DRAWN_REAL (wsi_canvas_line) (cr, colour, width, from, to);
}

void
DRAWN_OURS (wsi_canvas_dashes) (cairo_t *cr, WsColour colour, double width, WsPoint from,
                                WsPoint to)
{
  drawn_note (drawn_line (DRAWN_DASHES, colour, width, from, to));
  DRAWN_REAL (wsi_canvas_dashes) (cr, colour, width, from, to);
}

void
DRAWN_OURS (wsi_canvas_box) (cairo_t *cr, WsColour colour, double x, double y, double width,
                             double height)
{
  drawn_note ((Drawn){ DRAWN_BOX, colour, NULL, x, y, x, y, x + width, y + height, 0.0 });
  DRAWN_REAL (wsi_canvas_box) (cr, colour, x, y, width, height);
}

/* ---- Questions ------------------------------------------------------------------------ */

static inline const Drawn *
drawn_at (guint i)
{
  return &g_array_index (drawn, Drawn, i);
}

static inline gboolean
drawn_has_colour (const Drawn *what, WsColour colour)
{
  return what->colour.r == colour.r && what->colour.g == colour.g && what->colour.b == colour.b;
}

/* The `which`-th text, from 0, that starts so; NULL when there are fewer. */
static inline const Drawn *
drawn_text (const char *start, guint which)
{
  for (guint i = 0; i < drawn->len; i++)
    if (drawn_at (i)->kind == DRAWN_TEXT && g_str_has_prefix (drawn_at (i)->text, start) &&
        which-- == 0)
      return drawn_at (i);
  return NULL;
}

/* How many of a kind and colour, at least so wide and high. */
static inline guint
drawn_count (DrawnKind kind, WsColour colour, double width, double height)
{
  guint n = 0;
  for (guint i = 0; i < drawn->len; i++)
    n += drawn_at (i)->kind == kind && drawn_has_colour (drawn_at (i), colour) &&
         drawn_at (i)->right - drawn_at (i)->left >= width &&
         drawn_at (i)->bottom - drawn_at (i)->top >= height;
  return n;
}

/* The `which`-th of them; NULL when there are fewer. */
static inline const Drawn *
drawn_find (DrawnKind kind, WsColour colour, double width, guint which)
{
  for (guint i = 0; i < drawn->len; i++)
    if (drawn_at (i)->kind == kind && drawn_has_colour (drawn_at (i), colour) &&
        drawn_at (i)->right - drawn_at (i)->left >= width && which-- == 0)
      return drawn_at (i);
  return NULL;
}

/* No text lies on another, nor beyond the sheet. */
static inline void
assert_texts_apart (double width, double height)
{
  for (guint i = 0; i < drawn->len; i++)
  {
    const Drawn *a = drawn_at (i);
    if (a->kind != DRAWN_TEXT || *a->text == '\0')
      continue;
    if (a->left < 0 || a->top < 0 || a->right > width || a->bottom > height)
      fail_msg ("\"%s\" leaves the sheet: %g .. %g, %g .. %g", a->text, a->left, a->right, a->top,
                a->bottom);
    for (guint k = 0; k < i; k++)
    {
      const Drawn *b = drawn_at (k);
      if (b->kind == DRAWN_TEXT && a->left < b->right && b->left < a->right &&
          a->top + 1 < b->bottom && b->top + 1 < a->bottom)
        fail_msg ("\"%s\" lies on \"%s\" at %g, %g", a->text, b->text, a->x, a->y);
    }
  }
}

#endif
