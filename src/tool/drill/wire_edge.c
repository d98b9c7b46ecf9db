#include "tool/drill/wire_edge.h"

#include "base/geometry.h"

/* What stands off the line by less, in standard deviations of a point, is noise; px. */
#define STANDS_OFF 5.0
#define LEAST_PX 0.3

/* Of that, where it ends. */
#define ENDS 0.4

/* Beyond the range of the lip's line, radii: nearer to the corner it hides wear, and nearer to the
 * axis the chisel edge's end. */
#define CORNER_FROM 0.92

/* A lip bends more beyond the range: of its bow. */
#define BENDS 3.0

typedef struct
{
  double u, off; /* from the axis, above the line */
  WsPoint at;
} Place;

static int
by_u (gconstpointer a, gconstpointer b)
{
  const double ua = ((const Place *)a)->u, ub = ((const Place *)b)->u;
  return (ua > ub) - (ua < ub);
}

/* From the axis to a little beyond the corner, means of three neighbours. */
static GArray *
read_places (const WsWireSight *sight, const WsDrillLip *lip)
{
  const WsEdgePoint *points = (const WsEdgePoint *)(void *)sight->outline->points->data;
  const double outward = wsi_line_distance (&lip->line, wsi_point (0, 1e6)) > 0 ? 1 : -1;
  g_autoptr (GArray) places = g_array_new (FALSE, FALSE, sizeof (Place));
  for (guint i = 0; i < sight->outline->points->len; i++)
  {
    const WsPoint p = sight->uz[i];
    const double u = p.x * lip->side;
    if (points[i].on_frame || u < 0 || u > 1.15 * sight->radius ||
        p.y < lip->corner.y - 0.05 * sight->radius)
      continue;
    const Place place = { u, outward * wsi_line_distance (&lip->line, p), p };
    g_array_append_val (places, place);
  }
  g_array_sort (places, by_u);
  GArray *smooth = g_array_new (FALSE, FALSE, sizeof (Place));
  for (guint i = 1; i + 1 < places->len; i++)
  {
    const Place *p = &g_array_index (places, Place, i);
    const Place mean = { p->u, (p[-1].off + p->off + p[1].off) / 3, p->at };
    g_array_append_val (smooth, mean);
  }
  return smooth;
}

/* From the axis outward a chisel edge comes up to its lip line: where it falls away from it by
 * more, px, something is on the tip, or broken out beside it.  Light from the
 * front does as much. */
#define VALLEY_PX 1.0
#define VALLEY_LIT_PX 4.0

static gboolean
has_valley (const WsWireSight *sight, const GArray *places, double sigma)
{
  const double least = sight->outline->front_lit ? VALLEY_LIT_PX : VALLEY_PX;
  double nearest = HUGE_VAL;
  for (guint i = 0; i < places->len; i++)
  {
    const Place *p = &g_array_index (places, Place, i);
    if (p->u > WS_LIP_FROM * sight->radius)
      return FALSE;
    nearest = MIN (nearest, -p->off);
    if (-p->off - nearest > MAX (least, STANDS_OFF * sigma))
      return TRUE;
  }
  return FALSE;
}

WsWireEdge
wsi_wire_edge_find (const WsWireSight *sight, const WsDrillLip *lip)
{
  const double R = sight->radius;
  const double noise = sight->outline->noise * sqrt (2 * sqrt (G_PI) * sight->outline->blur_px);
  const double sigma = MAX (noise, lip->line.scatter);
  const double least = MAX (LEAST_PX, STANDS_OFF * sigma) + BENDS * fabs (lip->line.bow);
  g_autoptr (GArray) places = read_places (sight, lip);
  WsWireEdge wire = { .least = least, .from = HUGE_VAL, .to = 0, .foremost = -HUGE_VAL };
  for (guint i = 0; i < places->len; i++)
  {
    const Place *p = (const Place *)(void *)places->data;
    if (p[i].off < least)
      continue;
    guint from = i, to = i;
    while (from > 0 && p[from - 1].off > ENDS * least)
      from--;
    while (to + 1 < places->len && p[to + 1].off > ENDS * least)
      to++;
    for (guint m = from; m <= to; m++)
    {
      wire.foremost = MAX (wire.foremost, p[m].at.y);
      if (p[m].off > wire.height)
      {
        wire.height = p[m].off;
        wire.where = p[m].at;
      }
    }
    wire.from = MIN (wire.from, p[from].u / R);
    wire.to = MAX (wire.to, p[to].u / R);
    wire.at_corner = wire.at_corner || p[to].u > CORNER_FROM * R;
    wire.at_tip = wire.at_tip || p[from].u < sight->tip_to;
    i = to;
  }
  wire.on_tip = has_valley (sight, places, sigma);
  return wire;
}
