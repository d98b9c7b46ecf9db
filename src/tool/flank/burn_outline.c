#include "tool/flank/burn_outline.h"

#include "base/geometry.h"
#include "image/light.h"
#include "maths/stats.h"
#include "result/build.h"

#include <string.h>

static const WsQuantityInfo infos[WS_BURN_N] = { WS_BURN_QUANTITIES };

#define MAX_EDGES 2

/* Linear light of a tool that is not a mere silhouette; own choice, no source: stray light on tools
 * before a bright panel stays below. */
#define LEAST_LIGHT 0.04

/* The outline's own blur mixes steel with ground: columns begin so far inside, px and blurs. */
#define INSET_PX 1.0
#define INSET_BLURS 1.5
#define INSIDE_INSET_PX 3.0

/* Normals are means over so many points on either side. */
#define NORMAL_REACH 4

/* A disc that touches the edge may be cut by the outline's noise this much, px, and by what is
 * nearer than this. */
#define DISC_SLACK 1.0
#define DISC_NEAR 8.0

/* Of the outline's points this many are tried. */
#define DISC_STRIDE 4

/* Strips are not deeper than this part of their length, and as deep as most columns are. */
#define MAX_DEPTH_SHARE 0.45
#define DEPTH_QUANTILE 0.8
#define MAX_CELLS 4000000.0

/* Shorter edges are none. */
#define LEAST_COLUMNS 40

typedef struct
{
  const char *label;
  guint n;
  WsPoint *places, *inwards; /* n each, owned: a column a px of edge */
  double *reach;             /* n, owned: how deep the column belongs to this edge, px */
} Edge;

struct WsBurnEdges
{
  const WsImage *image;
  const WsOptics *optics;
  double inset;
  gboolean on_outline; /* the ground lies beyond the edges */
  guint n;
  Edge edges[MAX_EDGES];
};

/* ---- Is it worth a look? ---------------------------------------------------------- */

#define N_LIGHT_SAMPLES 256
#define LIGHT_DEPTH_PX 12.0

static gboolean
light_at (const WsImage *image, WsPoint at, double *light)
{
  if (!(at.x >= 0 && at.y >= 0 && at.x <= image->width - 1.0 && at.y <= image->height - 1.0))
    return FALSE;
  *light = wsi_image_light_at (image, (guint)lrint (at.x), (guint)lrint (at.y)) /
           (double)WS_IMAGE_FULL_SCALE;
  return TRUE;
}

/* Light enough for colour to show, however bright the ground: not what find/lit.h asks, since a
 * tool lit from the front before a bright ground may have less than a quarter of its light. */
static gboolean
shows_colour (const WsImage *image, const WsOptics *optics, const WsOutline *outline)
{
  double lights[N_LIGHT_SAMPLES];
  guint n = 0;
  const guint stride = MAX (outline->points->len / N_LIGHT_SAMPLES, 1);
  for (guint i = 0; i < outline->points->len && n < N_LIGHT_SAMPLES; i += stride)
  {
    const WsEdgePoint *p = &g_array_index (outline->points, WsEdgePoint, i);
    const WsPoint inside = wsi_point (p->x - LIGHT_DEPTH_PX * p->nx, p->y - LIGHT_DEPTH_PX * p->ny);
    if (!p->on_frame && light_at (image, wsi_strip_picture (optics, inside), &lights[n]))
      n++;
  }
  return n > 0 && wsi_median (lights, n) > LEAST_LIGHT;
}

WsBurnEdges *
wsi_burn_edges_new (const WsImage *image, const WsOptics *optics, const WsOutline *outline)
{
  if (!image->has_colour || (outline != NULL && !shows_colour (image, optics, outline)))
    return NULL;
  WsBurnEdges *edges = g_new0 (WsBurnEdges, 1);
  edges->image = image;
  edges->optics = optics;
  edges->on_outline = outline != NULL;
  edges->inset = outline != NULL ? INSET_PX + INSET_BLURS * outline->blur_px : INSIDE_INSET_PX;
  return edges;
}

void
wsi_burn_edges_free (WsBurnEdges *edges)
{
  if (edges == NULL)
    return;
  for (guint i = 0; i < edges->n; i++)
  {
    g_free (edges->edges[i].places);
    g_free (edges->edges[i].inwards);
    g_free (edges->edges[i].reach);
  }
  g_free (edges);
}

