#include "edge/find/things.h"

#include "base/geometry.h"
#include "maths/least_squares.h"
#include "maths/stats.h"

#include <math.h>
#include <string.h>

#define N_TERMS 6

/* Width of the ring along the border that the ground is first read from, cells. */
#define RING 3

#define BINS 128

/* The first ground is within this of the ring's commonest lightness. */
#define FIRST_REACH 0.06

/* Rounds on the ring, then on all cells. */
#define RING_ROUNDS 5
#define ALL_ROUNDS 5

/* Cells of the ground lie within so many standard deviations. */
#define KEPT_SPREADS 4.0

/* Things are so many standard deviations apart, and this much at least: three codes of an 8-bit
 * camera in lightness (own trials on rendered pictures). */
#define APART_SPREADS 5.0
#define LEAST_APART 0.012

/* The ground can't be told more smoothly than this: half an 8-bit code. */
#define LEAST_SPREAD 0.002

/* About so many cells tell the ground. */
#define ENOUGH_CELLS 12000

void
ws_things_free (WsThings *things)
{
  if (things == NULL)
    return;
  g_free (things->apart);
  g_free (things->label);
  g_clear_pointer (&things->things, g_array_unref);
  g_free (things);
}

/* ---- Masks ---------------------------------------------------------------------------- */

/* One way through `n` cells, `step` apart: a cell becomes `value` when one within `reach` is. */
static void
spread_line (guint8 *cells, guint n, gsize step, guint reach, guint8 value, guint8 *line)
{
  for (guint i = 0; i < n; i++)
    line[i] = cells[i * step];
  guint since = reach + 1;
  for (guint i = 0; i < n; i++)
  {
    since = line[i] == value ? 0 : since + 1;
    if (since <= reach)
      cells[i * step] = value;
  }
  since = reach + 1;
  for (guint i = n; i-- > 0;)
  {
    since = line[i] == value ? 0 : since + 1;
    if (since <= reach)
      cells[i * step] = value;
  }
}

static void
spread_value (guint8 *mask, guint width, guint height, guint reach, guint8 value)
{
  g_autofree guint8 *line = g_new (guint8, MAX (width, height));
  for (guint y = 0; y < height; y++)
    spread_line (mask + (gsize)y * width, width, 1, reach, value, line);
  for (guint x = 0; x < width; x++)
    spread_line (mask + x, height, width, reach, value, line);
}

void
ws_mask_grow (guint8 *mask, guint width, guint height, guint reach)
{
  spread_value (mask, width, height, reach, 1);
}

void
ws_mask_shrink (guint8 *mask, guint width, guint height, guint reach)
{
  spread_value (mask, width, height, reach, 0);
}

/* Writes `number` over the 4-connected cells of `value` about `seed`, where `marks` is 0.  Returns
 * their area and how many touch the border. */
static WsThing
flood (const guint8 *mask, guint *marks, const WsThings *size, gsize seed, guint number,
       GArray *stack)
{
  const gsize w = size->width, n = w * size->height;
  const guint8 value = mask[seed];
  WsThing thing = { 0, 0 };
  marks[seed] = number;
  g_array_append_val (stack, seed);
  while (stack->len > 0)
  {
    const gsize i = g_array_index (stack, gsize, stack->len - 1), x = i % w;
    g_array_set_size (stack, stack->len - 1);
    const gsize next[4] = { x > 0 ? i - 1 : n, x + 1 < w ? i + 1 : n, i >= w ? i - w : n, i + w };
    thing.area++;
    thing.touching += x == 0 || x + 1 == w || i < w || i + w >= n;
    for (guint k = 0; k < 4; k++)
      if (next[k] < n && mask[next[k]] == value && marks[next[k]] == 0)
      {
        marks[next[k]] = number;
        g_array_append_val (stack, next[k]);
      }
  }
  return thing;
}

