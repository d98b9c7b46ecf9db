#include "edge/scan.h"

#include "image/light.h"

#include <math.h>
#include <stdlib.h>

/* Window half-length in blurs; beyond it samples only tell the levels. */
#define WINDOW_BLURS 4.5

/* Of a blur that is so many times as much as was thought the window shows a part; and of more than
 * this, px, it would be longer than scan lines are. */
#define WINDOW_GROWS 1.5
#define WIDEST_BLUR 14.0

/* The ground's slope is seen from so many blurs off the edge, over so many pixels or blurs: what it
 * moves grows with the blur's square, and codes round what is seen over few pixels. */
#define SLOPE_BLURS 2.5
#define SLOPE_PX 8
#define SLOPE_OVER_BLURS 2.6

/* The same into a front-lit tool, whose levels vary. */
#define INSIDE_BLURS 1.5

/* And where that is no step: a dark line along a bright margin. */
#define INSIDE_BLURS_SHORT 0.8

/* A front-lit edge is sound where tool and ground differ by this part of the brighter one, and the
 * scan line is a step but for this part of it; own trials. */
#define MIN_STEP 0.08
#define MAX_MISFIT 0.2

/* This is a step at first sight. */
#define CLEAR_STEP 0.2

/* The mask is this good, px. */
#define MASK_REACH 4

typedef struct
{
  float samples[WS_PROFILE_MAX_SAMPLES];
  guint n;
  guint middle; /* index of the tool pixel of the crack */
} Scan;

/* Pixels from `inside` px within the tool to `outside` px beyond it along the crack's direction,
 * cut short at the picture's border. */
static void
read_scan (const WsImage *image, const WsCrack *c, guint inside, guint outside, Scan *scan)
{
  const int w = (int)image->width, h = (int)image->height;
  scan->n = 0;
  if (c->x < 0 || c->y < 0 || c->x >= w || c->y >= h)
    return;
  const int at = c->dx != 0 ? c->x : c->y, last = (c->dx != 0 ? w : h) - 1;
  const gboolean upward = c->dx + c->dy > 0;
  const int before = MIN ((int)inside, upward ? at : last - at);
  const int after = MIN ((int)outside + 1, upward ? last - at : at);
  for (int k = -before; k <= after; k++)
    scan->samples[scan->n++] =
      (float)wsi_image_light_at (image, (guint)(c->x + k * c->dx), (guint)(c->y + k * c->dy)) /
      WS_IMAGE_FULL_SCALE;
  scan->middle = (guint)before;
}

void
wsi_scan_fitter_init (WsScanFitter *fitter, const WsImage *image, gboolean levels_vary)
{
  fitter->image = image;
  fitter->levels_vary = levels_vary;
  wsi_step_table_fill (&fitter->table);
}

/* Of a window, in blurs. */
typedef struct
{
  double inside, outside;
} Reach;

/* Fits the scan across crack `c`; `blur` is along the scan line. */
static gboolean
fit_reach (const WsScanFitter *fitter, const WsCrack *c, Reach reach, double blur,
           gboolean fit_blur, WsProfile *profile)
{
  Scan scan;
  const guint most = (WS_PROFILE_MAX_SAMPLES - 2) / 2;
  read_scan (fitter->image, c, MIN ((guint)ceil (reach.inside * blur) + 2, most),
             MIN ((guint)ceil (reach.outside * blur) + 2, most), &scan);
  if (scan.n < 6)
    return FALSE;
  const double low = (double)scan.samples[0], high = (double)scan.samples[scan.n - 1];
  *profile = (WsProfile){ scan.middle + 0.5, blur, low, high - low, 0 };
  if (!wsi_profile_fit (&fitter->table, scan.samples, scan.n, fit_blur, profile))
    return FALSE;
  profile->place -= scan.middle;
  return TRUE;
}

gboolean
wsi_scan_fit (const WsScanFitter *fitter, const WsCrack *c, double blur, gboolean fit_blur,
              WsProfile *profile)
{
  const Reach reach = { fitter->levels_vary ? INSIDE_BLURS : WINDOW_BLURS, WINDOW_BLURS };
  return fit_reach (fitter, c, reach, blur, fit_blur, profile);
}

double
wsi_scan_blur (const WsScanFitter *fitter, const WsCrack *c, double blur)
{
  WsProfile profile;
  double found = NAN;
  gboolean is_wider = TRUE;
  while (is_wider && wsi_scan_fit (fitter, c, blur, TRUE, &profile))
  {
    found = isfinite (found) ? MAX (found, profile.blur) : profile.blur;
    is_wider = profile.blur > WINDOW_GROWS * blur && 2 * blur < WIDEST_BLUR;
    blur *= 2;
  }
  return found;
}

/* A front-lit edge, looked for about the mask's border, and again where it was found: the window
 * inside is short. */
