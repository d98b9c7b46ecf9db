#include "tool/silhouette.h"

#include "base/geometry.h"
#include "edge/find/exposure.h"
#include "edge/find/segment.h"
#include "edge/find/shelf.h"
#include "edge/jag.h"
#include "edge/plumb.h"
#include "edge/skipped.h"
#include "edge/spread.h"
#include "image/resampled.h"
#include "optics/correct.h"
#include "optics/unknown_lens.h"
#include "result/build.h"
#include "tool/silhouette_tone.h"

/* An edge blurred over more than this share of the tool's size hides corners and chips: as for
 * drills. */
#define MAX_BLUR_SHARE 0.012
#define MIN_BLUR_LIMIT_PX 4.0

/* Blur that differs this much between directions comes from motion. */
#define MOTION_RATIO 1.7
#define MOTION_MIN_PX 3.0

/* RMS residual over step of a good scan line stays below this. */
#define MAX_NOISE 0.12

/* Streaks and bands of light on a front-lit tool move its edge by more than noise does, and alike
 * over stretches longer than a jackknife's blocks: own trials on rendered drills with streaks. */
#define LIGHT_POINTS 2.0
#define LIGHT_LINES 1.8

/* More of a front-lit outline left out, or a wider gap, hides what a view may ask for.  Where a
 * view looks after gaps itself, still so much. */
#define MAX_LEFT_OUT 0.05
#define MAX_GAP_PX 12.0
#define MAX_LEFT_OUT_PARTS 0.25

/* One in ten points of an outline lies off its neighbours' middle by 2 to 2.5 times their standard
 * deviation, after JPEG by up to 4 times; where the picture was resized without smoothing by 5.5 to
 * 9 times (own trials).  Less than so many px bends nothing. */
#define MAX_JAG 5.0
#define MAX_JAG_PX 0.08

/* No lens is so sharp: with the pixels' own squares edges spread over more (photographs and
 * rendered pictures: 0.47 px and more).  Such a picture was made smaller, and steps of its outline
 * that can hardly be seen hide edges that are off by a third of a pixel. */
#define TOO_SHARP_PX 0.42
#define MAX_SHARP_JAG_PX 0.02

/* What a view asks for. */
typedef enum
{
  WHOLE,
  WITH_FACES, /* some may be nearly as light as the ground */
  IN_PARTS    /* gaps and all */
} Want;

static gboolean
stands_out (const WsOutline *outline, Want want, WsResult *result)
{
  const gboolean in_parts = want == IN_PARTS;
  const double most = in_parts ? MAX_LEFT_OUT_PARTS : MAX_LEFT_OUT;
  if (outline->left_out <= most && (in_parts || outline->widest_gap_px <= MAX_GAP_PX))
    return TRUE;
  return wsi_result_retake (result, WS_RETAKE_LOW_CONTRAST,
                            "along %.0f %% of its outline the tool is as bright as the ground",
                            100 * outline->left_out);
}

/* Before a light a tool is evenly dark: its light then differs by 0.01 of the step to the ground,
 * on a bench by 0.08 and more (photographs of drills on wood). */
#define MAX_BACKLIT_SPREAD 0.03

static gboolean
is_backlit (const WsSegment *segment)
{
  const double step = fabs (segment->ground_level - segment->tool_level);
  return segment->tool_is_dark && !segment->is_front_lit &&
         segment->tool_spread <= MAX_BACKLIT_SPREAD * step;
}

static gboolean
is_clean (const WsSegment *segment, const WsOutline *outline, WsResult *result)
{
  if (outline->noise <= MAX_NOISE)
    return TRUE;
  /* Shadows, reflections and the ground's own pattern cross the edge of a tool that lies on a
   * bench: no cleaning helps there. */
  if (!is_backlit (segment))
    return wsi_result_retake (result, WS_RETAKE_LOW_CONTRAST,
                              "the tool is lit from the front, and its outline is no clean step "
                              "from the ground; light it from behind");
  return wsi_result_retake (result, WS_RETAKE_DIRTY_EDGE,
                            "the outline is no clean step from ground to tool");
}

