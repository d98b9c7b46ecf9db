#include "edge/find/segment.h"

#include "edge/find/mask.h"
#include "edge/find/things.h"
#include "maths/least_squares.h"
#include "maths/stats.h"

#include <math.h>
#include <string.h>

/* The reduced picture is about this many pixels along its longer side: enough to see
 * a tool 20 px wide, few enough to cost a small part of decoding. */
#define REDUCED_SIDE 400
#define ROWS_PER_BOX 2

#define BINS 256

/* Below this weight between ground and tool the edge noise of an 8-bit camera is no
 * longer small against the step. */
#define MIN_CONTRAST 0.25

/* A ground darker than this has fewer than 40 of 255 sRGB codes to spend on the edge. */
#define MIN_GROUND 0.025

#define MAX_CLIPPED 0.02

/* Every so many-th reduced pixel is enough for the classes' medians. */
#define LEVEL_STRIDE 7

typedef struct
{
  guint width, height, factor;
  float *light; /* 0 .. 1 */
  guint8 *tool; /* 1 where the tool is */
  guint *label; /* object number, 0 for ground */
} Reduced;

static void
reduced_clear (Reduced *reduced)
{
  g_free (reduced->light);
  g_free (reduced->tool);
  g_free (reduced->label);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Reduced, reduced_clear)

static void
sum_row (const guint16 *row, guint factor, guint n, guint *sums)
{
  for (guint i = 0; i < n; i++)
  {
    guint sum = 0;
    for (guint k = 0; k < factor; k++)
      sum += row[i * factor + k];
    sums[i] += sum;
  }
}

/* Means over boxes of factor x factor pixels, from at most ROWS_PER_BOX rows of each, since
 * reading every pixel again would cost a tenth of decoding; a rest at the right and lower border
 * is left out. */
static void
reduce (const WsImage *image, Reduced *reduced)
{
  const guint side = MAX (image->width, image->height);
  const guint factor = MIN (MAX (1, side / REDUCED_SIDE), MIN (image->width, image->height));
  const guint width = image->width / factor, height = image->height / factor;
  const gsize n = (gsize)width * height;
  reduced->factor = factor;
  reduced->width = width;
  reduced->height = height;
  reduced->light = g_new (float, n);
  reduced->tool = g_new0 (guint8, n);
  reduced->label = g_new0 (guint, n);

  g_autofree guint *sums = g_new (guint, width);
  const guint skip = 1 + (factor - 1) / ROWS_PER_BOX, rows = (factor + skip - 1) / skip;
  const double scale = 1.0 / ((double)WS_IMAGE_FULL_SCALE * factor * rows);
  for (guint y = 0; y < height; y++)
  {
    memset (sums, 0, sizeof (guint) * width);
    for (guint k = 0; k < factor; k += skip)
      sum_row (image->linear + (gsize)(y * factor + k) * image->width, factor, width, sums);
    for (guint x = 0; x < width; x++)
      reduced->light[(gsize)y * width + x] = (float)(sums[x] * scale);
  }
}

/* Bins even in lightness rather than in light, so that dark pictures keep their detail. */
static guint
bin_of (float light)
{
  return (guint)CLAMP (sqrtf (light) * BINS, 0.0f, (float)(BINS - 1));
}

/* Otsu, IEEE Trans. SMC 9(1), 1979: the bin that separates two classes best. */
static double
otsu (const Reduced *reduced)
{
  double histogram[BINS] = { 0 }, total = 0, mass = 0;
  const gsize n = (gsize)reduced->width * reduced->height;
  for (gsize i = 0; i < n; i++)
    histogram[bin_of (reduced->light[i])] += 1;
  for (guint b = 0; b < BINS; b++)
  {
    total += histogram[b];
    mass += b * histogram[b];
  }

  double below = 0, below_mass = 0, best = -1, first = 0, last = 0;
  for (guint b = 0; b + 1 < BINS; b++)
  {
    below += histogram[b];
    below_mass += b * histogram[b];
    if (below <= 0 || below >= total)
      continue;
    const double gap = below_mass / below - (mass - below_mass) / (total - below);
    const double between = below * (total - below) * gap * gap;
    if (between > best * (1 + 1e-12))
    {
      best = between;
      first = b;
    }
    if (between >= best * (1 - 1e-12))
      last = b;
  }
  /* An empty stretch between the classes is a plateau: its middle is the safest. */
  const double root = ((first + last) / 2 + 1) / BINS;
  return root * root;
}

