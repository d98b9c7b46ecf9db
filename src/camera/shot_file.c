/*
 * libpng reports errors by longjmp(): every function from write_file() down owns nothing and
 * changes no local of its callers.
 */
#include "camera/shot_file.h"

#include <math.h>

#include <whetsight/error.h>

#include "image/png_errors.h"
#include "image/taken.h"
#include "image/taken_pixels.h"

#define MOST_TEXTS (WS_N_TAKEN + 4)

/* Noise doesn't compress: a higher level takes longer for nothing. */
#define COMPRESSION_LEVEL 3

typedef struct
{
  const WsFrame *frame;
  GByteArray *file;
  png_text texts[MOST_TEXTS];
  int n_texts;
  WsPngMessage message;
} Writer;

char *
wsi_setting_text (WsSettingName name, const WsSetting *setting)
{
  char number[G_ASCII_DTOSTR_BUF_SIZE];
  if (setting->state == WS_SETTING_ABSENT)
    return g_strdup ("no such control");
  if (setting->state == WS_SETTING_WANDERING)
    return g_strdup ("changed by the camera");
  if (name == WS_SETTING_WHITE_BALANCE)
    return g_strdup ("fixed");
  g_ascii_formatd (number, sizeof number, "%.6g", setting->value);
  return g_strdup_printf ("%s%s%s", number, *setting->unit != '\0' ? " " : "", setting->unit);
}

WsTaken *
wsi_shot_taken_of (const WsCameraIdentity *identity, const char *pixels,
                   char *const settings[WS_N_SETTINGS], const char *calibration)
{
  static const WsTakenName names[WS_N_SETTINGS] = {
    [WS_SETTING_EXPOSURE] = WS_TAKEN_EXPOSURE,           [WS_SETTING_GAIN] = WS_TAKEN_GAIN,
    [WS_SETTING_WHITE_BALANCE] = WS_TAKEN_WHITE_BALANCE, [WS_SETTING_GAMMA] = WS_TAKEN_GAMMA,
    [WS_SETTING_SHARPENING] = WS_TAKEN_SHARPENING,
  };
  WsTaken *taken = g_new0 (WsTaken, 1);
  taken->of[WS_TAKEN_CAMERA] =
    g_strdup_printf ("%s:%s%s%s", identity->kind, identity->name,
                     *identity->serial != '\0' ? ", " : "", identity->serial);
  taken->of[WS_TAKEN_PIXELS] = g_strdup (pixels);
  taken->of[WS_TAKEN_CALIBRATION] = g_strdup (calibration);
  for (WsSettingName name = 0; name < WS_N_SETTINGS; name++)
    taken->of[names[name]] = g_strdup (settings[name]);
  return taken;
}

WsTaken *
wsi_shot_taken (const WsCameraIdentity *identity, const WsCameraSettings *settings,
                const WsImage *image)
{
  char *texts[WS_N_SETTINGS];
  g_autofree char *pixels = wsi_taken_pixels (image);
  for (WsSettingName name = 0; name < WS_N_SETTINGS; name++)
    texts[name] = wsi_setting_text (name, &settings->of[name]);
  WsTaken *taken = wsi_shot_taken_of (identity, pixels, texts, NULL);
  for (WsSettingName name = 0; name < WS_N_SETTINGS; name++)
    g_free (texts[name]);
  return taken;
}

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

static void
write_file (png_structp png, png_infop info, Writer *writer)
{
  const WsImage *image = writer->frame->image;
  const gsize n = (gsize)image->width * (image->has_colour ? 3 : 1);
  const guint16 *light = image->has_colour ? writer->frame->colour : image->linear;
  png_set_write_fn (png, writer, append, flush);
  png_set_compression_level (png, COMPRESSION_LEVEL);
  png_set_IHDR (png, info, image->width, image->height, 16,
                image->has_colour ? PNG_COLOR_TYPE_RGB : PNG_COLOR_TYPE_GRAY, PNG_INTERLACE_NONE,
                PNG_COMPRESSION_TYPE_DEFAULT, PNG_FILTER_TYPE_DEFAULT);
  png_set_gAMA_fixed (png, info, PNG_FP_1);
  png_set_text (png, info, writer->texts, writer->n_texts);
  png_write_info (png, info);
#if G_BYTE_ORDER == G_LITTLE_ENDIAN
  png_set_swap (png);
#endif
  for (guint y = 0; y < image->height; y++)
    png_write_row (png, (png_const_bytep)(light + y * n));
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
  const gboolean written = info != NULL && guard (png, info, writer);
  if (png != NULL)
    png_destroy_write_struct (&png, &info);
  return written;
}

/* Takes `text` over into `kept`. */
static void
add_text (Writer *writer, GPtrArray *kept, const char *keyword, char *text)
{
  g_ptr_array_add (kept, text);
  writer->texts[writer->n_texts++] = (png_text){ .compression = PNG_ITXT_COMPRESSION_NONE,
                                                 .key = (png_charp)keyword,
                                                 .text = text,
                                                 .lang = (png_charp) "",
                                                 .lang_key = (png_charp) "" };
}

static void
add_notes (Writer *writer, GPtrArray *kept, const WsShotNotes *notes)
{
  add_text (writer, kept, "Software", g_strdup ("whetsight " WS_VERSION));
  add_text (writer, kept, "Creation Time", g_strdup (notes->time));
  add_text (writer, kept, "frames", g_strdup_printf ("%u", notes->n_frames));
  if (!isnan (notes->shift_px))
    add_text (writer, kept, "shift between frames", g_strdup_printf ("%.3f px", notes->shift_px));
  for (WsTakenName name = 0; name < WS_N_TAKEN; name++)
    if (notes->taken->of[name] != NULL)
      add_text (writer, kept, wsi_taken_keyword (name), g_strdup (notes->taken->of[name]));
}

GBytes *
wsi_shot_encode (const WsFrame *frame, const WsShotNotes *notes, GError **error)
{
  g_autoptr (GByteArray) file = g_byte_array_new ();
  g_autoptr (GPtrArray) kept = g_ptr_array_new_with_free_func (g_free);
  Writer writer = { .frame = frame, .file = file };
  add_notes (&writer, kept, notes);
  if (run (&writer))
    return g_byte_array_free_to_bytes (g_steal_pointer (&file));
  g_set_error (error, WS_ERROR, WS_ERROR_INTERNAL, "can't encode the picture: %s",
               writer.message.text[0] != '\0' ? writer.message.text : "no memory");
  return NULL;
}