static gboolean
fit_within (const WsScanFitter *fitter, const WsCrack *c, double inside, double blur,
            WsProfile *profile)
{
  const Reach reach = { inside, WINDOW_BLURS };
  WsCrack at = *c;
  int moved = 0;
  for (guint round = 0; round < 3; round++)
  {
    if (!fit_reach (fitter, &at, reach, blur, FALSE, profile))
      return FALSE;
    const int shift = (int)floor (profile->place);
    if (shift == 0)
      break;
    moved += shift;
    if (abs (moved) > MASK_REACH)
      return FALSE;
    at.x += shift * c->dx;
    at.y += shift * c->dy;
    profile->place -= shift;
  }
  profile->place += moved;
  const double brighter = MAX (profile->low, profile->low + profile->step);
  return fabs (profile->step) > MIN_STEP * brighter &&
         profile->rms < MAX_MISFIT * fabs (profile->step);
}

/* The boundary between pixels, where narrow notches blur into no step, if a step there is. */
static gboolean
is_step (const WsImage *image, const WsCrack *c)
{
  Scan scan;
  read_scan (image, c, 2, 2, &scan);
  if (scan.n < 6)
    return FALSE;
  const float inside = (scan.samples[0] + scan.samples[1]) / 2;
  const float outside = (scan.samples[scan.n - 1] + scan.samples[scan.n - 2]) / 2;
  return fabs ((double)(outside - inside)) > CLEAR_STEP * (double)MAX (outside, inside);
}

static gboolean
fit_uneven (const WsScanFitter *fitter, const WsCrack *c, double blur, WsProfile *profile)
{
  if (fit_within (fitter, c, INSIDE_BLURS, blur, profile) ||
      fit_within (fitter, c, INSIDE_BLURS_SHORT, blur, profile))
    return TRUE;
  *profile = (WsProfile){ .place = 0.5, .step = 1, .rms = 1 };
  return is_step (fitter->image, c);
}

gboolean
wsi_scan_fit_point (const WsScanFitter *fitter, const WsCrack *c, double blur, WsProfile *profile)
{
  if (fitter->levels_vary)
    return fit_uneven (fitter, c, blur, profile);
  /* A narrow notch is no blurred step; its boundary between pixels still tells its depth. */
  if (!wsi_scan_fit (fitter, c, blur, FALSE, profile))
    *profile = (WsProfile){ .place = 0.5, .step = 1, .rms = 1 };
  return TRUE;
}

double
wsi_scan_ground_slope (const WsScanFitter *fitter, const WsCrack *c, double blur)
{
  Scan scan;
  const guint near = (guint)ceil (SLOPE_BLURS * blur) + 1;
  const guint over = MAX (SLOPE_PX, (guint)ceil (SLOPE_OVER_BLURS * blur));
  if (near + over + 1 > WS_PROFILE_MAX_SAMPLES)
    return NAN;
  read_scan (fitter->image, c, 0, near + over - 1, &scan);
  if (scan.n != near + over + 1)
    return NAN;
  double sum = 0, moment = 0, squares = 0;
  for (guint i = 0; i < over; i++)
  {
    const double t = i - 0.5 * (over - 1), light = (double)scan.samples[near + i];
    sum += light;
    moment += t * light;
    squares += t * t;
  }
  return sum > 0 ? moment / squares / (sum / over) : NAN;
}

gboolean
wsi_scan_fit_level (const WsScanFitter *fitter, const WsCrack *c, double blur, double slope,
                    WsProfile *profile)
{
  Scan scan;
  const guint most = (WS_PROFILE_MAX_SAMPLES - 2) / 2;
  const guint reach = MIN ((guint)ceil (WINDOW_BLURS * blur) + 2, most);
  read_scan (fitter->image, c, reach, reach, &scan);
  if (scan.n < 6)
    return FALSE;
  for (guint i = 0; i < scan.n; i++)
    scan.samples[i] /= (float)(1 + slope * ((double)i - scan.middle - 0.5));
  const double low = (double)scan.samples[0], high = (double)scan.samples[scan.n - 1];
  *profile = (WsProfile){ scan.middle + 0.5, blur, low, high - low, 0 };
  if (!wsi_profile_fit (&fitter->table, scan.samples, scan.n, FALSE, profile))
    return FALSE;
  profile->place -= scan.middle;
  return TRUE;
}

double
wsi_scan_weighed_move (const WsScanFitter *fitter, const WsCrack *c, double blur, double share)
{
  Scan scan;
  const guint most = (WS_PROFILE_MAX_SAMPLES - 2) / 2;
  const guint reach = MIN ((guint)ceil (WINDOW_BLURS * blur) + 2, most);
  read_scan (fitter->image, c, reach, reach, &scan);
  if (scan.n < 6)
    return 0;
  const double low = (double)scan.samples[0], high = (double)scan.samples[scan.n - 1];
  WsProfile profile = { scan.middle + 0.5, blur, low, high - low, 0 };
  if (!wsi_profile_fit (&fitter->table, scan.samples, scan.n, FALSE, &profile))
    return 0;
  const double place = profile.place;
  return wsi_profile_weigh (&fitter->table, scan.samples, scan.n, share, &profile)
           ? profile.place - place
           : 0;
}
