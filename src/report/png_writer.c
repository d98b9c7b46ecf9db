/*
 * cairo can write PNG, but none of the chunks wanted here.
 *
 * libpng reports errors by longjmp(): every function from write_file() down owns nothing
 * and changes no local of its callers.
 */
#include "report/png_writer.h"

#include <math.h>

#include <whetsight/error.h>

#include "image/png_errors.h"

/* Four times as quick as zlib's own choice with libpng's choice of filters.  Files of silhouettes
 * are no larger: noise of a few codes is best left as it is.  Photographs, smooth once they were
 * enlarged, are smaller by differences of rows. */
#define COMPRESSION_LEVEL 4

typedef struct
{
  cairo_surface_t *surface;
  const WsPngNotes *notes;
  GByteArray *file;
  guchar *row; /* width x 3 */
  WsPngMessage message;
} Writer;

static void
append (png_structp png, png_bytep bytes, png_size_t n)
{
  Writer *writer = png_get_io_ptr (png);
  g_byte_array_append (writer->file, bytes, (guint)n);
}

static void
flush (png_structp png)
{
  (void)png;
}

static png_text
latin_note (const char *keyword, const char *words)
{
  return (png_text){ .compression = PNG_TEXT_COMPRESSION_NONE,
                     .key = (png_charp)keyword,
                     .text = (png_charp)words };
}

/* A record runs to several kilobytes, so it is worth compressing (PNG, 3rd edition, 11.3.3). */
static png_text
record_note (const char *record)
{
  return (png_text){ .compression = PNG_ITXT_COMPRESSION_zTXt,
                     .key = (png_charp)WS_PNG_RECORD_KEYWORD,
                     .text = (png_charp)record,
                     .lang = (png_charp) "",
                     .lang_key = (png_charp) "" };
}

static void
set_texts (png_structp png, png_infop info, const WsPngNotes *notes)
{
  png_text texts[3] = { latin_note ("Software", "whetsight " WS_VERSION) };
  int n = 1;
  if (notes->creation_time != NULL)
    texts[n++] = latin_note ("Creation Time", notes->creation_time);
  if (notes->record != NULL)
    texts[n++] = record_note (notes->record);
  png_set_text (png, info, texts, n);
}

/* pHYs says how large to show the picture: life size.  sCAL says how large its subject
 * is, which is what a pixel stands for. */
static void
set_scale (png_structp png, png_infop info, double mm_per_px)
{
  double per_metre = 1000.0 / mm_per_px;
  char size[G_ASCII_DTOSTR_BUF_SIZE];
  g_ascii_formatd (size, sizeof size, "%.9g", 0.001 * mm_per_px);
  png_set_sCAL_s (png, info, PNG_SCALE_METER, size, size);
  if (per_metre >= 1.0 && per_metre < 2147483647.0)
  {
    png_uint_32 rounded = (png_uint_32)lround (per_metre);
    png_set_pHYs (png, info, rounded, rounded, PNG_RESOLUTION_METER);
  }
}

static void
write_rows (png_structp png, const Writer *writer)
{
  int width = cairo_image_surface_get_width (writer->surface);
  int height = cairo_image_surface_get_height (writer->surface);
  gsize stride = (gsize)cairo_image_surface_get_stride (writer->surface);
  const guchar *pixels = cairo_image_surface_get_data (writer->surface);
  for (int y = 0; y < height; y++)
  {
    const guint32 *from = (const guint32 *)(const void *)(pixels + (gsize)y * stride);
    guchar *to = writer->row;
    for (int x = 0; x < width; x++, to += 3)
    {
      to[0] = (guchar)(from[x] >> 16);
      to[1] = (guchar)(from[x] >> 8);
      to[2] = (guchar)from[x];
    }
    png_write_row (png, writer->row);
  }
}

static void
write_file (png_structp png, png_infop info, Writer *writer)
{
  png_set_write_fn (png, writer, append, flush);
  png_set_compression_level (png, COMPRESSION_LEVEL);
  png_set_filter (png, PNG_FILTER_TYPE_BASE,
                  writer->notes->is_photograph ? PNG_FILTER_UP : PNG_FILTER_NONE);
  png_set_IHDR (png, info, (png_uint_32)cairo_image_surface_get_width (writer->surface),
                (png_uint_32)cairo_image_surface_get_height (writer->surface), 8,
                PNG_COLOR_TYPE_RGB, PNG_INTERLACE_NONE, PNG_COMPRESSION_TYPE_DEFAULT,
                PNG_FILTER_TYPE_DEFAULT);
  png_set_sRGB (png, info, PNG_sRGB_INTENT_PERCEPTUAL);
  set_texts (png, info, writer->notes);
  if (writer->notes->mm_per_px > 0.0)
    set_scale (png, info, writer->notes->mm_per_px);
  png_write_info (png, info);
  write_rows (png, writer);
  png_write_end (png, NULL);
}

static gboolean
guard (png_structp png, png_infop info, Writer *writer)
{
  if (setjmp (png_jmpbuf (png)))
    return FALSE;
  write_file (png, info, writer);
  return TRUE;
}

static gboolean
run (Writer *writer)
{
  png_structp png = png_create_write_struct (PNG_LIBPNG_VER_STRING, &writer->message,
                                             wsi_png_give_up, wsi_png_ignore_warning);
  png_infop info = png == NULL ? NULL : png_create_info_struct (png);
  gboolean written = info != NULL && guard (png, info, writer);
  if (png != NULL)
    png_destroy_write_struct (&png, &info);
  return written;
}

GBytes *
wsi_png_write (cairo_surface_t *surface, const WsPngNotes *notes, GError **error)
{
  cairo_surface_flush (surface);
  gsize width = (gsize)cairo_image_surface_get_width (surface);
  g_autofree guchar *row = g_malloc_n (width, 3);
  g_autoptr (GByteArray) file = g_byte_array_new ();
  Writer writer = { .surface = surface, .notes = notes, .file = file, .row = row };
  if (run (&writer))
    return g_byte_array_free_to_bytes (g_steal_pointer (&file));
  g_set_error (error, WS_ERROR, WS_ERROR_INTERNAL, "can't encode the annotated picture: %s",
               writer.message.text[0] != '\0' ? writer.message.text : "no memory");
  return NULL;
}
