#include "cli/verify.h"

#include <math.h>

#include "optics/pin.h"
#include "optics/ring.h"

#define COVERAGE_FACTOR 2.0 /* JCGM 100:2008, 6.3.3: about 95 % */

static void
add (GPtrArray *checks, const char *run, const char *quantity, double value, double u,
     double reference, double u_reference)
{
  if (!isnan (reference))
    g_ptr_array_add (checks, ws_check_new (run, quantity, value, COVERAGE_FACTOR * u, reference,
                                           COVERAGE_FACTOR * u_reference));
}

static gboolean
fail (WsRetake trouble, const char *seen, WsRetake *reason, char **detail)
{
  *reason = trouble;
  *detail = g_strdup (seen);
  return FALSE;
}

static gboolean
measure_pin (const WsShot *shot, const WsImage *image, const WsOptics *optics, const char *run,
             GPtrArray *checks, WsRetake *reason, char **detail)
{
  WsPin pin;
  double u;
  if (!ws_pin_measure (image, optics, &pin))
    return fail (pin.trouble, pin.detail, reason, detail);
  const double diameter = ws_pin_diameter_mm (&pin, optics, &u);
  add (checks, run, "diameter_mm", diameter, u, shot->size_mm, shot->u_mm);
  return TRUE;
}

static gboolean
measure_disc (const WsShot *shot, const WsImage *image, const WsOptics *optics, const char *run,
              GPtrArray *checks, WsRetake *reason, char **detail)
{
  WsRing ring;
  double u;
  if (!ws_ring_measure (image, optics, &ring))
    return fail (ring.trouble, ring.detail, reason, detail);
  if (!isnan (shot->hole_mm) && !ring.has_hole)
    return fail (WS_RETAKE_WRONG_VIEW, "a disc without a hole", reason, detail);
  const double outer = ws_ring_diameter_mm (&ring.outer, optics, &u);
  add (checks, run, "outer_mm", outer, u, shot->size_mm, shot->u_mm);
  if (isnan (shot->hole_mm))
    return TRUE;
  const double inner = ws_ring_diameter_mm (&ring.inner, optics, &u);
  add (checks, run, "inner_mm", inner, u, shot->hole_mm, shot->u_mm);
  return TRUE;
}

gboolean
ws_verify_measure (const WsShot *shot, const WsImage *image, const WsOptics *optics,
                   const char *run, GPtrArray *checks, WsRetake *reason, char **detail)
{
  return shot->kind == WS_SHOT_PIN
           ? measure_pin (shot, image, optics, run, checks, reason, detail)
           : measure_disc (shot, image, optics, run, checks, reason, detail);
}