static double
border_share_bright (const Reduced *reduced, double threshold)
{
  const guint w = reduced->width, h = reduced->height;
  guint bright = 0, n = 0;
  for (guint y = 0; y < h; y++)
    for (guint x = 0; x < w; x += (y == 0 || y == h - 1 || w == 1) ? 1 : w - 1)
    {
      bright += reduced->light[(gsize)y * w + x] > threshold;
      n++;
    }
  return (double)bright / n;
}

static void
field_terms (double x, double y, double terms[6])
{
  const double t[6] = { 1, x, y, x * x, x * y, y * y };
  memcpy (terms, t, sizeof t);
}

static double
field_value (const WsLevelField *field, double x, double y)
{
  const double *c = field->c;
  return c[0] + x * (c[1] + x * c[3] + y * c[4]) + y * (c[2] + y * c[5]);
}

double
ws_level_at (const WsLevelField *field, const WsImage *image, double x, double y)
{
  return field_value (field, (x + 0.5) / image->width, (y + 0.5) / image->height);
}

static gboolean
near_other_class (const Reduced *reduced, guint x, guint y, guint8 class)
{
  const guint w = reduced->width, h = reduced->height;
  const guint x0 = x < 2 ? 0 : x - 2, x1 = MIN (x + 2, w - 1);
  const guint y0 = y < 2 ? 0 : y - 2, y1 = MIN (y + 2, h - 1);
  for (guint v = y0; v <= y1; v += MAX (1, y1 - y0))
    for (guint u = x0; u <= x1; u += MAX (1, x1 - x0))
      if (reduced->tool[(gsize)v * w + u] != class)
        return TRUE;
  return FALSE;
}

/* Least squares of the quadratic through the ground, clear of the tool's edge; falls back
 * to the constant `level` where the ground is too scanty. */
static WsLevelField
fit_ground (const Reduced *reduced, double level)
{
  const guint step = MAX (1, reduced->width / 100);
  double A[36] = { 0 }, b[6] = { 0 };
  guint n = 0;
  for (guint y = 0; y < reduced->height; y += step)
    for (guint x = 0; x < reduced->width; x += step)
    {
      const gsize i = (gsize)y * reduced->width + x;
      if (reduced->tool[i] || near_other_class (reduced, x, y, 0))
        continue;
      double t[6];
      field_terms ((x + 0.5) / reduced->width, (y + 0.5) / reduced->height, t);
      for (guint j = 0; j < 6; j++)
      {
        for (guint k = 0; k < 6; k++)
          A[j * 6 + k] += t[j] * t[k];
        b[j] += t[j] * (double)reduced->light[i];
      }
      n++;
    }
  WsLevelField field = { { level, 0, 0, 0, 0, 0 } };
  if (n >= 60 && ws_solve_spd (A, b, 6, FALSE))
    memcpy (field.c, b, sizeof b);
  return field;
}

static void
classify (Reduced *reduced, const WsLevelField *threshold, gboolean tool_is_dark)
{
  const double *c = threshold->c;
  for (guint y = 0; y < reduced->height; y++)
  {
    /* The quadratic's coefficients in x along this row. */
    const double v = (y + 0.5) / reduced->height, h = 1.0 / reduced->width;
    const float flat = (float)(c[0] + v * (c[2] + v * c[5]));
    const float slope = (float)(c[1] + v * c[4]), bend = (float)c[3], step = (float)h;
    const float *light = reduced->light + (gsize)y * reduced->width;
    guint8 *tool = reduced->tool + (gsize)y * reduced->width;
    for (guint x = 0; x < reduced->width; x++)
    {
      const float u = ((float)x + 0.5f) * step;
      tool[x] = (light[x] < flat + u * (slope + u * bend)) == tool_is_dark;
    }
  }
}

typedef struct
{
  double area;
  guint label;
} Object;

