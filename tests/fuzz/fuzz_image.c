/*
 * libFuzzer target for every picture reader: build/fuzz/tests/fuzz_image CORPUS_FOLDER
 *
 * A PNG's checksums are made right first, in a copy: else hardly anything would come past them.
 */
#include <stdint.h>
#include <string.h>
#include <zlib.h>

#include <whetsight/image.h>

int LLVMFuzzerTestOneInput (const uint8_t *bytes, size_t n_bytes);

enum
{
  SIGNATURE = 8, /* bytes */
  AROUND = 12    /* of a chunk, around its data: length, name, checksum */
};

static uint32_t
read_word (const uint8_t *at)
{
  return (uint32_t)at[0] << 24 | (uint32_t)at[1] << 16 | (uint32_t)at[2] << 8 | at[3];
}

static void
write_word (uint8_t *at, uint32_t word)
{
  for (int i = 0; i < 4; i++)
    at[i] = (uint8_t)(word >> (24 - 8 * i));
}

/* PNG 3rd edition, 5.3: the checksum is of a chunk's name and data. */
static void
mend_png (uint8_t *bytes, size_t n_bytes)
{
  size_t at = SIGNATURE;
  while (n_bytes >= AROUND && at <= n_bytes - AROUND)
  {
    const size_t length = read_word (bytes + at);
    if (length > n_bytes - AROUND - at)
      return;
    write_word (bytes + at + 8 + length, (uint32_t)crc32 (0, bytes + at + 4, (unsigned)length + 4));
    at += AROUND + length;
  }
}

int
LLVMFuzzerTestOneInput (const uint8_t *bytes, size_t n_bytes)
{
  const WsImageLimits limits = { .max_megapixels = 0.25, .max_file_bytes = 1 << 20 };
  const gboolean is_png = n_bytes > SIGNATURE && memcmp (bytes, "\x89PNG", 4) == 0;
  g_autoptr (GError) error = NULL;
  g_autofree uint8_t *mended = NULL;
  if (is_png)
  {
    mended = g_memdup2 (bytes, n_bytes);
    mend_png (mended, n_bytes);
  }
  g_autoptr (WsImage) image =
    ws_image_decode (is_png ? mended : bytes, n_bytes, "fuzz", &limits, WS_IMAGE_COLOUR, &error);
  if ((image == NULL) != (error != NULL))
    g_error ("a picture and an error, or neither");
  return 0;
}
