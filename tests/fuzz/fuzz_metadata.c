/*
 * What a picture's file says beside its pixels: EXIF tags and colour profiles, as the readers take
 * them out of it.  The first byte chooses which.
 */
#include <math.h>
#include <stdint.h>

#include "image/decoder.h"
#include "image/profile.h"

int LLVMFuzzerTestOneInput (const uint8_t *bytes, size_t n_bytes);

static void
try_exif (const uint8_t *bytes, size_t n_bytes, guint tag)
{
  guint32 value;
  wsi_exif_tag (bytes, n_bytes, tag, &value);
}

static void
try_profile (const uint8_t *bytes, size_t n_bytes, gboolean coloured)
{
  WsToneCurve curve;
  if (wsi_profile_read (bytes, n_bytes, coloured, &curve) != WS_PROFILE_READ)
    return;
  if (curve.tone != WS_TONE_PROFILE)
    return;
  for (guint i = 1; i < WS_TONE_ENTRIES; i++)
    if (!(curve.table[i] >= curve.table[i - 1] && curve.table[i] <= 1))
      g_error ("a curve that falls, or isn't finite");
}

int
LLVMFuzzerTestOneInput (const uint8_t *bytes, size_t n_bytes)
{
  if (n_bytes == 0)
    return 0;
  switch (bytes[0] % 3)
  {
  case 0:
    try_exif (bytes + 1, n_bytes - 1, 0x0112);
    break;
  case 1:
    try_profile (bytes + 1, n_bytes - 1, FALSE);
    break;
  default:
    try_profile (bytes + 1, n_bytes - 1, TRUE);
  }
  return 0;
}