void
ws_mask_fill_holes (guint8 *mask, guint width, guint height)
{
  const WsThings size = { .width = width, .height = height };
  const gsize n = (gsize)width * height;
  g_autofree guint *reached = g_new0 (guint, n);
  g_autoptr (GArray) stack = g_array_new (FALSE, FALSE, sizeof (gsize));
  for (gsize i = 0; i < n; i++)
  {
    const gsize x = i % width;
    const gboolean border = x == 0 || x + 1 == width || i < width || i + width >= n;
    if (border && !mask[i] && reached[i] == 0)
      flood (mask, reached, &size, i, 1, stack);
  }
  for (gsize i = 0; i < n; i++)
    mask[i] = mask[i] || reached[i] == 0;
}

/* ---- The ground ------------------------------------------------------------------------- */

static gboolean
in_ring (const WsThings *things, guint x, guint y)
{
  return x < RING || y < RING || x + RING >= things->width || y + RING >= things->height;
}

/* The commonest lightness along the border: light on a plain ground scatters less than on
 * metal. */
static double
ring_mode (const WsThings *things, const float *lightness)
{
  double count[BINS] = { 0 };
  for (guint y = 0; y < things->height; y++)
    for (guint x = 0; x < things->width; x++)
      if (in_ring (things, x, y))
      {
        const float value = lightness[(gsize)y * things->width + x];
        count[(guint)CLAMP (value * BINS, 0.0f, BINS - 1.0f)] += 1;
      }
  double most = -1;
  guint best = 0;
  for (guint b = 0; b < BINS; b++)
  {
    const double sum = (b > 0 ? count[b - 1] : 0) + count[b] + (b + 1 < BINS ? count[b + 1] : 0);
    if (sum > most)
    {
      most = sum;
      best = b;
    }
  }
  return (best + 0.5) / BINS;
}

static void
set_apart (WsThings *things, const float *lightness)
{
  const double *c = things->ground;
  for (guint y = 0; y < things->height; y++)
  {
    const double v = (y + 0.5) / things->height;
    const double flat = c[0] + v * (c[2] + v * c[5]), slope = c[1] + v * c[4];
    const gsize row = (gsize)y * things->width;
    for (guint x = 0; x < things->width; x++)
    {
      const double u = (x + 0.5) / things->width;
      things->apart[row + x] = (float)((double)lightness[row + x] - flat - u * (slope + u * c[3]));
    }
  }
}

/* Least squares through the cells within `reach` of the present ground; keeps that where they are
 * too few. */
static void
fit_ground (WsThings *things, const float *lightness, gboolean ring_only, double reach)
{
  const gsize n = (gsize)things->width * things->height;
  const guint stride = ring_only ? 1 : 1 + (guint)(n / ENOUGH_CELLS);
  double A[N_TERMS * N_TERMS] = { 0 }, b[N_TERMS] = { 0 };
  guint used = 0;
  for (gsize i = 0; i < n; i += stride)
  {
    const guint x = (guint)(i % things->width), y = (guint)(i / things->width);
    if (fabs ((double)things->apart[i]) > reach || (ring_only && !in_ring (things, x, y)))
      continue;
    const double u = (x + 0.5) / things->width, v = (y + 0.5) / things->height;
    const double t[N_TERMS] = { 1, u, v, u * u, u * v, v * v };
    for (guint j = 0; j < N_TERMS; j++)
    {
      for (guint k = 0; k < N_TERMS; k++)
        A[j * N_TERMS + k] += t[j] * t[k];
      b[j] += t[j] * (double)lightness[i];
    }
    used++;
  }
  for (guint j = 0; j < N_TERMS; j++)
    A[j * N_TERMS + j] += 1e-6 * used;
  if (used >= 60 && ws_solve_spd (A, b, N_TERMS, FALSE))
    memcpy (things->ground, b, sizeof b);
}

