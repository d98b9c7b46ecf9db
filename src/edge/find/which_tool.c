#include "edge/find/which_tool.h"

#include "edge/find/rectangle.h"
#include "maths/stats.h"

#include <math.h>

/* Smaller things are dust: as a share of the picture, and of the tool. */
#define MIN_PICTURE_SHARE 5e-4
#define MAX_SECOND_SHARE 0.1

/* Fewer cells on the border are a corner that just reaches it. */
#define MIN_TOUCHING 4

/* A thing's border shows at least this part of `least` within three cells; shades don't. */
#define MIN_SHARP 0.5

/* Of a neighbour that the border cuts less than this part of the tool's area shows: beside a tool
 * that is whole, and beside one that the border cuts as well.  A ring's equal, seen to its middle
 * at most, shows half; own choice. */
#define MAX_SLICE_BY_WHOLE 0.6
#define MAX_SLICE_BY_HELD 0.3

gboolean
wsi_is_cut_neighbour (const WsPatch *other, const WsPatch *tool, guint width, guint height)
{
  const double most = tool->touching < MIN_TOUCHING ? MAX_SLICE_BY_WHOLE : MAX_SLICE_BY_HELD;
  return other->touching >= MIN_TOUCHING && other->area < most * tool->area &&
         wsi_patch_is_slice (other, width, height);
}

static const WsPatch *
thing_at (const WsThings *things, guint label)
{
  return &g_array_index (things->things, WsPatch, label - 1);
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
  return found->len > 0 ? wsi_median ((double *)(void *)found->data, found->len) : 0;
}

double
wsi_things_sharpness (const WsThings *things, guint label)
{
  const gsize n = (gsize)things->width * things->height;
  g_autofree double *values = g_new (double, n);
  gsize found = 0;
  for (gsize i = 0; i < n; i++)
    if (things->label[i] == label)
      values[found++] = fabs ((double)things->apart[i]);
  const double apart = found > 0 ? wsi_median (values, found) : 0;
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
    const WsPatch *thing = thing_at (things, label);
    if ((thing->touching >= MIN_TOUCHING) != from_border || thing->area < least ||
        (best != 0 && thing->area <= thing_at (things, best)->area))
      continue;
    if (border_change (things, label) > MIN_SHARP * things->least)
      best = label;
  }
  return best;
}

/* The held one, unless it is but a slice of the whole one's neighbour. */
static guint
choose (const WsThings *things, guint held, guint whole)
{
  if (held == 0 || whole == 0)
    return held != 0 ? held : whole;
  const gboolean is_slice = wsi_is_cut_neighbour (thing_at (things, held), thing_at (things, whole),
                                                  things->width, things->height);
  return is_slice && !wsi_things_is_rectangle (things, whole) ? whole : held;
}

guint
wsi_things_tool (const WsThings *things, WsRetake *reason, char detail[96])
{
  const guint held = largest (things, TRUE), loose = largest (things, FALSE);
  const guint tool = choose (things, held, loose);
  *reason = WS_RETAKE_NO_TOOL;
  g_snprintf (detail, 96, "nothing stands out from the ground");
  if (tool == 0)
    return 0;
  if (held == 0 && wsi_things_is_rectangle (things, tool))
  {
    g_snprintf (detail, 96, "there is only a rectangle that lies wholly inside the picture");
    return 0;
  }
  *reason = WS_RETAKE_SEVERAL_TOOLS;
  const double area = thing_at (things, tool)->area;
  for (guint label = 1; label <= things->things->len; label++)
  {
    const WsPatch *thing = thing_at (things, label);
    if (label == tool || thing->area <= MAX_SECOND_SHARE * area ||
        border_change (things, label) <= MIN_SHARP * things->least)
      continue;
    const gboolean beside = tool == held && thing->touching < MIN_TOUCHING;
    if ((beside && wsi_things_is_rectangle (things, label)) ||
        wsi_is_cut_neighbour (thing, thing_at (things, tool), things->width, things->height))
      continue;
    g_snprintf (detail, 96, "a second object has %.0f %% of the first one's area",
                100 * thing->area / area);
    return 0;
  }
  *reason = WS_RETAKE_NONE;
  detail[0] = '\0';
  return tool;
}
