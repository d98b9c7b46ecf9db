#include "image/decoder.h"

enum
{
  TYPE_SHORT = 3,
  TYPE_LONG = 4,
  TYPE_RATIONAL = 5
};

typedef struct
{
  const guint8 *bytes;
  gsize n_bytes;
  gboolean big_endian;
} Tiff;

/* FALSE past the end. */
static gboolean
read_number (const Tiff *tiff, gsize at, guint n_digits, guint32 *number)
{
  if (at > tiff->n_bytes || tiff->n_bytes - at < n_digits)
    return FALSE;
  *number = 0;
  for (guint i = 0; i < n_digits; i++)
    *number = *number << 8 | tiff->bytes[at + (tiff->big_endian ? i : n_digits - 1 - i)];
  return TRUE;
}

static gboolean
read_entry (const Tiff *tiff, gsize at, guint32 *value)
{
  guint32 type, count;

  if (!read_number (tiff, at + 2, 2, &type) || !read_number (tiff, at + 4, 4, &count) || count == 0)
    return FALSE;

  const guint size = type == TYPE_SHORT ? 2 : type == TYPE_LONG ? 4 : 0;
  if (size == 0)
    return FALSE;
  if (count <= 4 / size)
    return read_number (tiff, at + 8, size, value);
  guint32 elsewhere;
  return read_number (tiff, at + 8, 4, &elsewhere) && read_number (tiff, elsewhere, size, value);
}

/* The place of a tag's entry in the first directory; FALSE without one. */
static gboolean
find_entry (const Tiff *tiff, guint tag, gsize *at)
{
  guint32 magic, directory, n_entries, found;
  if (!read_number (tiff, 2, 2, &magic) || magic != 42 || !read_number (tiff, 4, 4, &directory) ||
      !read_number (tiff, directory, 2, &n_entries))
    return FALSE;
  for (guint32 i = 0; i < n_entries; i++)
  {
    *at = (gsize)directory + 2 + 12 * (gsize)i;
    if (!read_number (tiff, *at, 2, &found))
      return FALSE;
    if (found == tag)
      return TRUE;
  }
  return FALSE;
}

static gboolean
open_tiff (const guint8 *bytes, gsize n_bytes, Tiff *tiff)
{
  if (n_bytes < 8 || bytes[0] != bytes[1] || (bytes[0] != 'I' && bytes[0] != 'M'))
    return FALSE;
  *tiff = (Tiff){ bytes, n_bytes, bytes[0] == 'M' };
  return TRUE;
}

gboolean
wsi_exif_tag (const guint8 *bytes, gsize n_bytes, guint tag, guint32 *value)
{
  Tiff tiff;
  gsize at;
  return open_tiff (bytes, n_bytes, &tiff) && find_entry (&tiff, tag, &at) &&
         read_entry (&tiff, at, value);
}

gboolean
wsi_exif_ratio (const guint8 *bytes, gsize n_bytes, guint tag, double *value)
{
  Tiff tiff;
  gsize at;
  guint32 type, count, place, above, below;
  if (!open_tiff (bytes, n_bytes, &tiff) || !find_entry (&tiff, tag, &at) ||
      !read_number (&tiff, at + 2, 2, &type) || type != TYPE_RATIONAL ||
      !read_number (&tiff, at + 4, 4, &count) || count == 0 ||
      !read_number (&tiff, at + 8, 4, &place) || !read_number (&tiff, place, 4, &above) ||
      !read_number (&tiff, (gsize)place + 4, 4, &below) || above == 0 || below == 0)
    return FALSE;
  *value = (double)above / below;
  return TRUE;
}