double
wsi_silhouette_blur_limit (double area_px)
{
  return MAX (MIN_BLUR_LIMIT_PX, MAX_BLUR_SHARE * sqrt (area_px));
}

static gboolean
passes_gates (const WsSegment *segment, const WsOutline *outline, WsResult *result)
{
  /* Of what isn't backlit neither focus nor motion can be told by such an outline. */
  if (!is_backlit (segment) && !is_clean (segment, outline, result))
    return FALSE;
  if (outline->blur_max_px > MOTION_MIN_PX &&
      outline->blur_max_px > MOTION_RATIO * outline->blur_min_px)
    return wsi_result_retake (result, WS_RETAKE_MOTION_BLUR,
                              "the edge is blurred over %.1f px one way and %.1f px the other",
                              outline->blur_max_px, outline->blur_min_px);
  if (outline->blur_px > wsi_silhouette_blur_limit (segment->area_px))
    return wsi_result_retake (result, WS_RETAKE_OUT_OF_FOCUS, "the edge is blurred over %.1f px",
                              outline->blur_px);
  const double jag = wsi_outline_jag (outline);
  const double most = outline->blur_px < TOO_SHARP_PX ? MAX_SHARP_JAG_PX : MAX_JAG_PX;
  if (!outline->front_lit && jag > most && jag > MAX_JAG * wsi_silhouette_point_u (outline))
    return wsi_result_retake (result, WS_RETAKE_PIXELS_NOT_SQUARE,
                              "the outline goes in steps of %.2f px, as after resizing without "
                              "smoothing",
                              jag);
  return is_clean (segment, outline, result);
}

/* Stretches of tool edge between stretches of frame, each a polyline. */
static void
mark_outline (const WsOutline *outline, WsResult *result)
{
  const WsEdgePoint *points = (const WsEdgePoint *)(void *)outline->points->data;
  g_autoptr (GArray) run = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  for (guint i = 0; i <= outline->points->len; i++)
  {
    if (i < outline->points->len && !points[i].on_frame)
    {
      const WsPoint p = { points[i].x, points[i].y };
      g_array_append_val (run, p);
      continue;
    }
    if (run->len > 1)
      wsi_result_add_mark (result, WS_MARK_OUTLINE, NULL, (WsPoint *)(void *)run->data, run->len);
    g_array_set_size (run, 0);
  }
}

/* A stretch of so little that is clipped, or isn't the tool's border, can't bend a line that leaves
 * damage out. */
#define MAX_CLIPPED 0.05
#define MAX_SHELF 0.04

/* What is known of the tool while its outline is sought. */
typedef struct
{
  const WsImage *image;
  WsSegment segment;
  WsOutline *outline; /* in picture coordinates */
  gboolean is_inside; /* some of the outline isn't the border to the ground */
} Trace;

/* The outline by a threshold near the ground, if that is the better one. */
static void
try_outer (Trace *trace, double inside)
{
  WsSegment raised = trace->segment;
  wsi_shelf_take_in (&raised);
  g_autoptr (WsOutline) outer = wsi_outline_trace (trace->image, &raised);
  if (outer == NULL)
    return;
  const double still_inside = wsi_shelf_share (trace->image, &trace->segment, outer);
  if (still_inside > MAX_SHELF ||
      still_inside + wsi_shelf_unclean (outer) >= inside + wsi_shelf_unclean (trace->outline))
    return;
  trace->is_inside = FALSE;
  wsi_outline_free (trace->outline);
  trace->outline = g_steal_pointer (&outer);
}

/* Round faces nearly as light as the ground too, if that can be had. */
static void
take_in_faces (Trace *trace)
{
  const double inside = wsi_shelf_share (trace->image, &trace->segment, trace->outline);
  trace->is_inside = inside > MAX_SHELF;
  if (trace->is_inside || wsi_shelf_may_be (&trace->segment))
    try_outer (trace, inside);
}

/* A ground at full scale somewhere is no harm: the tool is looked for all the same, and only a
 * ground that is clipped at the outline is refused. */
