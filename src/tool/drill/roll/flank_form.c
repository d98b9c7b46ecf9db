#include "tool/drill/roll/flank_form.h"

#include <math.h>

/* Powers of the distance behind the lip, and of the place along it. */
static const guint power[WS_FLANK_N][2] = { { 1, 0 }, { 1, 1 }, { 1, 2 }, { 2, 0 }, { 2, 1 },
                                            { 2, 2 }, { 3, 0 }, { 3, 1 }, { 4, 0 } };

/* How far the lip's curve lies behind the axis, and its slope. */
static double
behind_at (const double *lip, double x, double *slope)
{
  const double s = x - WS_LIP_MIDDLE;
  if (slope != NULL)
    *slope = lip[WS_LIP_BEHIND_SLOPE] + 2 * lip[WS_LIP_BEHIND_BOW] * s;
  return lip[WS_LIP_BEHIND] + lip[WS_LIP_BEHIND_SLOPE] * s + lip[WS_LIP_BEHIND_BOW] * s * s;
}

void
wsi_flank_terms (const WsFlankForm *form, guint k, double x, double y, double terms[WS_FLANK_N])
{
  const double q = behind_at (&form->lips[k * WS_LIP_N], x, NULL) - y, s = x - WS_LIP_MIDDLE;
  const double of_q[] = { 1, q, q * q, q * q * q, q * q * q * q }, of_s[] = { 1, s, s * s };
  for (guint i = 0; i < WS_FLANK_N; i++)
    terms[i] = of_q[power[i][0]] * of_s[power[i][1]];
}

double
wsi_flank_height (const WsFlankForm *form, guint k, double x, double y)
{
  double terms[WS_FLANK_N], height = wsi_lip_height (form->lips, k, x);
  wsi_flank_terms (form, k, x, y, terms);
  for (guint i = 0; i < WS_FLANK_N; i++)
    height -= form->fall[k][i] * terms[i];
  return height;
}

/* ---- What is seen ------------------------------------------------------------------------ */

/* Steps behind the lip in which the highest point is sought, how far, and how finely. */
#define STEP 0.04
#define FARTHEST 1.2
#define HALVINGS 3

typedef struct
{
  const WsFlankForm *form;
  const WsLipSeen *seen;
  guint k;
  double across, lean;
} Sight;

/* Height at which a place on the line of sight is seen. */
static double
seen_height (const Sight *sight, double depth)
{
  const double x = sight->across * sight->seen->c + depth * sight->seen->s;
  const double y = -sight->across * sight->seen->s + depth * sight->seen->c;
  return wsi_flank_height (sight->form, sight->k, x, y) + sight->lean * depth;
}

/* The top of the parabola through three heights, a step apart, from the middle one on. */
static double
top_of (double before, double middle, double after)
{
  const double bend = before - 2 * middle + after;
  return bend < 0 ? CLAMP (0.5 * (before - after) / bend, -1, 1) : 0;
}

WsFlankContact
wsi_flank_contact (const WsFlankForm *form, guint k, const WsLipSeen *seen, double lean,
                   double across)
{
  const double *lip = &form->lips[k * WS_LIP_N];
  const Sight sight = { form, seen, k, across, lean };
  const double at = wsi_lip_x_at (lip, seen, across);
  const double first = at * seen->s + behind_at (lip, at, NULL) * seen->c;
  double depth = first, step = STEP, middle = seen_height (&sight, first);
  while (first - depth < FARTHEST)
  {
    const double on = seen_height (&sight, depth - step);
    if (on <= middle)
      break;
    middle = on;
    depth -= step;
  }
  WsFlankContact contact = { .found = first - depth < FARTHEST };
  for (guint i = 0; i < HALVINGS; i++)
  {
    depth += step * top_of (seen_height (&sight, depth - step), seen_height (&sight, depth),
                            seen_height (&sight, depth + step));
    step *= 0.25;
  }
  depth = MIN (depth, first);
  contact.x = across * seen->c + depth * seen->s;
  contact.y = -across * seen->s + depth * seen->c;
  contact.z = seen_height (&sight, depth);
  contact.behind = behind_at (lip, contact.x, NULL) - contact.y;
  return contact;
}

/* ---- What follows ------------------------------------------------------------------------- */

double
wsi_flank_relief (const WsFlankForm *form, guint k, double radius)
{
  const double *lip = &form->lips[k * WS_LIP_N];
  const double y0 = behind_at (lip, radius, NULL);
  double x = sqrt (MAX (radius * radius - y0 * y0, 0));
  for (guint i = 0; i < 4; i++)
  {
    const double y = behind_at (lip, x, NULL);
    x = sqrt (MAX (radius * radius - y * y, 0));
  }
  const double y = behind_at (lip, x, NULL), by = 1e-4 * radius;
  /* Clockwise, as the point is seen; the form goes on before the lip. */
  const double forth = wsi_flank_height (form, k, x + by * y / radius, y - by * x / radius);
  const double back = wsi_flank_height (form, k, x - by * y / radius, y + by * x / radius);
  return atan ((back - forth) / (2 * by));
}

/* Where lip k ends at the other flank; NAN when it doesn't. */
static double
inner_end (const WsFlankForm *form, guint k)
{
  const double *lip = &form->lips[k * WS_LIP_N];
  double low = 0, high = 0.5;
  for (guint i = 0; i < 50; i++)
  {
    const double x = 0.5 * (low + high), y = behind_at (lip, x, NULL);
    if (wsi_flank_height (form, 1 - k, -x, -y) < wsi_lip_height (form->lips, k, x))
      low = x;
    else
      high = x;
  }
  return low > 0 && high < 0.49 ? high : (double)NAN;
}

WsPoint
wsi_flank_chisel_end (const WsFlankForm *form, guint k)
{
  const double x = inner_end (form, 1 - k);
  return wsi_point (-x, -behind_at (&form->lips[(1 - k) * WS_LIP_N], x, NULL));
}

double
wsi_flank_chisel_angle (const WsFlankForm *form)
{
  double along = 0, across = 0, mean = 0;
  for (guint k = 0; k < 2; k++)
  {
    const double *lip = &form->lips[k * WS_LIP_N], x = inner_end (form, k);
    along += x;
    across += behind_at (lip, x, NULL);
    mean += 0.5 * atan (lip[WS_LIP_BEHIND_SLOPE]);
  }
  return G_PI - (atan2 (across, along) - mean);
}
