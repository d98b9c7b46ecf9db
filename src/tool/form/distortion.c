#include "tool/form/distortion.h"

#include <math.h>

#include "base/geometry.h"
#include "tool/form/warp.h"

/* Shift, turn, size, and what grows with the square of the distance from the picture's middle. */
#define N_TERMS 5
#define RADIAL 4

/* Each segment holds a place and a direction: of five there are five more than there are terms,
 * which no grinder's fault meets by chance. */
#define LEAST_SEGMENTS 5

/* So much nearer must the outline come, root mean square, than as it was fitted, and than with
 * another size.  Rendered distortions of 0.4 to 2 per cent leave 0.09 to 0.5 of the former and 0.2
 * to 0.7 of the latter; segments ground wrongly leave 0.6 and more of either, or they ask for a
 * lens that nobody measures with (own trials). */
#define FAR_BETTER 0.6
#define BETTER 0.75
#define MOST_DISTORTION 0.03

/* Standard uncertainties of the distortion. */
#define SURE 5.0

typedef struct
{
  WsPoint pivot, middle;
  double corner; /* distance of the picture's corner from its middle, px */
} Frame;

static void
row_of (const WsFormPoint *p, const void *in_frame, double row[WS_FORM_WARP_MAX])
{
  const Frame *frame = in_frame;
  const WsPoint r = wsi_point_sub (p->foot, frame->pivot), n = p->normal;
  const WsPoint d = wsi_point_sub (p->at, frame->middle);
  const WsPoint q = wsi_point (d.x / frame->corner, d.y / frame->corner);
  row[0] = n.x;
  row[1] = n.y;
  row[2] = wsi_point_cross (r, n) / frame->corner;
  row[3] = wsi_point_dot (r, n) / frame->corner;
  row[RADIAL] = wsi_point_dot (q, q) * wsi_point_dot (q, n);
}

double
wsi_form_distortion (const WsFormFit *fit, guint width, guint height)
{
  const double w = width - 1.0, h = height - 1.0;
  const Frame frame = { fit->pivot, wsi_point (0.5 * w, 0.5 * h), 0.5 * hypot (w, h) };
  const WsFormWarp sized = { row_of, &frame, RADIAL }, bent = { row_of, &frame, N_TERMS };
  WsFormWarped without, with;
  if (wsi_form_warp_segments (fit) < LEAST_SEGMENTS || !wsi_form_warp_fit (fit, &sized, &without) ||
      !wsi_form_warp_fit (fit, &bent, &with))
    return 0;
  const double radial = with.terms[RADIAL], by = radial / frame.corner;
  const gboolean is_better = with.rms < FAR_BETTER * fit->rms && with.rms < BETTER * without.rms;
  return is_better && fabs (by) < MOST_DISTORTION && fabs (radial) > SURE * with.u_last ? by : 0;
}
