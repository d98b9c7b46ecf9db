#include "optics/calibrate/sizes.h"

#include <math.h>

#include "base/geometry.h"
#include "optics/calibrate/ring.h"
#include "optics/lens.h"

/* As for pins. */
#define K1_STEP 1e-4

/* Every so many-th sample gets an arrow; those of the next shot are turned, since rings often
 * lie in the same place. */
#define ARROW_STRIDE 24
#define ARROW_TURN 5

static double
radial_gain (const WsRingBorder *border, const WsImage *image)
{
  WsLens lens = { .model = WS_LENS_TELECENTRIC,
                  .width = image->width,
                  .height = image->height,
                  .parameters = { 0, 1, 0 } };
  const double flat = wsi_ring_diameter_through (border, &lens);
  lens.parameters[WS_LENS_T_K1] = K1_STEP;
  return (wsi_ring_diameter_through (border, &lens) - flat) / K1_STEP;
}

static void
add_marks (const WsRingBorder *border, WsSizesDone *done, guint width)
{
  const guint first = width * ARROW_TURN % ARROW_STRIDE;
  for (guint i = 0; i < WS_RING_SAMPLES; i++)
  {
    const WsPoint where = border->seen[i];
    g_array_append_val (done->lines, where);
    g_array_append_val (done->lines, border->seen[(i + 1) % WS_RING_SAMPLES]);
    const WsPoint out = wsi_point_sub (where, border->centre);
    const double length = wsi_point_length (out);
    const WsShotMark mark = { width, where, wsi_point (out.x / length, out.y / length) };
    if (i % ARROW_STRIDE == first)
      g_array_append_val (done->marks, mark);
  }
}

static void
add_border (const WsRingBorder *border, const WsImage *image, WsSizesDone *done, guint shot)
{
  const WsShot *known = g_ptr_array_index (done->shots, shot);
  const gboolean is_hole = border->outward < 0;
  const double size = is_hole ? known->hole_mm : known->size_mm;
  const WsShotWidth width = { .shot = shot,
                              .part = is_hole ? "inner" : "outer",
                              .width = { .size_mm = size,
                                         .u_mm = known->u_mm,
                                         .width_px = border->diameter_px,
                                         .u_px = border->u_diameter_px,
                                         .shift_gain = 2 * border->outward,
                                         .radial_gain_px = radial_gain (border, image) } };
  if (!isnan (size))
    add_marks (border, done, wsi_sizes_add_width (done, &width));
}

static char *
measure (const WsImage *image, WsSizesDone *done, guint shot, WsShotSeen *seen)
{
  const WsOptics bare = WS_OPTICS_UNKNOWN;
  const WsShot *known = g_ptr_array_index (done->shots, shot);
  WsRing ring;
  if (!wsi_ring_measure (image, &bare, &ring))
    return g_strdup_printf ("%s: %s", ws_retake_code (ring.trouble), ring.detail);
  if (!ring.has_hole && !isnan (known->hole_mm))
    return g_strdup ("the list tells an inner diameter, but there is no hole");
  seen->blur_px = ring.blur_px;
  seen->is_clipped = ring.is_clipped;
  add_border (&ring.outer, image, done, shot);
  if (ring.has_hole)
    add_border (&ring.inner, image, done, shot);
  return NULL;
}

const WsSizesMethod wsi_sizes_disc = { .name = "disc", .measure = measure };