/* ---- Laying out ------------------------------------------------------------------- */

static const WsEdgePoint *
point_at (const WsOutline *outline, guint i)
{
  return &g_array_index (outline->points, WsEdgePoint, i % outline->points->len);
}

static WsPoint
inward_at (const WsOutline *outline, guint i)
{
  WsPoint sum = { 0, 0 };
  for (guint k = 0; k <= 2 * NORMAL_REACH; k++)
  {
    const WsEdgePoint *p = point_at (outline, i + outline->points->len + k - NORMAL_REACH);
    if (!p->on_frame)
      sum = wsi_point (sum.x - p->nx, sum.y - p->ny);
  }
  const double length = wsi_point_length (sum);
  return length > 0 ? wsi_point (sum.x / length, sum.y / length) : wsi_point (0, 0);
}

/* Radius of the greatest disc inside the tool that touches the edge there: deeper places lie nearer
 * to another part of the outline. */
static double
disc_radius (const WsOutline *outline, WsPoint place, WsPoint inward)
{
  double least = HUGE_VAL;
  for (guint i = 0; i < outline->points->len; i += DISC_STRIDE)
  {
    const WsEdgePoint *q = point_at (outline, i);
    const WsPoint off = wsi_point (q->x - place.x, q->y - place.y);
    const double square = wsi_point_dot (off, off),
                 ahead = wsi_point_dot (off, inward) - DISC_SLACK;
    if (ahead > 0 && square > DISC_NEAR * DISC_NEAR && square < 2 * ahead * least)
      least = square / (2 * ahead);
  }
  return least;
}

static void
add_column (const WsBurnEdges *edges, const WsOutline *outline, guint i, WsPoint place, Edge *edge)
{
  const WsPoint inward = inward_at (outline, i);
  edge->places[edge->n] = wsi_point_along (place, edges->inset, inward);
  edge->inwards[edge->n] = inward;
  edge->reach[edge->n] = disc_radius (outline, place, inward) - edges->inset;
  edge->n++;
}

void
wsi_burn_edges_add (WsBurnEdges *edges, const WsOutline *outline, const char *label, guint from,
                    guint n)
{
  if (edges == NULL || edges->n == MAX_EDGES || n < LEAST_COLUMNS)
    return;
  Edge *edge = &edges->edges[edges->n];
  const gsize most = (gsize)ceil (3 * n * MAX (outline->spacing_px, 1)) + 1;
  *edge = (Edge){ .label = label,
                  .places = g_new (WsPoint, most),
                  .inwards = g_new (WsPoint, most),
                  .reach = g_new (double, most) };
  double left = 0; /* to the next column */
  for (guint i = from; i + 1 < from + n; i++)
  {
    const WsEdgePoint *p = point_at (outline, i), *q = point_at (outline, i + 1);
    const WsPoint run = wsi_point (q->x - p->x, q->y - p->y);
    const double length = wsi_point_length (run);
    for (; left < length && edge->n < most; left += 1)
      add_column (edges, outline, i, wsi_point_along (wsi_point (p->x, p->y), left / length, run),
                  edge);
    left -= length;
  }
  if (edge->n >= LEAST_COLUMNS)
  {
    edges->n++;
    return;
  }
  g_free (edge->places);
  g_free (edge->inwards);
  g_free (edge->reach);
}

void
wsi_burn_edges_add_columns (WsBurnEdges *edges, const WsPoint *places, const WsPoint *inwards,
                            guint n, double depth)
{
  if (edges == NULL || edges->n == MAX_EDGES || n < LEAST_COLUMNS)
    return;
  Edge *edge = &edges->edges[edges->n++];
  *edge = (Edge){ .n = n,
                  .places = g_new (WsPoint, n),
                  .inwards = g_memdup2 (inwards, n * sizeof *inwards),
                  .reach = g_new (double, n) };
  for (guint s = 0; s < n; s++)
  {
    edge->places[s] = wsi_point_along (places[s], edges->inset, inwards[s]);
    edge->reach[s] = depth - edges->inset;
  }
}

/* How many of the tool's own points follow from there. */
static guint
run_from (const WsOutline *outline, guint from)
{
  guint n = 0;
  while (n < outline->points->len && !point_at (outline, from + n)->on_frame)
    n++;
  return n;
}

