#include "image/foreign.h"

#include <string.h>

#define SAVE "; save it as PNG"
#define RAW "a camera's raw file; develop it into a TIFF or PNG of 16 bits"
#define NO_PICTURE ", no picture"
#define ARCHIVE "an archive; unpack it, and name the pictures in it"

typedef struct
{
  const char *kind;
  guint offset, n;
  const char *bytes;
} Signature;

/* The first that fits counts.  The brands of "ftyp" files: ISO/IEC 23008-12, annex B; AVIF 1.1,
 * 8. */
static const Signature signatures[] = {
  { "a WebP picture" SAVE, 8, 4, "WEBP" },
  { "a GIF picture" SAVE, 0, 4, "GIF8" },
  { "a HEIC picture" SAVE ", or set the camera to JPEG", 4, 7, "ftyphei" },
  { "a HEIC picture" SAVE ", or set the camera to JPEG", 4, 7, "ftyphev" },
  { "a HEIF picture" SAVE ", or set the camera to JPEG", 4, 8, "ftypmif1" },
  { "a HEIF picture" SAVE ", or set the camera to JPEG", 4, 8, "ftypmsf1" },
  { "an AVIF picture" SAVE, 4, 7, "ftypavi" },
  { RAW, 4, 7, "ftypcrx" },
  { "a film" NO_PICTURE "; save one frame of it as PNG", 4, 4, "ftyp" },
  { "a film" NO_PICTURE "; save one frame of it as PNG", 0, 4, "\x1A\x45\xDF\xA3" },
  { "a film" NO_PICTURE "; save one frame of it as PNG", 8, 4, "AVI " },
  { "a JPEG XL picture" SAVE, 0, 2, "\xFF\x0A" },
  { "a JPEG XL picture" SAVE, 4, 4, "JXL " },
  { "a JPEG 2000 picture" SAVE, 4, 4, "jP  " },
  { "a JPEG 2000 picture" SAVE, 0, 4, "\xFF\x4F\xFF\x51" },
  { "a Photoshop file" SAVE, 0, 4, "8BPS" },
  { "a GIMP file" SAVE, 0, 8, "gimp xcf" },
  { "an OpenEXR picture" SAVE, 0, 4, "v/1\x01" },
  { "a Radiance picture" SAVE, 0, 10, "#?RADIANCE" },
  { RAW, 0, 15, "FUJIFILMCCD-RAW" },
  { RAW, 0, 4, "IIRO" },
  { RAW, 0, 4, "IIRS" },
  { RAW, 0, 4, "IIU\0" },
  { RAW, 0, 4, "\0MRM" },
  { RAW, 0, 4, "FOVb" },
  { "a DICOM picture" SAVE, 128, 4, "DICM" },
  { "a FITS picture" SAVE, 0, 9, "SIMPLE  =" },
  { "a Windows icon" SAVE, 0, 4, "\0\0\1\0" },
  { "a QOI picture" SAVE, 0, 4, "qoif" },
  { "a DirectDraw picture" SAVE, 0, 4, "DDS " },
  { "a PDF document" NO_PICTURE, 0, 5, "%PDF-" },
  { "a PostScript file" NO_PICTURE, 0, 4, "%!PS" },
  { ARCHIVE, 0, 4, "PK\3\4" },
  { ARCHIVE, 0, 2, "\x1F\x8B" },
  { ARCHIVE, 0, 6, "7z\xBC\xAF\x27\x1C" },
  { ARCHIVE, 0, 6,
    "\xFD"
    "7zXZ" },
};

/* "P1" to "P7" and a space: portable maps. */
static gboolean
is_portable_map (const guint8 *bytes, gsize n_bytes)
{
  return n_bytes >= 3 && bytes[0] == 'P' && bytes[1] >= '1' && bytes[1] <= '7' &&
         g_ascii_isspace ((char)bytes[2]);
}

/* Where SVG and HTML begin; XML says so somewhere near. */
#define TEXT_BYTES 1024

static const char *
text_kind (const guint8 *bytes, gsize n_bytes)
{
  const gsize n = MIN (n_bytes, TEXT_BYTES);
  g_autofree char *text = g_ascii_strdown ((const char *)bytes, (gssize)n);
  const char *first = text;
  while (g_ascii_isspace (*first) || (guchar)*first >= 0x80)
    first++;
  if (*first != '<')
    return NULL;
  if (strstr (first, "<svg") != NULL)
    return "an SVG drawing, no photograph";
  return strstr (first, "<html") != NULL || strstr (first, "<!doctype html") != NULL
           ? "a web page" NO_PICTURE "; save the picture itself"
           : NULL;
}

const char *
wsi_foreign_kind (const guint8 *bytes, gsize n_bytes)
{
  for (gsize i = 0; i < G_N_ELEMENTS (signatures); i++)
  {
    const Signature *s = &signatures[i];
    if (n_bytes >= s->offset + s->n && memcmp (bytes + s->offset, s->bytes, s->n) == 0)
      return s->kind;
  }
  if (is_portable_map (bytes, n_bytes))
    return "a portable map (PBM, PGM, PPM, PAM)" SAVE;
  return text_kind (bytes, n_bytes);
}
