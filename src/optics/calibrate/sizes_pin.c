#include "optics/calibrate/sizes.h"

#include <math.h>

#include "base/geometry.h"
#include "optics/calibrate/pin.h"
#include "optics/lens.h"

/* Step of K1 that shows what it does to a width: small against one, large against rounding. */
#define K1_STEP 1e-4

static double
radial_gain (const WsPin *pin, const WsImage *image)
{
  WsLens lens = { .model = WS_LENS_TELECENTRIC,
                  .width = image->width,
                  .height = image->height,
                  .parameters = { 0, 1, 0 } };
  const double flat = wsi_pin_width_through (pin, &lens);
  lens.parameters[WS_LENS_T_K1] = K1_STEP;
  return (wsi_pin_width_through (pin, &lens) - flat) / K1_STEP;
}

/* The sides, and the middles of both. */
static void
add_marks (const WsPin *pin, WsSizesDone *done, guint width)
{
  for (guint k = 0; k < 2; k++)
  {
    const WsPoint from = pin->sides[k][0], to = pin->sides[k][WS_PIN_SAMPLES - 1];
    const double sign = k == 0 ? -1 : 1;
    const WsPoint out = wsi_point (sign * pin->direction.y, -sign * pin->direction.x);
    const WsShotMark mark = { width, wsi_point_along (from, 0.5, wsi_point_sub (to, from)), out };
    g_array_append_val (done->lines, from);
    g_array_append_val (done->lines, to);
    g_array_append_val (done->marks, mark);
  }
}

static char *
measure (const WsImage *image, WsSizesDone *done, guint shot, WsShotSeen *seen)
{
  const WsOptics bare = WS_OPTICS_UNKNOWN;
  const WsShot *known = g_ptr_array_index (done->shots, shot);
  WsPin pin;
  if (!wsi_pin_measure (image, &bare, &pin))
    return g_strdup_printf ("%s: %s", ws_retake_code (pin.trouble), pin.detail);
  seen->blur_px = pin.blur_px;
  seen->is_clipped = pin.is_clipped;
  const WsShotWidth width = { .shot = shot,
                              .part = "pin",
                              .width = { .size_mm = known->size_mm,
                                         .u_mm = known->u_mm,
                                         .width_px = pin.width_px,
                                         .u_px = pin.u_width_px,
                                         .shift_gain = 2,
                                         .radial_gain_px = radial_gain (&pin, image) } };
  add_marks (&pin, done, wsi_sizes_add_width (done, &width));
  return NULL;
}

const WsSizesMethod wsi_sizes_pin = { .name = "pin", .measure = measure };
