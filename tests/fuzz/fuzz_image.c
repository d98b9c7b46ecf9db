/*
 * libFuzzer target for every picture reader: build/fuzz/tests/fuzz_image CORPUS_FOLDER
 */
#include <stdint.h>

#include <whetsight/image.h>

int LLVMFuzzerTestOneInput (const uint8_t *bytes, size_t n_bytes);

int
LLVMFuzzerTestOneInput (const uint8_t *bytes, size_t n_bytes)
{
  const WsImageLimits limits = { .max_megapixels = 0.25, .max_file_bytes = 1 << 20 };
  g_autoptr (GError) error = NULL;
  g_autoptr (WsImage) image =
    ws_image_decode (bytes, n_bytes, "fuzz", &limits, WS_IMAGE_COLOUR, &error);

  if ((image == NULL) != (error != NULL))
    g_error ("a picture and an error, or neither");
  return 0;
}
