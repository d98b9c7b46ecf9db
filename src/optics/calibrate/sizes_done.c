/*
 * What a calibration by sizes has found, for those who add to it and those who report it.
 */
#include "optics/calibrate/sizes.h"

#include <math.h>

#include "image/taken.h"

#define COVERAGE 2.0

void
ws_sizes_done_free (WsSizesDone *done)
{
  if (done == NULL)
    return;
  g_clear_pointer (&done->seen, g_ptr_array_unref);
  g_clear_pointer (&done->widths, g_array_unref);
  g_clear_pointer (&done->marks, g_array_unref);
  g_clear_pointer (&done->lines, g_array_unref);
  wsi_taken_free (done->taken);
  ws_calibration_free (done->calibration);
  g_free (done);
}

WsCalibration *
ws_sizes_done_calibration (const WsSizesDone *done)
{
  return done->calibration;
}

guint
wsi_sizes_add_width (WsSizesDone *done, const WsShotWidth *width)
{
  g_array_append_vals (done->widths, width, 1);
  return done->widths->len - 1;
}

const WsShotWidth *
wsi_sizes_width (const WsSizesDone *done, guint i)
{
  return &g_array_index (done->widths, WsShotWidth, i);
}

const WsShotSeen *
wsi_sizes_seen (const WsSizesDone *done, guint shot)
{
  return g_ptr_array_index (done->seen, shot);
}

double
wsi_sizes_U (const WsSizesDone *done, guint parameter)
{
  return COVERAGE * sqrt (done->fit.covariance[parameter * WS_LENS_T_N + parameter]);
}

double
wsi_sizes_um (const WsSizesDone *done, double px)
{
  return 1000 * px * done->fit.value[WS_LENS_T_SCALE];
}