/* Floods one object from pixel `seed`, 4-connected; returns its area. */
static double
flood (Reduced *reduced, gsize seed, guint label, gsize *stack)
{
  const gsize w = reduced->width, n = w * reduced->height;
  gsize top = 0;
  double area = 0;
  stack[top++] = seed;
  reduced->label[seed] = label;
  while (top > 0)
  {
    const gsize i = stack[--top];
    const gsize x = i % w;
    const gsize next[4] = { x > 0 ? i - 1 : n, x + 1 < w ? i + 1 : n, i >= w ? i - w : n, i + w };
    area += 1;
    for (guint k = 0; k < 4; k++)
      if (next[k] < n && reduced->tool[next[k]] && reduced->label[next[k]] == 0)
      {
        reduced->label[next[k]] = label;
        stack[top++] = next[k];
      }
  }
  return area;
}

/* The two largest objects, largest first. */
static void
find_objects (Reduced *reduced, Object objects[2])
{
  const gsize n = (gsize)reduced->width * reduced->height;
  g_autofree gsize *stack = g_new (gsize, n);
  guint label = 0;
  objects[0] = objects[1] = (Object){ 0, 0 };
  for (gsize i = 0; i < n; i++)
  {
    if (!reduced->tool[i] || reduced->label[i])
      continue;
    const Object object = { flood (reduced, i, label + 1, stack), label + 1 };
    label++;
    if (object.area > objects[0].area)
    {
      objects[1] = objects[0];
      objects[0] = object;
    }
    else if (object.area > objects[1].area)
      objects[1] = object;
  }
}

/* Medians of both classes, and the tool's spread. */
static void
class_levels (const Reduced *reduced, WsSegment *segment)
{
  const gsize n = (gsize)reduced->width * reduced->height;
  g_autofree double *tool = g_new (double, n);
  g_autofree double *ground = g_new (double, n);
  gsize n_tool = 0, n_ground = 0;
  for (gsize i = 0; i < n; i += LEVEL_STRIDE)
    if (reduced->tool[i])
      tool[n_tool++] = (double)reduced->light[i];
    else
      ground[n_ground++] = (double)reduced->light[i];

  segment->ground_level = n_ground > 0 ? ws_median (ground, n_ground) : 0;
  if (n_tool == 0)
    return;
  segment->tool_level = ws_median (tool, n_tool);
  segment->tool_spread = ws_mad_sigma (tool, n_tool);
}

/* Share of ground pixels of the full picture at or above full scale less half an 8-bit code. */
static double
clipped_share (const WsImage *image, const Reduced *reduced)
{
  const guint16 full = WS_IMAGE_FULL_SCALE - WS_IMAGE_FULL_SCALE / 250;
  gsize clipped = 0, n = 0;
  for (guint y = 0; y < reduced->height; y += 2)
    for (guint x = 0; x < reduced->width; x += 2)
    {
      if (reduced->tool[(gsize)y * reduced->width + x])
        continue;
      n++;
      clipped +=
        image->linear[(gsize)y * reduced->factor * image->width + (gsize)x * reduced->factor] >=
        full;
    }
  return n > 0 ? (double)clipped / (double)n : 0;
}

/* The object's pixel farthest from its edge, by a two-pass city-block distance. */
static WsPoint
deepest (const Reduced *reduced, guint label)
{
  const guint w = reduced->width, h = reduced->height;
  g_autofree guint *depth = g_new0 (guint, (gsize)w * h);
  for (guint y = 0; y < h; y++)
    for (guint x = 0; x < w; x++)
    {
      const gsize i = (gsize)y * w + x;
      if (reduced->label[i] == label)
        depth[i] = 1 + MIN (x > 0 ? depth[i - 1] : 0, y > 0 ? depth[i - w] : 0);
    }
  guint best = 0;
  gsize at = 0;
  for (guint y = h; y-- > 0;)
    for (guint x = w; x-- > 0;)
    {
      const gsize i = (gsize)y * w + x;
      const guint after = 1 + MIN (x + 1 < w ? depth[i + 1] : 0, y + 1 < h ? depth[i + w] : 0);
      depth[i] = MIN (depth[i], after);
      if (depth[i] > best)
      {
        best = depth[i];
        at = i;
      }
    }
  const double f = reduced->factor;
  return (WsPoint){ (double)(at % w) * f + (f - 1) / 2, (double)(at / w) * f + (f - 1) / 2 };
}

/*
 * How much of the step from tool to ground happens within three reduced pixels of the object's
 * right and left borders: about 1 for an object, little for a slope of the light.
 */