/* Of the cells within `reach`. */
static double
spread_within (const WsThings *things, gboolean ring_only, double reach, double *scratch)
{
  const gsize n = (gsize)things->width * things->height;
  const guint stride = ring_only ? 1 : 1 + (guint)(n / ENOUGH_CELLS);
  gsize found = 0;
  for (gsize i = 0; i < n; i += stride)
  {
    const guint x = (guint)(i % things->width), y = (guint)(i / things->width);
    const double off = fabs ((double)things->apart[i]);
    if (off <= reach && (!ring_only || in_ring (things, x, y)))
      scratch[found++] = off;
  }
  /* The median of |normal| is 0.6745 of the standard deviation. */
  return found > 0 ? MAX (ws_median (scratch, found) / 0.6745, LEAST_SPREAD) : LEAST_SPREAD;
}

static void
find_ground (WsThings *things, const float *lightness, double start)
{
  g_autofree double *scratch = g_new (double, (gsize)things->width * things->height);
  double reach = FIRST_REACH;
  things->ground[0] = isnan (start) ? ring_mode (things, lightness) : start;
  set_apart (things, lightness);
  for (guint round = 0; round < RING_ROUNDS + ALL_ROUNDS; round++)
  {
    const gboolean ring_only = round < RING_ROUNDS;
    fit_ground (things, lightness, ring_only, reach);
    set_apart (things, lightness);
    things->spread = spread_within (things, ring_only, reach, scratch);
    reach = KEPT_SPREADS * things->spread;
  }
  things->least = MAX (APART_SPREADS * things->spread, LEAST_APART);
}

/* A patch of ground at the border that a tool's bright or dark streak makes there is smaller than
 * this share of the picture. */
#define MAX_PATCH_SHARE 0.001

/* Fills such patches. */
static void
fill_patches (const WsThings *things, guint8 *mask)
{
  const gsize n = (gsize)things->width * things->height;
  g_autofree guint *patch = g_new0 (guint, n);
  g_autoptr (GArray) stack = g_array_new (FALSE, FALSE, sizeof (gsize));
  g_autoptr (GArray) areas = g_array_new (FALSE, TRUE, sizeof (guint));
  g_array_set_size (areas, 1);
  for (gsize i = 0; i < n; i++)
    if (!mask[i] && patch[i] == 0)
    {
      const guint area = flood (mask, patch, things, i, areas->len, stack).area;
      g_array_append_val (areas, area);
    }
  for (gsize i = 0; i < n; i++)
    if (!mask[i] && g_array_index (areas, guint, patch[i]) < MAX_PATCH_SHARE * (double)n)
      mask[i] = 1;
}

/* ---- Things ----------------------------------------------------------------------------- */

static void
label_things (WsThings *things)
{
  const gsize n = (gsize)things->width * things->height;
  g_autofree guint8 *mask = g_new (guint8, n);
  g_autoptr (GArray) stack = g_array_new (FALSE, FALSE, sizeof (gsize));
  for (gsize i = 0; i < n; i++)
    mask[i] = fabs ((double)things->apart[i]) > things->least;
  /* From bright to dark metal the lightness passes the ground's: that parts no thing. */
  ws_mask_grow (mask, things->width, things->height, 1);
  ws_mask_shrink (mask, things->width, things->height, 1);
  ws_mask_fill_holes (mask, things->width, things->height);
  fill_patches (things, mask);
  for (gsize i = 0; i < n; i++)
    if (mask[i] && things->label[i] == 0)
    {
      const WsThing thing = flood (mask, things->label, things, i, things->things->len + 1, stack);
      g_array_append_val (things->things, thing);
    }
}

WsThings *
ws_things_find (const float *light, guint width, guint height, double ground)
{
  const gsize n = (gsize)width * height;
  WsThings *things = g_new0 (WsThings, 1);
  things->width = width;
  things->height = height;
  things->apart = g_new0 (float, n);
  things->label = g_new0 (guint, n);
  things->things = g_array_new (FALSE, FALSE, sizeof (WsThing));
  g_autofree float *lightness = g_new (float, n);
  for (gsize i = 0; i < n; i++)
    lightness[i] = sqrtf (MAX (light[i], 0.0f));
  find_ground (things, lightness, sqrt (ground));
  label_things (things);
  return things;
}

/* ---- Which is the tool -------------------------------------------------------------------- */

