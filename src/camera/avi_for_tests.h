/*
 * Videos as cameras save them: AVI of Motion JPEG.
 */
#ifndef WS_CAMERA_AVI_FOR_TESTS_H
#define WS_CAMERA_AVI_FOR_TESTS_H

#include <glib.h>

typedef struct
{
  guint width, height, rate;
} AviSize;

static inline void
avi_put_word (GByteArray *to, const char *word)
{
  g_byte_array_append (to, (const guint8 *)word, 4);
}

static inline void
avi_put_numbers (GByteArray *to, const guint32 *numbers, guint n)
{
  for (guint i = 0; i < n; i++)
  {
    const guint32 number = GUINT32_TO_LE (numbers[i]);
    g_byte_array_append (to, (const guint8 *)&number, sizeof number);
  }
}

/* A chunk of a RIFF file: its name, its size, its content, which is even. */
static inline void
avi_put_chunk (GByteArray *to, const char *name, const char *kind, const GByteArray *content)
{
  const guint32 n = content->len + (kind != NULL ? 4 : 0);
  avi_put_word (to, name);
  avi_put_numbers (to, &n, 1);
  if (kind != NULL)
    avi_put_word (to, kind);
  g_byte_array_append (to, content->data, content->len);
}

static inline void
avi_put_header (GByteArray *hdrl, const AviSize *size, guint n_frames)
{
  static const guint32 zeros[2] = { 0 };
  g_autoptr (GByteArray) avih = g_byte_array_new (), strh = g_byte_array_new (),
                         strf = g_byte_array_new (), strl = g_byte_array_new ();
  const guint32 of_avih[14] = { 1000000 / size->rate, 0,           0, 0x10, n_frames, 0, 1, 0,
                                size->width,          size->height };
  const guint32 of_strh[10] = { 0, 0, 0, 1, size->rate, 0, n_frames };
  const guint32 of_strf[10] = { 40, size->width, size->height, 1 | 24 << 16, 0x47504A4D };
  avi_put_numbers (avih, of_avih, 14);
  avi_put_word (strh, "vids");
  avi_put_word (strh, "MJPG");
  avi_put_numbers (strh, of_strh, 10);
  avi_put_numbers (strh, zeros, 2);
  avi_put_numbers (strf, of_strf, 10);
  avi_put_chunk (strl, "strh", NULL, strh);
  avi_put_chunk (strl, "strf", NULL, strf);
  avi_put_chunk (hdrl, "avih", NULL, avih);
  avi_put_chunk (hdrl, "LIST", "strl", strl);
}

/* `pictures`: of GBytes, JPEG files.  Free with g_byte_array_unref(). */
static inline GByteArray *
avi_of_jpegs (const GPtrArray *pictures, const AviSize *size)
{
  static const guint8 zero = 0;
  g_autoptr (GByteArray) hdrl = g_byte_array_new (), movi = g_byte_array_new (),
                         idx1 = g_byte_array_new (), riff = g_byte_array_new ();
  GByteArray *file = g_byte_array_new ();
  avi_put_header (hdrl, size, pictures->len);
  for (guint i = 0; i < pictures->len; i++)
  {
    gsize n = 0;
    const guint8 *jpeg = g_bytes_get_data ((GBytes *)g_ptr_array_index (pictures, i), &n);
    g_autoptr (GByteArray) picture = g_byte_array_new ();
    const guint32 entry[3] = { 0x10, movi->len + 4, (guint32)(n + n % 2) };
    g_byte_array_append (picture, jpeg, (guint)n);
    g_byte_array_append (picture, &zero, (guint)(n % 2));
    avi_put_word (idx1, "00dc");
    avi_put_numbers (idx1, entry, 3);
    avi_put_chunk (movi, "00dc", NULL, picture);
  }
  avi_put_chunk (riff, "LIST", "hdrl", hdrl);
  avi_put_chunk (riff, "LIST", "movi", movi);
  avi_put_chunk (riff, "idx1", NULL, idx1);
  avi_put_chunk (file, "RIFF", "AVI ", riff);
  return file;
}

#endif