void
wsi_burn_edges_add_longest (WsBurnEdges *edges, const WsOutline *outline)
{
  const guint len = outline->points->len;
  guint best = 0, longest = 0;
  if (edges == NULL || len == 0)
    return;
  for (guint i = 0; i < len; i++)
    if (point_at (outline, i + len - 1)->on_frame || i == 0)
    {
      const guint n = run_from (outline, i);
      if (n > longest)
      {
        longest = n;
        best = i;
      }
    }
  wsi_burn_edges_add (edges, outline, NULL, best, longest);
}

static WsStrip
strip_of (const Edge *edge, gboolean on_outline)
{
  g_autofree double *reach = g_new (double, edge->n);
  memcpy (reach, edge->reach, edge->n * sizeof *reach);
  const double share = on_outline ? MAX_DEPTH_SHARE * edge->n : HUGE_VAL;
  const double most = MIN (share, MAX_CELLS / edge->n);
  const double depth = MIN (wsi_quantile (reach, edge->n, DEPTH_QUANTILE), most);
  return (WsStrip){ .length = edge->n,
                    .depth = (guint)MAX (depth, 1),
                    .places = edge->places,
                    .inwards = edge->inwards };
}

static WsBand *
band_of (const Edge *edge, const WsStrip *strip, const WsSampler *sampler, const WsOptics *optics)
{
  WsBand *band = wsi_strip_sample (strip, sampler, optics, NULL, NULL);
  for (guint d = 0; d < band->depth; d++)
    for (guint s = 0; s < band->length; s++)
      if (d + 0.5 > edge->reach[s])
        wsi_band_cell (band, s, d)[0] = NAN;
  return band;
}

/* ---- The ground ------------------------------------------------------------------- */

/* Looked at between so far outside the edge, px. */
#define GROUND_FROM 12.0
#define GROUND_TO 24.0
#define GROUND_STEP 6.0

/* Chroma of places that differ from the ground as a whole, and the share of such that makes the
 * outline doubtful; own choices, no source. */
#define STRAY_CHROMA 10.0
#define STRAY_SHARE 0.03

/* Of WsLight. */
static GArray *
ground_lights (const WsBurnEdges *edges, const WsSampler *sampler)
{
  GArray *lights = g_array_new (FALSE, FALSE, sizeof (WsLight));
  for (guint i = 0; i < edges->n; i++)
    for (guint s = 0; s < edges->edges[i].n; s += DISC_STRIDE)
      for (double out = GROUND_FROM; out <= GROUND_TO; out += GROUND_STEP)
      {
        const Edge *edge = &edges->edges[i];
        const WsPoint at = wsi_point_along (edge->places[s], -out - edges->inset, edge->inwards[s]);
        WsLight light;
        if (wsi_sampler_at (sampler, wsi_strip_picture (edges->optics, at), &light))
          g_array_append_val (lights, light);
      }
  return lights;
}

static WsLight
middle_light (const GArray *lights)
{
  g_autofree double *values = g_new (double, lights->len + 1);
  double middle[3] = { 0, 0, 0 };
  for (guint c = 0; c < 3 && lights->len > 0; c++)
  {
    for (guint i = 0; i < lights->len; i++)
    {
      const WsLight light = g_array_index (lights, WsLight, i);
      values[i] = c == 0 ? light.r : c == 1 ? light.g : light.b;
    }
    middle[c] = wsi_median (values, lights->len);
  }
  return (WsLight){ middle[0], middle[1], middle[2] };
}

/* Heat that is as dark as the ground may be left outside the outline. */
static gboolean
has_stray_colour (const GArray *lights, WsLight ground)
{
  guint n = 0;
  for (guint i = 0; i < lights->len && ground.r > 0 && ground.g > 0 && ground.b > 0; i++)
  {
    const WsLight light = g_array_index (lights, WsLight, i);
    const WsLab lab =
      wsi_colour_lab ((WsLight){ light.r / ground.r, light.g / ground.g, light.b / ground.b });
    n += wsi_colour_chroma (lab) > STRAY_CHROMA;
  }
  return n > STRAY_SHARE * lights->len;
}

/* ---- Judging ---------------------------------------------------------------------- */

static gboolean
is_limited (const WsToolCard *card)
{
  for (guint i = 0; i < card->limits->len; i++)
    if (g_str_has_prefix (g_array_index (card->limits, WsLimit, i).quantity, "burn_"))
      return TRUE;
  return FALSE;
}