/* Smaller things are dust: as a share of the picture, and of the tool. */
#define MIN_PICTURE_SHARE 5e-4
#define MAX_SECOND_SHARE 0.1

/* Fewer cells on the border are a corner that just reaches it. */
#define MIN_TOUCHING 4

/* A thing's border shows at least this part of `least` within three cells; shades don't. */
#define MIN_SHARP 0.5

static const WsThing *
thing_at (const WsThings *things, guint label)
{
  return &g_array_index (things->things, WsThing, label - 1);
}

/* Adds the changes of lightness across the thing's borders on one line of `n` cells. */
static void
line_changes (const WsThings *things, guint label, gsize first, gsize step, guint n, GArray *found)
{
  for (guint k = 1; k + 2 < n; k++)
  {
    const gsize i = first + k * step;
    if ((things->label[i] == label) == (things->label[i + step] == label))
      continue;
    const double change =
      fabs ((double)things->apart[i + 2 * step] - (double)things->apart[i - step]);
    g_array_append_val (found, change);
  }
}

/* Their median. */
static double
border_change (const WsThings *things, guint label)
{
  g_autoptr (GArray) found = g_array_new (FALSE, FALSE, sizeof (double));
  for (guint y = 0; y < things->height; y++)
    line_changes (things, label, (gsize)y * things->width, 1, things->width, found);
  for (guint x = 0; x < things->width; x++)
    line_changes (things, label, x, things->width, things->height, found);
  return found->len > 0 ? ws_median ((double *)(void *)found->data, found->len) : 0;
}

double
ws_things_sharpness (const WsThings *things, guint label)
{
  const gsize n = (gsize)things->width * things->height;
  g_autofree double *values = g_new (double, n);
  gsize found = 0;
  for (gsize i = 0; i < n; i++)
    if (things->label[i] == label)
      values[found++] = fabs ((double)things->apart[i]);
  const double apart = found > 0 ? ws_median (values, found) : 0;
  return apart > 0 ? border_change (things, label) / apart : 0;
}

/* The largest thing that comes in from the border, or that doesn't; 0 when there is none. */
static guint
largest (const WsThings *things, gboolean from_border)
{
  const double least = MIN_PICTURE_SHARE * things->width * things->height;
  guint best = 0;
  for (guint label = 1; label <= things->things->len; label++)
  {
    const WsThing *thing = thing_at (things, label);
    if ((thing->touching >= MIN_TOUCHING) != from_border || thing->area < least ||
        (best != 0 && thing->area <= thing_at (things, best)->area))
      continue;
    if (border_change (things, label) > MIN_SHARP * things->least)
      best = label;
  }
  return best;
}

guint
ws_things_tool (const WsThings *things, WsRetake *reason, char detail[96])
{
  const guint held = largest (things, TRUE), loose = largest (things, FALSE);
  const guint tool = held != 0 ? held : loose;
  *reason = WS_RETAKE_NO_TOOL;
  g_snprintf (detail, 96, "nothing stands out from the ground");
  if (tool == 0)
    return 0;
  if (held == 0 && ws_things_is_rectangle (things, tool))
  {
    g_snprintf (detail, 96, "there is only a rectangle that lies wholly inside the picture");
    return 0;
  }
  *reason = WS_RETAKE_SEVERAL_TOOLS;
  const double area = thing_at (things, tool)->area;
  for (guint label = 1; label <= things->things->len; label++)
  {
    const WsThing *thing = thing_at (things, label);
    if (label == tool || thing->area <= MAX_SECOND_SHARE * area ||
        border_change (things, label) <= MIN_SHARP * things->least)
      continue;
    const gboolean beside = held != 0 && thing->touching < MIN_TOUCHING;
    if (beside && ws_things_is_rectangle (things, label))
      continue;
    g_snprintf (detail, 96, "a second object has %.0f %% of the first one's area",
                100 * thing->area / area);
    return 0;
  }
  *reason = WS_RETAKE_NONE;
  detail[0] = '\0';
  return tool;
}

/* ---- Rectangles --------------------------------------------------------------------------- */

