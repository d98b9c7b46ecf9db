#include <math.h>

#include <whetsight/error.h>
#include <whetsight/report.h>

#include "image/light.h"
#include "image/tone.h"
#include "report/canvas.h"
#include "report/picture/marks.h"
#include "report/picture/panel.h"
#include "report/picture/picture_area.h"
#include "report/picture/polar.h"
#include "report/picture/upright.h"
#include "report/png_writer.h"

/* The sheet's width in units and the least in px; wide pictures are reduced to below the
 * most, so that what is written on them stays legible on a screen. */
#define SHEET_UNITS 1280.0
#define MIN_WIDTH 1280.0
#define MAX_SIDE 2560.0

/* cairo's image surfaces end there. */
#define MAX_SURFACE 32767

#define N_LEVELS (WS_IMAGE_FULL_SCALE + 1)

/* Sheet px a picture px: a whole number, or one over a whole number. */
typedef struct
{
  guint enlarge;
  guint reduce;
} Zoom;

static Zoom
zoom_for (guint picture_width, guint picture_height)
{
  double side = MAX (picture_width, picture_height);
  Zoom zoom = { 1, 1 };
  if (side > MAX_SIDE)
    zoom.reduce = (guint)ceil (side / MAX_SIDE);
  else if (picture_width < MIN_WIDTH)
    zoom.enlarge =
      (guint)fmax (1.0, fmin (ceil (MIN_WIDTH / picture_width), floor (MAX_SIDE / side)));
  return zoom;
}

static void
make_srgb_table (guint8 table[N_LEVELS])
{
  for (guint i = 0; i < N_LEVELS; i++)
  {
    const double light = (double)i / WS_IMAGE_FULL_SCALE;
    table[i] = (guint8)lround (255.0 * wsi_linear_to_srgb (light));
  }
}

/* The mean light of a block that may stick out of the picture at the right and below. */
static guint
block_mean (const WsImage *image, guint x, guint y, guint side)
{
  guint right = MIN (x + side, image->width);
  guint bottom = MIN (y + side, image->height);
  guint64 sum = 0;
  for (guint row = y; row < bottom; row++)
    for (guint column = x; column < right; column++)
      sum += wsi_image_light_at (image, column, row);
  return (guint)(sum / ((guint64)(right - x) * (bottom - y)));
}

/* The mean of its codes, where colour was kept: near enough to look at. */
static guint32
block_colour (const WsImage *image, guint x, guint y, guint side)
{
  const guint right = MIN (x + side, image->width), bottom = MIN (y + side, image->height);
  const guint n = (right - x) * (bottom - y);
  guint sum[3] = { 0, 0, 0 };
  for (guint row = y; row < bottom; row++)
    for (guint column = x; column < right; column++)
      for (guint c = 0; c < 3; c++)
        sum[c] += image->rgb[3 * ((gsize)row * image->width + column) + c];
  return sum[0] / n << 16 | sum[1] / n << 8 | sum[2] / n;
}

/* The picture at 1 / reduce.  Free with cairo_surface_destroy(). */
static cairo_surface_t *
surface_of (const WsImage *image, guint reduce)
{
  guint width = (image->width + reduce - 1) / reduce;
  guint height = (image->height + reduce - 1) / reduce;
  g_autofree guint8 *srgb = g_malloc (N_LEVELS);
  cairo_surface_t *surface =
    cairo_image_surface_create (CAIRO_FORMAT_RGB24, (int)width, (int)height);
  guchar *pixels = cairo_image_surface_get_data (surface);
  if (pixels == NULL)
    return surface;

  gsize stride = (gsize)cairo_image_surface_get_stride (surface);
  make_srgb_table (srgb);
  for (guint y = 0; y < height; y++)
  {
    guint32 *row = (guint32 *)(void *)(pixels + (gsize)y * stride);
    for (guint x = 0; x < width; x++)
      row[x] = image->rgb != NULL
                 ? block_colour (image, x * reduce, y * reduce, reduce)
                 : 0x010101U * srgb[block_mean (image, x * reduce, y * reduce, reduce)];
  }
  cairo_surface_mark_dirty (surface);
  return surface;
}

/* `picture` is `reduce` times smaller than the picture.  Beside a turned one nothing is known. */
static void
paint_picture (const WsSheet *sheet, cairo_surface_t *picture, guint reduce)
{
  cairo_t *cr = sheet->cr;
  const WsTurn *turn = &sheet->turn;
  const double scale = sheet->factor * reduce;
  cairo_save (cr);
  cairo_rectangle (cr, sheet->x, sheet->y, sheet->width, sheet->height);
  cairo_clip (cr);
  if (turn->is_turned)
  {
    const cairo_matrix_t matrix = { turn->c, turn->s,        -turn->s,
                                    turn->c, turn->origin.x, turn->origin.y };
    wsi_canvas_box (cr, WS_PALE, sheet->x, sheet->y, sheet->width, sheet->height);
    cairo_transform (cr, &matrix);
  }
  else
    cairo_translate (cr, sheet->x, sheet->y);
  cairo_scale (cr, scale, scale);
  cairo_set_source_surface (cr, picture, 0.0, 0.0);
  cairo_pattern_set_filter (cairo_get_source (cr), CAIRO_FILTER_BILINEAR);
  cairo_pattern_set_extend (cairo_get_source (cr),
                            turn->is_turned ? CAIRO_EXTEND_NONE : CAIRO_EXTEND_PAD);
  cairo_paint (cr);
  cairo_restore (cr);
}