static WsBurnQuantities
add_quantities (const WsOptics *optics, gboolean depth_is_seen, WsResult *result)
{
  WsBurnQuantities q = { NULL, NULL, NULL };
  q.area = wsi_result_add_quantity (result, &infos[WS_BURN_AREA], optics->has_scale);
  if (depth_is_seen)
    q.depth = wsi_result_add_quantity (result, &infos[WS_BURN_DEPTH], optics->has_scale);
  q.length = wsi_result_add_quantity (result, &infos[WS_BURN_LENGTH], optics->has_scale);
  return q;
}

/* Depths are counted from the edge itself. */
static void
count_inset (WsBurn *burn, double inset)
{
  if (!burn->present)
    return;
  burn->depth += inset;
  burn->depth_seen += inset;
}

/* FALSE where all is grey: then nothing can be said of colour, as of a picture without. */
static gboolean
judge (const WsBurnEdges *edges, const WsSampler *sampler, const WsOptics *optics,
       const WsStrip *strips, WsFlank *flanks)
{
  for (guint i = 0; i < edges->n; i++)
  {
    flanks[i] = (WsFlank){ .label = edges->edges[i].label, .strip = &strips[i] };
    flanks[i].band = band_of (&edges->edges[i], &strips[i], sampler, optics);
  }
  g_autoptr (GArray) lights = ground_lights (edges, sampler);
  const WsLight ground = middle_light (lights);
  const gboolean stray = edges->on_outline && has_stray_colour (lights, ground);
  wsi_flanks_judge_colour (flanks, edges->n, sampler->image, edges->on_outline ? &ground : NULL);
  for (guint i = 0; i < edges->n; i++)
  {
    count_inset (&flanks[i].burn, edges->inset);
    if (stray && flanks[i].burn.trouble == WS_BURN_JUDGED && !flanks[i].burn.present)
      flanks[i].burn.trouble = WS_BURN_EDGE_UNSURE;
    if (flanks[i].burn.trouble == WS_BURN_NO_COLOUR)
      return FALSE;
  }
  return TRUE;
}

/* The picture in colour; `made`: to be freed where it had to be made. */
static const WsImage *
in_colour (const WsBurnEdges *edges, WsImage **made)
{
  if (edges->image->rgb != NULL)
    return edges->image;
  *made = ws_image_in_colour (edges->image);
  return *made != NULL ? *made : edges->image;
}

/* A band runs along this part of what is seen of an edge, or it is a stain. */
#define MOSTLY 0.6

gboolean
wsi_burn_edges_show_land (const WsBurnEdges *edges, double blur_px)
{
  if (edges == NULL || edges->n == 0)
    return FALSE;
  g_autoptr (WsImage) made = NULL;
  WsSampler sampler;
  wsi_sampler_init (&sampler, in_colour (edges, &made));
  const WsStrip strip = strip_of (&edges->edges[0], edges->on_outline);
  g_autoptr (WsBand) band = band_of (&edges->edges[0], &strip, &sampler, edges->optics);
  WsWearLand land;
  wsi_wear_land_find (&(WsLandSight){ .band = band, .blur_px = blur_px }, &land);
  guint columns = 0;
  for (guint s = 0; land.present && s < band->length; s++)
    columns += land.width[s] > 0 ? 1 : 0;
  const gboolean shows = columns > MOSTLY * land.seen_share * band->length;
  wsi_wear_land_clear (&land);
  return shows;
}

void
wsi_burn_edges_report (WsBurnEdges *edges, const WsToolCard *card, const WsOptics *optics,
                       gboolean depth_is_seen, WsResult *result)
{
  WsFlank flanks[MAX_EDGES] = { { .label = NULL } };
  WsStrip strips[MAX_EDGES];
  g_autoptr (WsImage) coloured = NULL;
  gboolean judged = FALSE;
  if (edges != NULL && edges->n > 0)
  {
    WsSampler sampler;
    wsi_sampler_init (&sampler, in_colour (edges, &coloured));
    for (guint i = 0; i < edges->n; i++)
      strips[i] = strip_of (&edges->edges[i], edges->on_outline);
    judged = judge (edges, &sampler, optics, strips, flanks);
  }
  if (judged || is_limited (card))
  {
    const WsBurnQuantities q = add_quantities (optics, depth_is_seen, result);
    if (judged)
      wsi_burn_report (flanks, edges->n, card, optics, &q, result);
  }
  wsi_flanks_clear (flanks, MAX_EDGES);
}