/* A pin's ends are chamfered, a card's corners rounded; points of 118 and 140 degrees leave 0.9 and
 * 0.7 of these corners empty (geometry). */
#define MIN_FULL 0.95
#define CORNER_SHARE 0.2
#define MIN_CORNER_FULL 0.55

/* Cells along a slanting border that may be missing, as a part of its length (own trials on
 * rectangles 12 cells wide and more). */
#define STAIRS 0.2

/* Directions tried for the sides, over a quarter turn. */
#define DIRECTIONS 90

typedef struct
{
  WsPoint along, across;
  double low[2], high[2]; /* along, across */
  double size;            /* of the box */
} Box;

static Box
box_turned (const WsPoint *cells, guint n, double angle)
{
  Box box = { .along = { cos (angle), sin (angle) }, .across = { -sin (angle), cos (angle) } };
  for (guint k = 0; k < 2; k++)
  {
    const WsPoint d = k == 0 ? box.along : box.across;
    box.low[k] = HUGE_VAL;
    box.high[k] = -HUGE_VAL;
    for (guint i = 0; i < n; i++)
    {
      box.low[k] = MIN (box.low[k], ws_point_dot (cells[i], d));
      box.high[k] = MAX (box.high[k], ws_point_dot (cells[i], d));
    }
    /* Cells have a size, but aslant the outermost one just reaches the border. */
    box.low[k] -= 0.25;
    box.high[k] += 0.25;
  }
  box.size = (box.high[0] - box.low[0]) * (box.high[1] - box.low[1]);
  return box;
}

static GArray *
cells_of (const WsThings *things, guint label, gboolean border_only)
{
  GArray *cells = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  const guint w = things->width;
  for (guint y = 0; y < things->height; y++)
    for (guint x = 0; x < w; x++)
    {
      const gsize i = (gsize)y * w + x;
      if (things->label[i] != label)
        continue;
      const gboolean inside = x > 0 && x + 1 < w && y > 0 && y + 1 < things->height &&
                              things->label[i - 1] == label && things->label[i + 1] == label &&
                              things->label[i - w] == label && things->label[i + w] == label;
      const WsPoint p = ws_point (x, y);
      if (!border_only || !inside)
        g_array_append_val (cells, p);
    }
  return cells;
}

static gboolean
has_all_corners (const Box *box, const GArray *cells)
{
  const double side = CORNER_SHARE * MIN (box->high[0] - box->low[0], box->high[1] - box->low[1]);
  double full[4] = { 0 };
  for (guint i = 0; i < cells->len; i++)
  {
    const WsPoint p = g_array_index (cells, WsPoint, i);
    const double a = ws_point_dot (p, box->along), b = ws_point_dot (p, box->across);
    const gboolean low[2] = { a < box->low[0] + side, b < box->low[1] + side };
    const gboolean high[2] = { a > box->high[0] - side, b > box->high[1] - side };
    if ((low[0] || high[0]) && (low[1] || high[1]))
      full[2 * high[0] + high[1]] += 1;
  }
  for (guint k = 0; k < 4; k++)
    if (full[k] < MIN_CORNER_FULL * side * side - STAIRS * 2 * side)
      return FALSE;
  return TRUE;
}

gboolean
ws_things_is_rectangle (const WsThings *things, guint label)
{
  g_autoptr (GArray) border = cells_of (things, label, TRUE);
  Box best = { .size = HUGE_VAL };
  for (guint k = 0; k < DIRECTIONS; k++)
  {
    const Box box =
      box_turned ((const WsPoint *)(void *)border->data, border->len, k * G_PI / 2 / DIRECTIONS);
    if (box.size < best.size)
      best = box;
  }
  const double round = 2 * (best.high[0] - best.low[0] + best.high[1] - best.low[1]);
  if (thing_at (things, label)->area < MIN_FULL * best.size - STAIRS * round)
    return FALSE;
  g_autoptr (GArray) cells = cells_of (things, label, FALSE);
  return has_all_corners (&best, cells);
}
