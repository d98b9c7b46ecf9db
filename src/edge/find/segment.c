#include "edge/find/segment.h"

#include "edge/find/classes.h"
#include "edge/find/lit.h"
#include "edge/find/mask.h"
#include "edge/find/thing_mask.h"
#include "edge/find/which_tool.h"

#include <math.h>

/* Below this weight between ground and tool the edge noise of an 8-bit camera is no
 * longer small against the step. */
#define MIN_CONTRAST 0.25

/* A ground darker than this has fewer than 40 of 255 sRGB codes to spend on the edge. */
#define MIN_GROUND 0.025

#define MAX_CLIPPED 0.02

double
wsi_level_at (const WsField *field, const WsImage *image, double x, double y)
{
  return wsi_field_at (field, (x + 0.5) / image->width, (y + 0.5) / image->height);
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

/* A ground more uneven than this tells nothing. */
#define MAX_SPREAD 0.04

gboolean
wsi_segment_is_clipped (const WsSegment *segment)
{
  return segment->tool_is_dark && segment->ground_clipped > MAX_CLIPPED;
}

static gboolean
check_light (WsSegment *segment, double share, double sharpness, gboolean may_clip)
{
  const double bright = MAX (segment->ground_level, segment->tool_level);
  const double contrast = fabs (segment->ground_level - segment->tool_level) / MAX (bright, 1e-6);
  if (!may_clip && wsi_segment_is_clipped (segment))
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
only_object (const WsObject objects[2], WsSegment *segment)
{
  if (objects[1].area > MAX_SECOND_SHARE * objects[0].area)
    trouble (segment, WS_RETAKE_SEVERAL_TOOLS,
             "a second object has %.0f %% of the first one's area",
             100 * objects[1].area / objects[0].area);
  return 0;
}

/* How much of thing and object isn't the other's, as a share of the thing. */
static double
mismatch (const WsReduced *reduced, const WsObject *object, const WsThings *things, guint thing)
{
  const guint w = reduced->width, h = reduced->height;
  const gsize n = (gsize)w * h;
  g_autofree guint8 *most = g_new (guint8, n);
  for (gsize i = 0; i < n; i++)
    most[i] = reduced->label[i] == object->label;
  wsi_mask_fill_holes (most, w, h);
  g_autofree guint8 *least = g_memdup2 (most, n);
  wsi_mask_grow (most, w, h, BORDER_CELLS);
  wsi_mask_shrink (least, w, h, BORDER_CELLS);
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
compare (const WsReduced *reduced, const WsObject objects[2], double start, WsSegment *segment)
{
  Comparison c = { .finding = NO_GROUND };
  c.things = wsi_things_find (reduced->light, reduced->width, reduced->height, start);
  if (c.things->spread > MAX_SPREAD)
    return c;
  c.tool = wsi_things_tool (c.things, &segment->trouble, segment->detail);
  c.finding = c.tool == 0 ? NO_TOOL : TOOL_IS_MIXED;
  if (c.tool == 0)
    return c;
  if (wsi_things_sharpness (c.things, c.tool) < LEAST_SHARPNESS)
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
find_tool (const WsReduced *reduced, const WsObject objects[2], WsSegment *segment)
{
  Comparison first = compare (reduced, objects, segment->ground_level, segment);
  if (first.finding == TOOL_IS_OBJECT)
    return first;
  Comparison second = compare (reduced, objects, NAN, segment);
  if (second.finding == NO_GROUND && first.finding != NO_GROUND)
  {
    wsi_things_free (second.things);
    return first;
  }
  wsi_things_free (first.things);
  return second;
}

static void
take_levels (const WsReduced *reduced, WsSegment *segment)
{
  WsLevels levels = { segment->ground_level, segment->tool_level, segment->tool_spread };
  wsi_classes_find_levels (reduced, &levels);
  segment->ground_level = levels.ground;
  segment->tool_level = levels.tool;
  segment->tool_spread = levels.tool_spread;
}

/* Where the tool has light on both sides of the ground's. */
static void
take_thing (const WsImage *image, WsReduced *reduced, const Comparison *c, gboolean may_clip,
            WsSegment *segment)
{
  const gsize n = (gsize)reduced->width * reduced->height;
  for (gsize i = 0; i < n; i++)
  {
    reduced->label[i] = c->things->label[i] == c->tool;
    reduced->tool[i] = c->things->label[i] != 0;
  }
  take_levels (reduced, segment);
  segment->ground_clipped = wsi_classes_clipped_share (image, reduced);
  segment->tool_is_dark = segment->tool_level < segment->ground_level;
  segment->area_px = g_array_index (c->things->things, WsPatch, c->tool - 1).area *
                     (double)reduced->factor * reduced->factor;
  if (!may_clip && segment->ground_clipped > MAX_CLIPPED)
    trouble (segment, WS_RETAKE_OVER_EXPOSED, "%.0f %% of the ground is at full scale",
             100 * segment->ground_clipped);
  else
    segment->mask = wsi_mask_of_thing (image, c->things, c->tool, reduced->factor);
}

/* Cells of plain ground lie within this part of it; so many, as a share of all, may not: dust. */
#define PLAIN_PART 0.15
#define MAX_UNPLAIN 0.001

/* How much more than that part cells of a row are off plain ground: above 0, they are. */
static void
find_unplain (const WsReduced *reduced, const WsSegment *segment, guint y, double *off)
{
  const WsFieldRow half = wsi_field_row (&segment->threshold, (y + 0.5) / reduced->height);
  const float *light = reduced->light + (gsize)y * reduced->width;
  const double width = reduced->width, tool = segment->tool_level;
  for (int x = 0; x < (int)reduced->width; x++)
  {
    const double u = (x + 0.5) / width;
    const double ground = 2 * (half.flat + u * (half.slope + u * half.bend)) - tool;
    off[x] = fabs ((double)light[x] - ground) - PLAIN_PART * ground;
  }
}

/* One dark tool that comes in from the border of a plain ground: nothing else to look for, and no
 * time to spend. */
static gboolean
is_plain_silhouette (const WsReduced *reduced, const WsObject objects[2], const WsSegment *segment)
{
  const guint w = reduced->width, h = reduced->height;
  if (!segment->tool_is_dark || wsi_is_front_lit (segment->tool_level, segment->ground_level) ||
      objects[1].area > MAX_SECOND_SHARE * objects[0].area)
    return FALSE;
  g_autofree double *off = g_new (double, w);
  guint unplain = 0, touching = 0;
  for (guint y = 0; y < h; y++)
  {
    find_unplain (reduced, segment, y, off);
    for (guint x = 0; x < w; x++)
    {
      const gsize i = (gsize)y * w + x;
      if (x == 0 || y == 0 || x + 1 == w || y + 1 == h)
        touching += reduced->label[i] == objects[0].label ? 1 : 0;
      if (off[x] > 0 && !reduced->tool[i] && !wsi_reduced_is_near_other (reduced, x, y, 0))
        unplain++;
    }
  }
  return touching > 0 && unplain < MAX_UNPLAIN * w * h;
}

/* Number of the tool among the labels. */
static guint
choose_tool (const WsImage *image, WsReduced *reduced, const WsObject objects[2], gboolean may_clip,
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
  wsi_things_free (c.things);
  return label;
}

/* Of the tool's class, or of things. */
static double
share_beside (const WsReduced *reduced, guint label)
{
  const gsize n = (gsize)reduced->width * reduced->height;
  gsize tool = 0, beside = 0;
  for (gsize i = 0; i < n; i++)
  {
    tool += reduced->label[i] == label;
    beside += reduced->tool[i] && reduced->label[i] != label;
  }
  return tool > 0 ? (double)beside / (double)tool : 0;
}

static double
share_of_holes (const WsReduced *reduced, guint label)
{
  const gsize n = (gsize)reduced->width * reduced->height;
  g_autofree guint8 *filled = g_new (guint8, n);
  gsize tool = 0, all = 0;
  for (gsize i = 0; i < n; i++)
  {
    filled[i] = reduced->label[i] == label;
    tool += filled[i];
  }
  wsi_mask_fill_holes (filled, reduced->width, reduced->height);
  for (gsize i = 0; i < n; i++)
    all += filled[i];
  return all > 0 ? 1 - (double)tool / (double)all : 0;
}

/* What is lit from the front is unevenly so, by 0.05 of the step to the ground and more
 * (photographs and rendered tools); an evenly dark one is taken for a mixture where its blurred
 * edge stands out from a ground without noise. */
#define LEAST_UNEVEN 0.03

static gboolean
is_front_lit (const WsSegment *segment)
{
  const double step = fabs (segment->ground_level - segment->tool_level);
  return wsi_is_front_lit (segment->tool_level, segment->ground_level) ||
         (segment->mask != NULL && segment->tool_spread > LEAST_UNEVEN * step);
}

static WsSegment
find (const WsImage *image, gboolean is_backlit, gboolean may_clip)
{
  WsSegment segment = { .trouble = WS_RETAKE_NONE };
  g_auto (WsReduced) reduced = { 0 };
  wsi_reduced_init (image, &reduced);

  const double split = wsi_reduced_split (&reduced);
  segment.threshold = wsi_field_even (split);
  segment.tool_is_dark = is_backlit || wsi_reduced_bright_border (&reduced, split) > 0.5;
  wsi_classes_split (&reduced, &segment.threshold, segment.tool_is_dark);

  /* Twice: the first ground may hold parts of the tool where the light falls off. */
  for (guint pass = 0; pass < 2; pass++)
  {
    take_levels (&reduced, &segment);
    segment.threshold = wsi_classes_fit_ground (&reduced, segment.ground_level);
    for (guint k = 0; k < WS_FIELD_TERMS; k++)
      segment.threshold.c[k] *= 0.5;
    segment.threshold.c[0] += 0.5 * segment.tool_level;
    wsi_classes_split (&reduced, &segment.threshold, segment.tool_is_dark);
  }
  take_levels (&reduced, &segment);
  segment.ground_clipped = wsi_classes_clipped_share (image, &reduced);

  WsObject objects[2];
  wsi_classes_find_objects (&reduced, objects);
  const double cell = (double)reduced.factor * reduced.factor;
  segment.area_px = objects[0].area * cell;
  const double share = segment.area_px / ((double)image->width * image->height);
  const double sharpness = wsi_classes_sharpness (&reduced, objects[0].label,
                                                  fabs (segment.ground_level - segment.tool_level));
  if (!check_light (&segment, share, sharpness, may_clip))
    return segment;
  const guint label = is_backlit ? objects[only_object (objects, &segment)].label
                                 : choose_tool (image, &reduced, objects, may_clip, &segment);
  segment.is_front_lit = is_front_lit (&segment);
  if (segment.trouble != WS_RETAKE_NONE)
    return segment;
  segment.beside = share_beside (&reduced, label);
  segment.holes =
    segment.tool_is_dark || segment.mask != NULL ? 0 : share_of_holes (&reduced, label);
  segment.inside = wsi_classes_deepest (&reduced, label);
  return segment;
}

WsSegment
wsi_segment_find (const WsImage *image)
{
  return find (image, FALSE, FALSE);
}

WsSegment
wsi_segment_find_clipped (const WsImage *image)
{
  return find (image, FALSE, TRUE);
}

WsSegment
wsi_segment_find_backlit (const WsImage *image)
{
  return find (image, TRUE, TRUE);
}

void
wsi_segment_clear (WsSegment *segment)
{
  g_clear_pointer (&segment->mask, g_free);
}