static double
border_sharpness (const Reduced *reduced, guint label, double step)
{
  g_autoptr (GArray) found = g_array_new (FALSE, FALSE, sizeof (double));
  for (guint y = 0; y < reduced->height; y++)
    for (guint x = 1; x + 2 < reduced->width; x++)
    {
      const gsize i = (gsize)y * reduced->width + x;
      if ((reduced->label[i] == label) == (reduced->label[i + 1] == label))
        continue;
      const double change = fabs ((double)reduced->light[i + 2] - (double)reduced->light[i - 1]);
      g_array_append_val (found, change);
    }
  if (found->len == 0 || !(step > 0))
    return 0;
  return ws_median ((double *)(void *)found->data, found->len) / step;
}

static void
trouble (WsSegment *segment, WsRetake reason, const char *what, double value)
{
  segment->trouble = reason;
  g_snprintf (segment->detail, sizeof segment->detail, what, value);
}

/* Specks of dust and noise are no tool, whatever the light. */
#define MIN_TOOL_SHARE 2e-4

/* With hardly any contrast the classes are noise, whose patches stay below this. */
#define MIN_FAINT_SHARE 0.02

#define MAX_SECOND_SHARE 0.1

/* A faint object's border shows more than this share of its step at once. */
#define MIN_SHARPNESS 0.5

/* Blur leaves this many cells along a border in doubt. */
#define BORDER_CELLS 1

#define MAX_MISMATCH 0.02

/* A border more blurred than this isn't compared: the outline will tell how blurred it is. Rendered
 * pictures out of focus or moved have 0.02 to 0.09, sharp ones more than 0.2. */
#define LEAST_SHARPNESS 0.15

/* A tool before a light panel has a tenth of its light, a fifth in haze; common practice, no
 * source. */
#define LIT_SHARE 0.25

/* A ground more uneven than this tells nothing. */
#define MAX_SPREAD 0.04

gboolean
ws_segment_is_clipped (const WsSegment *segment)
{
  return segment->tool_is_dark && segment->ground_clipped > MAX_CLIPPED;
}

static gboolean
check_light (WsSegment *segment, double share, double sharpness, gboolean may_clip)
{
  const double bright = MAX (segment->ground_level, segment->tool_level);
  const double contrast = fabs (segment->ground_level - segment->tool_level) / MAX (bright, 1e-6);
  if (!may_clip && ws_segment_is_clipped (segment))
    trouble (segment, WS_RETAKE_OVER_EXPOSED, "%.0f %% of the ground is at full scale",
             100 * segment->ground_clipped);
  else if (bright < MIN_GROUND)
    trouble (segment, WS_RETAKE_UNDER_EXPOSED,
             "the brightest large area has only %.1f %% of full light", 100 * bright);
  else if (contrast < MIN_CONTRAST && share >= MIN_FAINT_SHARE && sharpness > MIN_SHARPNESS)
    trouble (segment, WS_RETAKE_LOW_CONTRAST,
             "tool and ground differ by only %.0f %% of the brighter one", 100 * contrast);
  else if (contrast < MIN_CONTRAST)
    trouble (segment, WS_RETAKE_NO_TOOL, "the light differs by only %.0f %% and has no outline",
             100 * contrast);
  else if (share < MIN_TOOL_SHARE)
    trouble (segment, WS_RETAKE_NO_TOOL, "the largest object covers %.3f %% of the picture",
             100 * share);
  return segment->trouble == WS_RETAKE_NONE;
}

/* The largest object, unless there is another one nearly as large. */
static guint
only_object (const Object objects[2], WsSegment *segment)
{
  if (objects[1].area > MAX_SECOND_SHARE * objects[0].area)
    trouble (segment, WS_RETAKE_SEVERAL_TOOLS,
             "a second object has %.0f %% of the first one's area",
             100 * objects[1].area / objects[0].area);
  return 0;
}

