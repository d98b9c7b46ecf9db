/*
 * Calibrations and histories of checks from arbitrary text.  Of a calibration the input is what
 * stands before the checksum, which is added here: else nothing would come past it.
 */
#define _GNU_SOURCE
#include <stdint.h>
#include <string.h>

#include <whetsight/calibration.h>

#include "fuzz/files.h"
#include "optics/check_series.h"

int LLVMFuzzerTestOneInput (const uint8_t *data, size_t size);

static void
try_calibration (const char *body)
{
  char path[64];
  g_autofree char *sum = g_compute_checksum_for_string (G_CHECKSUM_SHA256, body, -1);
  g_autofree char *text = g_strconcat (body, "[checksum]\nsha256=", sum, "\n", NULL);
  const int fd = memory_file (text, strlen (text), path);
  g_autoptr (WsCalibration) calibration = ws_calibration_load (path, NULL);
  close (fd);
  if (calibration != NULL && !(ws_lens_mm_per_px (ws_calibration_lens (calibration)) > 0))
    g_error ("a calibration without a scale");
}

static void
try_checks (const char *text, gsize length)
{
  char path[64];
  const int fd = memory_file (text, length, path);
  g_autoptr (GPtrArray) checks = ws_checks_load (path, NULL);
  close (fd);
  if (checks == NULL)
    return;
  ws_checks_state (checks, "A");
  g_ptr_array_unref (wsi_check_series (checks, "A"));
}

/* The first byte chooses the reader. */
int
LLVMFuzzerTestOneInput (const uint8_t *data, size_t size)
{
  if (size == 0)
    return 0;
  g_autofree char *text = g_strndup ((const char *)data + 1, size - 1);
  if (data[0] % 2)
    try_calibration (text);
  else
    try_checks ((const char *)data + 1, size - 1);
  return 0;
}
