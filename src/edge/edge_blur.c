#include "edge/edge_blur.h"

#include <math.h>

#include "maths/stats.h"

/* About so many points have their blur fitted too. */
#define BLUR_POINTS 300

/* And so many for its first guess. */
#define ROUGH_POINTS 60

#define SECTORS 8

/* A window that is made for so much less blur shows a part of an edge, and none is wider, px. */
#define PART_OF_EDGE 1.5
#define WIDEST_BLUR 14.0

/* The share of the step that lies between neighbouring pixels at the crack, widened until the
 * window holds the whole edge. */
double
wsi_edge_blur_rough (const WsScanFitter *fitter, const GArray *cracks)
{
  const guint stride = MAX (1, cracks->len / ROUGH_POINTS);
  double found[2 * ROUGH_POINTS];
  guint n = 0;
  for (guint first = 0; first < cracks->len && n < G_N_ELEMENTS (found); first += stride)
  {
    guint i;
    if (!wsi_boundary_find_crossing (fitter->image, cracks, first, stride, &i))
      continue;
    const WsCrack *c = &g_array_index (cracks, WsCrack, i);
    const WsPoint normal = wsi_boundary_normal (cracks, i);
    for (double blur = 1.5; blur < WIDEST_BLUR; blur *= 2)
    {
      WsProfile p;
      if (!wsi_scan_fit (fitter, c, blur, TRUE, &p) || p.blur > PART_OF_EDGE * blur)
        continue;
      found[n++] = p.blur * wsi_crack_cosine (c, normal);
      break;
    }
  }
  return n >= 8 ? wsi_median (found, n) : 0;
}

/* Each stretch of cracks gives one at most, and there are less than twice BLUR_POINTS. */
typedef struct
{
  double values[2 * BLUR_POINTS];
  guint n;
} Blurs;

static void
add_blur (Blurs *blurs, double blur)
{
  if (blurs->n < G_N_ELEMENTS (blurs->values))
    blurs->values[blurs->n++] = blur;
}

/* Too few points tell nothing: a corner, a speck. */
#define LEAST_BLURS 8

/* Of one direction of the normal. */
typedef struct
{
  Blurs seen;
  Blurs wide; /* of edges that are no step, or a part of one, to a window as for others */
  guint tried;
} Sector;

/* By windows that are wider and wider, the most of it: narrow ones may show one end of a ramp.  NAN
 * where none shows a step. */
static double
wide_blur (const WsScanFitter *fitter, const WsCrack *c, double blur)
{
  double found = NAN;
  for (double wide = 2 * blur; wide < WIDEST_BLUR; wide *= 2)
  {
    WsProfile p;
    if (wsi_scan_fit (fitter, c, wide, TRUE, &p) && p.blur <= wide)
      found = isfinite (found) ? MAX (found, p.blur) : p.blur;
  }
  return found;
}

static void
add_wide_blur (const WsScanFitter *fitter, const WsCrack *c, double blur, double cosine,
               Sector *sector)
{
  const double wide = wide_blur (fitter, c, blur);
  if (isfinite (wide))
    add_blur (&sector->wide, wide * cosine);
}

/* Motion spreads all edges of one direction alike; a pattern's are as wide as it happens. */
#define ALIKE 1.6

static gboolean
are_alike (Blurs *blurs)
{
  return wsi_quantile (blurs->values, blurs->n, 0.75) <
         ALIKE * wsi_quantile (blurs->values, blurs->n, 0.25);
}

/* 0: too little is known. */
static double
sector_blur (Sector *sector)
{
  const guint n = sector->wide.n;
  if (n >= LEAST_BLURS && 2 * n > sector->tried && are_alike (&sector->wide))
    return wsi_median (sector->wide.values, n);
  return sector->seen.n >= LEAST_BLURS ? wsi_median (sector->seen.values, sector->seen.n) : 0;
}

WsEdgeBlur
wsi_edge_blur_measure (const WsScanFitter *fitter, const GArray *cracks, double rough)
{
  Blurs all = { .n = 0 };
  Sector sectors[SECTORS];
  for (guint k = 0; k < SECTORS; k++)
    sectors[k].seen.n = sectors[k].wide.n = sectors[k].tried = 0;
  const guint stride = MAX (1, cracks->len / BLUR_POINTS);
  for (guint first = 0; first < cracks->len; first += stride)
  {
    guint i;
    if (!wsi_boundary_find_crossing (fitter->image, cracks, first, stride, &i))
      continue;
    const WsCrack *c = &g_array_index (cracks, WsCrack, i);
    const WsPoint normal = wsi_boundary_normal (cracks, i);
    const double cosine = wsi_crack_cosine (c, normal), along = rough / cosine;
    const double turn = atan2 (normal.y, normal.x) / G_PI + 1;
    Sector *sector = &sectors[(guint)(turn * SECTORS) % SECTORS];
    WsProfile p;
    const gboolean fits = wsi_scan_fit (fitter, c, along, TRUE, &p);
    sector->tried++;
    if (!fits || p.blur > PART_OF_EDGE * along)
      add_wide_blur (fitter, c, along, cosine, sector);
    if (!fits)
      continue;
    add_blur (&all, p.blur * cosine);
    add_blur (&sector->seen, p.blur * cosine);
  }

  const double median = all.n > 0 ? wsi_median (all.values, all.n) : rough;
  WsEdgeBlur found = { median, median, median };
  for (guint k = 0; k < SECTORS; k++)
  {
    const double blur = sector_blur (&sectors[k]);
    if (!(blur > 0))
      continue;
    found.least = MIN (found.least, blur);
    found.most = MAX (found.most, blur);
  }
  return found;
}