/* How much of thing and object isn't the other's, as a share of the thing. */
static double
mismatch (const Reduced *reduced, const Object *object, const WsThings *things, guint thing)
{
  const guint w = reduced->width, h = reduced->height;
  const gsize n = (gsize)w * h;
  g_autofree guint8 *most = g_new (guint8, n);
  for (gsize i = 0; i < n; i++)
    most[i] = reduced->label[i] == object->label;
  ws_mask_fill_holes (most, w, h);
  g_autofree guint8 *least = g_memdup2 (most, n);
  ws_mask_grow (most, w, h, BORDER_CELLS);
  ws_mask_shrink (least, w, h, BORDER_CELLS);
  gsize off = 0, area = 0;
  for (gsize i = 0; i < n; i++)
  {
    const gboolean is_thing = things->label[i] == thing;
    off += (is_thing && !most[i]) || (!is_thing && least[i]);
    area += is_thing ? 1 : 0;
  }
  return area > 0 ? (double)off / (double)area : 1;
}

typedef enum
{
  TOOL_IS_OBJECT, /* one of the two largest objects */
  TOOL_IS_MIXED,  /* in part darker, in part brighter than the ground */
  NO_TOOL,
  NO_GROUND /* too uneven to tell anything */
} Finding;

typedef struct
{
  WsThings *things;
  Finding finding;
  guint tool;   /* among the things */
  guint object; /* among the objects */
} Comparison;

/* Light above or below one threshold shows the tool only where all of it is darker than the
 * ground, or all brighter.  So what differs from the ground either way, the ground being about the
 * light `start`, says what the tool is, and an object must be just that. */
static Comparison
compare (const Reduced *reduced, const Object objects[2], double start, WsSegment *segment)
{
  Comparison c = { .finding = NO_GROUND };
  c.things = ws_things_find (reduced->light, reduced->width, reduced->height, start);
  if (c.things->spread > MAX_SPREAD)
    return c;
  c.tool = ws_things_tool (c.things, &segment->trouble, segment->detail);
  c.finding = c.tool == 0 ? NO_TOOL : TOOL_IS_MIXED;
  if (c.tool == 0)
    return c;
  if (ws_things_sharpness (c.things, c.tool) < LEAST_SHARPNESS)
    c.finding = TOOL_IS_OBJECT;
  for (guint k = 0; k < 2 && c.finding == TOOL_IS_MIXED; k++)
    if (objects[k].area > 0 && mismatch (reduced, &objects[k], c.things, c.tool) < MAX_MISMATCH)
    {
      c.finding = TOOL_IS_OBJECT;
      c.object = k;
    }
  return c;
}

/* Twice where need be: the classes' ground may be in part the tool's. */
static Comparison
find_tool (const Reduced *reduced, const Object objects[2], WsSegment *segment)
{
  Comparison first = compare (reduced, objects, segment->ground_level, segment);
  if (first.finding == TOOL_IS_OBJECT)
    return first;
  Comparison second = compare (reduced, objects, NAN, segment);
  if (second.finding == NO_GROUND && first.finding != NO_GROUND)
  {
    ws_things_free (second.things);
    return first;
  }
  ws_things_free (first.things);
  return second;
}

/* Where the tool has light on both sides of the ground's. */
static void
take_thing (const WsImage *image, Reduced *reduced, const Comparison *c, gboolean may_clip,
            WsSegment *segment)
{
  const gsize n = (gsize)reduced->width * reduced->height;
  for (gsize i = 0; i < n; i++)
  {
    reduced->label[i] = c->things->label[i] == c->tool;
    reduced->tool[i] = c->things->label[i] != 0;
  }
  class_levels (reduced, segment);
  segment->ground_clipped = clipped_share (image, reduced);
  segment->tool_is_dark = segment->tool_level < segment->ground_level;
  segment->area_px = g_array_index (c->things->things, WsThing, c->tool - 1).area *
                     (double)reduced->factor * reduced->factor;
  if (!may_clip && segment->ground_clipped > MAX_CLIPPED)
    trouble (segment, WS_RETAKE_OVER_EXPOSED, "%.0f %% of the ground is at full scale",
             100 * segment->ground_clipped);
  else
    segment->mask = ws_mask_of_thing (image, c->things, c->tool, reduced->factor);
}

/* Cells of plain ground lie within this part of it; so many, as a share of all, may not: dust. */
#define PLAIN_PART 0.15
#define MAX_UNPLAIN 0.001

/* One dark tool that comes in from the border of a plain ground: nothing else to look for, and no
 * time to spend. */
