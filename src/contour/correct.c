#include "contour/correct.h"

#include "base/geometry.h"

/* Chords leave the true curve by no more than this, mm: far below what a picture shows. */
#define CHORD_MM 1e-4
#define MAX_CHORDS 512

double
wsi_form_face_depth (const WsFormCorrection *correction, double r2)
{
  const double r1 = correction->smallest_radius;
  const double across = r1 * sin (correction->rake);
  return sqrt (MAX (r2 * r2 - across * across, 0)) - r1 * cos (correction->rake);
}

double
wsi_form_flank_depth (const WsFormCorrection *correction, double r2)
{
  return wsi_form_face_depth (correction, r2) * cos (correction->relief + correction->rake);
}

double
wsi_form_circular_radius (const WsFormCorrection *correction, double r2)
{
  const double R = correction->tool_radius, L = wsi_form_face_depth (correction, r2);
  const double angle = correction->relief + correction->rake;
  return sqrt (MAX (R * R + L * L - 2 * R * L * cos (angle), 0));
}

typedef struct
{
  const WsFormCorrection *correction;
  double least; /* y on the smallest radius */
} Mapping;

static WsPoint
on_face (const Mapping *mapping, WsPoint p)
{
  const double r2 = mapping->correction->smallest_radius + (p.y - mapping->least);
  return wsi_point (p.x, wsi_form_face_depth (mapping->correction, r2));
}

/* How far the chord's middle lies from the curve's between parts t and t + 1 / n. */
static double
chord_error (const Mapping *mapping, const WsContourSegment *segment, double t, double step)
{
  const WsPoint a = on_face (mapping, ws_contour_point (segment, t)),
                b = on_face (mapping, ws_contour_point (segment, t + step)),
                m = on_face (mapping, ws_contour_point (segment, t + 0.5 * step));
  return wsi_point_distance (m, wsi_point_along (a, 0.5, wsi_point_sub (b, a)));
}

/* So many chords that none leaves the curve by more than CHORD_MM; the error falls with the
 * square of their number. */
static guint
chords_for (const Mapping *mapping, const WsContourSegment *segment)
{
  double worst = 0;
  for (guint k = 0; k < 8; k++)
    worst = MAX (worst, chord_error (mapping, segment, k / 8.0, 1.0 / 8));
  const double n = ceil (8 * sqrt (worst / CHORD_MM));
  return (guint)CLAMP (n, 1, MAX_CHORDS);
}

static void
map_segment (const Mapping *mapping, const WsContourSegment *segment, GArray *mapped)
{
  const guint n = chords_for (mapping, segment);
  for (guint k = 0; k < n; k++)
  {
    const WsContourSegment chord = {
      .from = on_face (mapping, ws_contour_point (segment, (double)k / n)),
      .to = on_face (mapping, ws_contour_point (segment, (k + 1.0) / n)),
      .number = segment->number,
    };
    g_array_append_val (mapped, chord);
  }
}

WsContour *
wsi_form_correct (const WsContour *part, const WsFormCorrection *correction)
{
  double greatest;
  Mapping mapping = { .correction = correction };
  ws_contour_heights (part, &mapping.least, &greatest);
  WsContour *tool = g_new0 (WsContour, 1);
  tool->segments = g_array_new (FALSE, FALSE, sizeof (WsContourSegment));
  tool->is_closed = part->is_closed;
  tool->n_numbers = part->n_numbers;
  /* Without rake the face lies in the plane of the part's axis: nothing changes but the height. */
  const gboolean plain = !(fabs (correction->rake) > 0);
  for (guint i = 0; i < part->segments->len; i++)
  {
    WsContourSegment segment = g_array_index (part->segments, WsContourSegment, i);
    if (!plain)
    {
      map_segment (&mapping, &segment, tool->segments);
      continue;
    }
    segment.from.y -= mapping.least;
    segment.to.y -= mapping.least;
    segment.centre.y -= mapping.least;
    g_array_append_val (tool->segments, segment);
  }
  return tool;
}