static WsRetake
find_tool (Trace *trace, Want want)
{
  const WsSegment seen = wsi_segment_find (trace->image);
  trace->segment =
    seen.trouble == WS_RETAKE_OVER_EXPOSED ? wsi_segment_find_clipped (trace->image) : seen;
  WsRetake reason = trace->segment.trouble;
  if (reason == WS_RETAKE_NONE)
    trace->outline = wsi_outline_trace (trace->image, &trace->segment);
  if (reason == WS_RETAKE_NONE && trace->outline == NULL)
    reason = WS_RETAKE_OUT_OF_FOCUS;
  if (reason == WS_RETAKE_NONE && want == WITH_FACES && trace->segment.mask == NULL)
    take_in_faces (trace);
  wsi_segment_clear (&trace->segment);
  if (seen.trouble == WS_RETAKE_NONE ||
      (reason == WS_RETAKE_NONE &&
       wsi_exposure_clipped (trace->image, trace->outline) <= MAX_CLIPPED))
    return reason;
  trace->segment = seen;
  return seen.trouble;
}

/* Less beside the tool, as part of its area, is dust. */
#define WORTH_TELLING 0.02

static void
tell_beside (const WsSegment *segment, WsResult *result)
{
  if (segment->beside > WORTH_TELLING)
    wsi_result_add_finding (result, "beside-tool",
                            g_strdup_printf ("What else lies in the picture, %.0f %% of the tool's "
                                             "area, small or cut off by the picture's border, "
                                             "was left out.",
                                             100 * segment->beside),
                            NULL);
}

/* A panel's noise tells what was done to the picture since; a calibrated near camera knows the
 * shape of its pixels. */
static gboolean
is_as_taken (const WsImage *image, const WsOptics *optics, const WsSegment *segment,
             WsResult *result)
{
  const gboolean knows = optics->lens != NULL && optics->lens->model == WS_LENS_PINHOLE;
  if (knows || !is_backlit (segment))
    return TRUE;
  double may_be;
  const WsResampled resampled = wsi_image_resampled (image, NULL, &may_be);
  if (resampled == WS_RESAMPLED_LITTLE)
    return wsi_result_retake (result, WS_RETAKE_PIXELS_NOT_SQUARE,
                              "its noise may show that it was squeezed or skewed by %.1f %%; with "
                              "more bits, or a more even light, it would tell",
                              100 * may_be);
  if (resampled == WS_RESAMPLED_UNEVENLY)
    return wsi_result_retake (result, WS_RETAKE_PIXELS_NOT_SQUARE,
                              "its noise shows that it was resized along one side only, or skewed");
  return TRUE;
}

/* Compression has a pattern of its own. */
static gboolean
has_all_its_lines (const WsImage *image, const WsOutline *outline, WsResult *result)
{
  const double turn = image->lossy ? 0 : wsi_outline_skipped (outline);
  if (!(turn > 0))
    return TRUE;
  return wsi_result_retake (result, WS_RETAKE_PIXELS_NOT_SQUARE,
                            "edges jump in turns of %.2g rows and columns: it was made smaller by "
                            "leaving out some of them",
                            turn);
}

/* A blade's or a form tool's face is lit as a whole, but for a hole to clamp it by. */
#define MOST_HOLES 0.15

/* A light with dark things before it, and dark about it, looks like a bright tool.  Drills have
 * dark flutes. */
static gboolean
is_no_lamp (const WsSegment *segment, Want want, WsResult *result)
{
  if (want == IN_PARTS || segment->holes <= MOST_HOLES)
    return TRUE;
  return wsi_result_retake (
    result, WS_RETAKE_WRONG_VIEW,
    "%.0f %% of what was found is as dark as the ground, as of a light with "
    "things before it; let the light fill the picture, or show the tool "
    "alone",
    100 * segment->holes);
}

