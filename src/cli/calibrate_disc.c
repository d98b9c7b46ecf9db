#include "cli/calibrate.h"

#include <math.h>

#include "base/geometry.h"
#include "cli/calibrate_shots.h"
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
  const double flat = ws_ring_diameter_through (border, &lens);
  lens.parameters[WS_LENS_T_K1] = K1_STEP;
  return (ws_ring_diameter_through (border, &lens) - flat) / K1_STEP;
}

static void
add_marks (const WsRingBorder *border, WsCalibrateJob *job, guint width)
{
  const guint first = width * ARROW_TURN % ARROW_STRIDE;
  for (guint i = 0; i < WS_RING_SAMPLES; i++)
  {
    const WsPoint where = border->seen[i];
    g_array_append_val (job->lines, where);
    g_array_append_val (job->lines, border->seen[(i + 1) % WS_RING_SAMPLES]);
    const WsPoint out = ws_point_sub (where, border->centre);
    const double length = ws_point_length (out);
    const WsShotMark mark = { width, where, ws_point (out.x / length, out.y / length) };
    if (i % ARROW_STRIDE == first)
      g_array_append_val (job->marks, mark);
  }
}

static void
add_border (const WsRingBorder *border, const WsImage *image, WsCalibrateJob *job, guint shot)
{
  const WsShot *known = g_ptr_array_index (job->shots, shot);
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
    add_marks (border, job, ws_calibrate_add_width (job, &width));
}

static char *
measure (const WsImage *image, WsCalibrateJob *job, guint shot, WsShotSeen *seen)
{
  const WsOptics bare = WS_OPTICS_UNKNOWN;
  const WsShot *known = g_ptr_array_index (job->shots, shot);
  WsRing ring;
  if (!ws_ring_measure (image, &bare, &ring))
    return g_strdup_printf ("%s: %s", ws_retake_code (ring.trouble), ring.detail);
  if (!ring.has_hole && !isnan (known->hole_mm))
    return g_strdup ("the list tells an inner diameter, but there is no hole");
  seen->blur_px = ring.blur_px;
  seen->is_clipped = ring.is_clipped;
  add_border (&ring.outer, image, job, shot);
  if (ring.has_hole)
    add_border (&ring.inner, image, job, shot);
  return NULL;
}

static int
run (gpointer options, char **words)
{
  WsShotsOptions *given = options;
  static const WsCalibrateMethod method = {
    .name = "disc",
    .kind = WS_SHOT_DISC,
    .measure = measure,
  };
  (void)words;
  given->diameter = NAN; /* no option here */
  return ws_calibrate_by_shots (&method, given);
}

static const WsOption options[] = {
  { WS_OPTION_NUMBER, "outer", 0, G_STRUCT_OFFSET (WsShotsOptions, outer), "MM",
    "Outer diameter of the one ring or disc in all PICTUREs, in place of --shots", &ws_check_mm },
  { WS_OPTION_NUMBER, "inner", 0, G_STRUCT_OFFSET (WsShotsOptions, inner), "MM",
    "Its inner diameter", &ws_check_mm },
  { WS_OPTION_FILE, "shots", 's', G_STRUCT_OFFSET (WsShotsOptions, shots), "LIST.csv",
    "List with the columns file, outer_mm, inner_mm, u_mm", NULL },
  WS_OPTIONS_END
};

const WsCommand ws_calibrate_disc = {
  .name = "disc",
  .summary = "by rings or discs seen face-on",
  .about =
    "Finds a camera's scale from pictures of rings or discs, back-lit, seen face-on and whole.",
  .notes = ws_shots_notes,
  .groups = { { options, 0 }, { ws_shots_options, 0 } },
  .size = sizeof (WsShotsOptions),
  .run = run,
};
