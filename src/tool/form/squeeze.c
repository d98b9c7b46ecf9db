#include "tool/form/squeeze.h"

#include <math.h>

#include "base/geometry.h"
#include "tool/form/warp.h"

/* Shift, turn, size, and the two ways a square becomes a rhomb or an oblong: how an affine map
 * moves a point along the profile's normal. */
#define N_TERMS 6

/* Each segment holds a place and a direction: of five there are four more than the map has terms,
 * which no grinder's fault meets by chance. */
#define LEAST_SEGMENTS 5

/* So much nearer must the outline come, root mean square, and by so much at least. */
#define FAR_BETTER 0.3
#define LEAST_SQUEEZE 0.003

/* Less than this is no reason to look for one, px. */
#define LEAST_RMS_PX 0.1

static void
row_of (const WsFormPoint *p, const void *pivot, double row[WS_FORM_WARP_MAX])
{
  const WsPoint r = wsi_point_sub (p->foot, *(const WsPoint *)pivot), n = p->normal;
  row[0] = n.x;
  row[1] = n.y;
  row[2] = wsi_point_cross (r, n);
  row[3] = wsi_point_dot (r, n);
  row[4] = r.x * n.x - r.y * n.y;
  row[5] = r.x * n.y + r.y * n.x;
}

double
wsi_form_squeeze (const WsFormFit *fit)
{
  const WsFormWarp affine = { row_of, &fit->pivot, N_TERMS };
  WsFormWarped warped;
  if (!(fit->rms > LEAST_RMS_PX) || wsi_form_warp_segments (fit) < LEAST_SEGMENTS ||
      !wsi_form_warp_fit (fit, &affine, &warped))
    return 0;
  const double by = 2 * hypot (warped.terms[4], warped.terms[5]);
  return warped.rms < FAR_BETTER * fit->rms && by > LEAST_SQUEEZE ? by : 0;
}