static WsOutline *
trace_tool (const WsImage *image, const WsOptics *optics, Want want, WsResult *result)
{
  Trace trace = { .image = image };
  const WsRetake reason = find_tool (&trace, want);
  g_autoptr (WsOutline) outline = trace.outline;
  if (reason != WS_RETAKE_NONE)
  {
    wsi_result_retake (result, reason, "%s",
                       reason == trace.segment.trouble ? trace.segment.detail
                                                       : "no sharp outline could be followed");
    return NULL;
  }
  if (!is_no_lamp (&trace.segment, want, result))
    return NULL;
  outline->spread = wsi_edge_spread (image, outline);
  outline->backlit = is_backlit (&trace.segment);
  outline->evenly_lit = wsi_silhouette_is_evenly_lit (&trace.segment);
  if (outline->backlit && !has_all_its_lines (image, outline, result))
    return NULL;
  wsi_optics_correct (optics, outline);
  if (!passes_gates (&trace.segment, outline, result) ||
      !wsi_silhouette_tone_passes (image, outline, result) || !stands_out (outline, want, result))
    return NULL;
  if (!is_as_taken (image, optics, &trace.segment, result))
    return NULL;
  if (trace.is_inside)
  {
    wsi_result_retake (result, WS_RETAKE_LOW_CONTRAST,
                       "a face of the tool is nearly as light as the ground");
    return NULL;
  }
  /* Before this nobody knows whether it is the tool's. */
  mark_outline (outline, result);
  tell_beside (&trace.segment, result);
  return g_steal_pointer (&outline);
}

/* Beyond what its own noise and the tool's bows explain; more than lenses for measuring have. */
#define BENT_SIGMAS 2.0

void
wsi_silhouette_tell_bend (double distortion, const WsOptics *told, WsResult *result)
{
  if (fabs (distortion) <= wsi_unknown_lens_distortion (told))
    return;
  wsi_result_add_finding (
    result, "lens-bends",
    g_strdup_printf ("What is straight on the tool is bowed as by a lens that shifts the picture's "
                     "corners by %.1f %%: U allows for that. Calibrate the lens, or measure in the "
                     "picture's middle.",
                     100 * fabs (distortion)),
    NULL);
}

WsOptics
wsi_silhouette_optics (const WsImage *image, const WsOutline *outline, const WsOptics *optics,
                       WsResult *result)
{
  WsOptics seen = *optics;
  if (optics->lens != NULL)
    return seen;
  const WsPlumb plumb = wsi_plumb_find (outline, image->width, image->height);
  const double most = fabs (plumb.distortion) + BENT_SIGMAS * plumb.u;
  if (!(fabs (plumb.distortion) > BENT_SIGMAS * plumb.u) ||
      most <= wsi_unknown_lens_distortion (optics))
    return seen;
  seen.lens_distortion = most;
  wsi_silhouette_tell_bend (plumb.distortion, optics, result);
  return seen;
}

WsOutline *
wsi_silhouette_trace (const WsImage *image, const WsOptics *optics, WsResult *result)
{
  return trace_tool (image, optics, WHOLE, result);
}

WsOutline *
wsi_silhouette_trace_faces (const WsImage *image, const WsOptics *optics, WsResult *result)
{
  return trace_tool (image, optics, WITH_FACES, result);
}

WsOutline *
wsi_silhouette_trace_parts (const WsImage *image, const WsOptics *optics, WsResult *result)
{
  return trace_tool (image, optics, IN_PARTS, result);
}

double
wsi_silhouette_level_u (const WsImage *image, const WsOutline *outline)
{
  return wsi_silhouette_tone_u (image, outline) * outline->blur_px;
}

double
wsi_silhouette_light_factor (const WsOutline *outline)
{
  return outline->front_lit ? LIGHT_LINES : 1;
}

double
wsi_silhouette_point_u (const WsOutline *outline)
{
  return (outline->front_lit ? LIGHT_POINTS : 1) * outline->noise *
         sqrt (2 * sqrt (G_PI) * MAX (outline->blur_px, 0.3));
}

double
wsi_silhouette_rounding (const WsOutline *outline, double radius)
{
  return outline->blur_px * outline->blur_px / (2 * MAX (radius, outline->blur_px));
}