/* The same point up, or how a rolled tool runs out, to the right of the picture. */
#define UPRIGHT_PART 0.5 /* of the sheet's width without it */
#define UPRIGHT_GAP 6.0  /* units */

static void
draw_upright (const WsSheet *sheet, const WsReport *report, cairo_surface_t *picture, guint reduce,
              double width)
{
  WsSheet upright = *sheet;
  upright.x = width + UPRIGHT_GAP * sheet->unit;
  upright.width = floor (UPRIGHT_PART * width) - UPRIGHT_GAP * sheet->unit;
  if (wsi_polar_helps (report->result))
  {
    wsi_polar_draw (&upright, report);
    return;
  }
  wsi_upright_turn (&upright, report->result);
  paint_picture (&upright, picture, reduce);
  g_array_unref (wsi_marks_draw (&upright, report, NULL));
}

/* How high the surroundings are, by drawing them where nobody sees it. */
static void
measure_panels (const WsReport *report, double width, double *above, double *below)
{
  cairo_surface_t *nowhere = cairo_image_surface_create (CAIRO_FORMAT_RGB24, 1, 1);
  cairo_t *cr = cairo_create (nowhere);
  WsPanel panel = { cr, 0.0, 0.0, width, width / SHEET_UNITS };
  *above = ceil (wsi_panel_draw_verdict (&panel, report));
  *below = ceil (wsi_panel_draw_values (&panel, report));
  cairo_destroy (cr);
  cairo_surface_destroy (nowhere);
}

/* `width`: of the sheet without the tool turned upright, `all` with it. */
static void
draw_sheet (const WsSheet *sheet, const WsReport *report, const WsImage *image, Zoom zoom,
            double width, double all)
{
  WsPanel top = { sheet->cr, 0.0, 0.0, all, all / SHEET_UNITS };
  WsPanel bottom = { sheet->cr, 0.0, sheet->y + sheet->height, all, all / SHEET_UNITS };
  cairo_surface_t *picture = surface_of (image, zoom.reduce);
  wsi_canvas_colour (sheet->cr, WS_PAPER);
  cairo_paint (sheet->cr);
  wsi_panel_draw_verdict (&top, report);
  paint_picture (sheet, picture, zoom.reduce);
  const WsScaleBar bar = wsi_scale_bar_place (sheet, report);
  g_array_unref (wsi_marks_draw (sheet, report, &bar));
  if (all > width)
    draw_upright (sheet, report, picture, zoom.reduce, width);
  wsi_panel_draw_values (&bottom, report);
  cairo_surface_destroy (picture);
}

static cairo_surface_t *
make_sheet (const WsReport *report, const WsImage *image, Zoom zoom)
{
  double factor = (double)zoom.enlarge / zoom.reduce;
  double picture_width = ceil (image->width * factor);
  double picture_height = ceil (image->height * factor);
  double width = fmax (picture_width, MIN_WIDTH);
  double all = wsi_upright_helps (report->result) || wsi_polar_helps (report->result)
                 ? width + floor (UPRIGHT_PART * width)
                 : width;
  double above, below;
  measure_panels (report, all, &above, &below);

  double height = fmin (above + picture_height + below, MAX_SURFACE);
  cairo_surface_t *surface = cairo_image_surface_create (CAIRO_FORMAT_RGB24, (int)all, (int)height);
  WsSheet sheet = { .cr = cairo_create (surface),
                    .factor = factor,
                    .x = floor (0.5 * (width - picture_width)),
                    .y = above,
                    .width = picture_width,
                    .height = picture_height,
                    .unit = width / SHEET_UNITS };
  draw_sheet (&sheet, report, image, zoom, width, all);
  cairo_destroy (sheet.cr);
  return surface;
}

void
wsi_report_picture_area (guint width, guint height, double sheet_width, WsArea *area)
{
  const Zoom zoom = zoom_for (width, height);
  const double factor = (double)zoom.enlarge / zoom.reduce;
  area->width = ceil (width * factor);
  area->height = ceil (height * factor);
  area->x = floor (0.5 * (fmax (area->width, MIN_WIDTH) - area->width));
  area->y = ceil (wsi_panel_verdict_height (sheet_width / SHEET_UNITS));
}

GBytes *
ws_report_picture (const WsReport *report, const WsImage *image, GError **error)
{
  Zoom zoom = zoom_for (image->width, image->height);
  if (!wsi_late_has_cairo (error))
    return NULL;
  cairo_surface_t *sheet = make_sheet (report, image, zoom);
  g_autofree char *made = report->record == NULL ? ws_report_record (report) : NULL;
  gboolean has_scale = report->optics != NULL && report->optics->has_scale;
  WsPngNotes notes = {
    .record = made != NULL ? made : report->record,
    .creation_time = report->time,
    .is_photograph = image->rgb != NULL,
    .mm_per_px = has_scale ? report->optics->mm_per_px * zoom.reduce / zoom.enlarge : 0.0,
  };
  GBytes *png = NULL;
  if (cairo_surface_status (sheet) == CAIRO_STATUS_SUCCESS)
    png = wsi_png_write (sheet, &notes, error);
  else
    g_set_error (error, WS_ERROR, WS_ERROR_INTERNAL, "can't draw the annotated picture: %s",
                 cairo_status_to_string (cairo_surface_status (sheet)));
  cairo_surface_destroy (sheet);
  return png;
}