static gboolean
is_plain_silhouette (const Reduced *reduced, const Object objects[2], const WsSegment *segment)
{
  const guint w = reduced->width, h = reduced->height;
  if (!segment->tool_is_dark || segment->tool_level > LIT_SHARE * segment->ground_level ||
      objects[1].area > MAX_SECOND_SHARE * objects[0].area)
    return FALSE;
  guint unplain = 0, touching = 0;
  for (guint y = 0; y < h; y++)
    for (guint x = 0; x < w; x++)
    {
      const gsize i = (gsize)y * w + x;
      if (x == 0 || y == 0 || x + 1 == w || y + 1 == h)
        touching += reduced->label[i] == objects[0].label ? 1 : 0;
      if (reduced->tool[i])
        continue;
      const double half = field_value (&segment->threshold, (x + 0.5) / w, (y + 0.5) / h);
      const double ground = 2 * half - segment->tool_level;
      if (fabs ((double)reduced->light[i] - ground) > PLAIN_PART * ground &&
          !near_other_class (reduced, x, y, 0))
        unplain++;
    }
  return touching > 0 && unplain < MAX_UNPLAIN * w * h;
}

/* Number of the tool among the labels. */
static guint
choose_tool (const WsImage *image, Reduced *reduced, const Object objects[2], gboolean may_clip,
             WsSegment *segment)
{
  if (is_plain_silhouette (reduced, objects, segment))
    return objects[0].label;
  const Comparison c = find_tool (reduced, objects, segment);
  guint label = 0;
  if (c.finding == NO_GROUND)
    label = objects[only_object (objects, segment)].label;
  else if (c.finding == TOOL_IS_OBJECT)
  {
    label = objects[c.object].label;
    segment->area_px = objects[c.object].area * (double)reduced->factor * reduced->factor;
  }
  else if (c.finding == TOOL_IS_MIXED)
  {
    take_thing (image, reduced, &c, may_clip, segment);
    label = 1;
  }
  ws_things_free (c.things);
  return label;
}

static WsSegment
find (const WsImage *image, gboolean is_backlit, gboolean may_clip)
{
  WsSegment segment = { .trouble = WS_RETAKE_NONE };
  g_auto (Reduced) reduced = { 0 };
  reduce (image, &reduced);

  const double split = otsu (&reduced);
  segment.threshold = (WsLevelField){ { split, 0, 0, 0, 0, 0 } };
  segment.tool_is_dark = is_backlit || border_share_bright (&reduced, split) > 0.5;
  classify (&reduced, &segment.threshold, segment.tool_is_dark);

  /* Twice: the first ground may hold parts of the tool where the light falls off. */
  for (guint pass = 0; pass < 2; pass++)
  {
    class_levels (&reduced, &segment);
    segment.threshold = fit_ground (&reduced, segment.ground_level);
    for (guint k = 0; k < 6; k++)
      segment.threshold.c[k] *= 0.5;
    segment.threshold.c[0] += 0.5 * segment.tool_level;
    classify (&reduced, &segment.threshold, segment.tool_is_dark);
  }
  class_levels (&reduced, &segment);
  segment.ground_clipped = clipped_share (image, &reduced);

  Object objects[2];
  find_objects (&reduced, objects);
  const double cell = (double)reduced.factor * reduced.factor;
  segment.area_px = objects[0].area * cell;
  segment.second_area_px = objects[1].area * cell;
  const double share = segment.area_px / ((double)image->width * image->height);
  const double sharpness =
    border_sharpness (&reduced, objects[0].label, fabs (segment.ground_level - segment.tool_level));
  if (!check_light (&segment, share, sharpness, may_clip))
    return segment;
  const guint label = is_backlit ? objects[only_object (objects, &segment)].label
                                 : choose_tool (image, &reduced, objects, may_clip, &segment);
  segment.is_front_lit =
    segment.mask != NULL || segment.tool_level > LIT_SHARE * segment.ground_level;
  if (segment.trouble == WS_RETAKE_NONE)
    segment.inside = deepest (&reduced, label);
  return segment;
}

WsSegment
ws_segment_find (const WsImage *image)
{
  return find (image, FALSE, FALSE);
}

WsSegment
ws_segment_find_clipped (const WsImage *image)
{
  return find (image, FALSE, TRUE);
}

WsSegment
ws_segment_find_backlit (const WsImage *image)
{
  return find (image, TRUE, TRUE);
}

void
ws_segment_clear (WsSegment *segment)
{
  g_clear_pointer (&segment->mask, g_free);
}
