#include "tool/blade/lines.h"

#include "base/geometry.h"
#include "optics/deviate.h"
#include "optics/lens.h"
#include "optics/unknown_lens.h"
#include "result/build.h"
#include "tool/silhouette.h"

WsBladeLines
wsi_blade_lines_of (const WsBlade *blade)
{
  WsBladeLines lines = { .n = blade->n_edges };
  for (guint e = 0; e < lines.n; e++)
  {
    const WsLineFit *line = &blade->edges[e].line;
    lines.centre[e] = line->centre;
    lines.angle[e] = atan2 (line->direction.y, line->direction.x);
  }
  return lines;
}

WsPoint
wsi_blade_lines_direction (const WsBladeLines *lines, guint edge)
{
  return wsi_point (cos (lines->angle[edge]), sin (lines->angle[edge]));
}

/* Out of the tool, which lies to the right of the walk. */
static WsPoint
outward (const WsBladeLines *lines, guint edge)
{
  return wsi_point (sin (lines->angle[edge]), -cos (lines->angle[edge]));
}

WsPoint
wsi_blade_lines_corner (const WsBladeLines *lines, guint k)
{
  const WsPoint a = wsi_blade_lines_direction (lines, k);
  const WsPoint b = wsi_blade_lines_direction (lines, k + 1);
  const WsPoint run = wsi_point_sub (lines->centre[k + 1], lines->centre[k]);
  return wsi_point_along (lines->centre[k], wsi_point_cross (run, b) / wsi_point_cross (a, b), a);
}

/* ---- Edges ----------------------------------------------------------------------------- */

/* Place and direction of each edge, then all edges together. */
static guint
together (const WsBladeLines *lines)
{
  return 2 * lines->n;
}

static WsBladeLines
disturbed (const WsBladeLines *lines, guint input, double by)
{
  WsBladeLines moved = *lines;
  for (guint e = 0; e < lines->n; e++)
  {
    if (input == 2 * e || input == together (lines))
      moved.centre[e] = wsi_point_along (moved.centre[e], by, outward (lines, e));
    else if (input == 2 * e + 1)
      moved.angle[e] += by;
  }
  return moved;
}

static double
input_u (const WsBlade *blade, const WsImage *image, guint input)
{
  if (input == 2 * blade->n_edges)
    return wsi_silhouette_level_u (image, blade->outline);
  const WsBladeEdge *edge = &blade->edges[input / 2];
  return wsi_silhouette_light_factor (blade->outline) *
         (input % 2 == 0 ? edge->u_place : edge->u_angle);
}

static void
add_input (const WsBladeModel *model, const WsBladeLines *lines, guint input, double u,
           const WsOptics *optics, WsQuantity *const *quantities)
{
  double more[WS_BLADE_MAX_FROM_LINES], less[WS_BLADE_MAX_FROM_LINES];
  const double step = MAX (u, 1e-9);
  const WsBladeLines up = disturbed (lines, input, step), down = disturbed (lines, input, -step);
  model->evaluate (&up, model->how, more);
  model->evaluate (&down, model->how, less);
  const char *name =
    input == together (lines) ? "tonal encoding and threshold" : model->edge_names[input];
  for (guint i = 0; i < model->n; i++)
  {
    const double unit = wsi_quantity_per_seen (quantities[i], optics);
    const double slope = (more[i] - less[i]) / (2 * step) * unit;
    if (quantities[i]->known && fabs (slope) > 1e-12)
      wsi_quantity_add_line (quantities[i], name, WS_DISTRIBUTION_NORMAL, u, slope);
  }
}

/* ---- The lens --------------------------------------------------------------------------- */

/* The lines as they would have come out with `other` in place of `lens`. */
static WsBladeLines
seen_with (const WsLens *lens, const WsLens *other, const WsBlade *blade, const WsBladeLines *lines)
{
  const double shift = other->parameters[WS_LENS_EDGE_SHIFT] - lens->parameters[WS_LENS_EDGE_SHIFT];
  WsBladeLines seen = *lines;
  for (guint e = 0; e < lines->n; e++)
  {
    const WsLineFit *line = &blade->edges[e].line;
    const WsPoint along = wsi_blade_lines_direction (lines, e);
    const WsPoint from =
      wsi_lens_deviate (lens, other, wsi_point_along (lines->centre[e], line->t_low, along));
    const WsPoint to =
      wsi_lens_deviate (lens, other, wsi_point_along (lines->centre[e], line->t_high, along));
    const WsPoint run = wsi_point_sub (to, from);
    seen.angle[e] = atan2 (run.y, run.x);
    seen.centre[e] = wsi_point_along (wsi_point_along (from, 0.5, run), shift, outward (lines, e));
  }
  return seen;
}

/* Sets how much each of the model's quantities is uncertain by the lens, px and rad. */
static void
lens_u (const WsBladeModel *model, const WsBlade *blade, const WsBladeLines *lines,
        const WsLens *lens, double u[WS_BLADE_MAX_FROM_LINES])
{
  WsLens deviations[WS_LENS_MAX];
  const guint n = wsi_lens_deviations (lens, deviations);
  double at[WS_BLADE_MAX_FROM_LINES];
  model->evaluate (lines, model->how, at);
  for (guint i = 0; i < model->n; i++)
    u[i] = 0;
  for (guint k = 0; k < n; k++)
  {
    double other[WS_BLADE_MAX_FROM_LINES];
    const WsBladeLines seen = seen_with (lens, &deviations[k], blade, lines);
    model->evaluate (&seen, model->how, other);
    for (guint i = 0; i < model->n; i++)
      u[i] = hypot (u[i], other[i] - at[i]);
  }
}

static void
add_lens (const WsBladeModel *model, const WsBlade *blade, const WsBladeLines *lines,
          const WsImage *image, const WsOptics *optics, WsQuantity *const *quantities)
{
  double u[WS_BLADE_MAX_FROM_LINES];
  const WsLens unknown = wsi_unknown_lens (optics, image->width, image->height);
  lens_u (model, blade, lines, optics->lens != NULL ? optics->lens : &unknown, u);
  for (guint i = 0; i < model->n; i++)
  {
    if (optics->lens != NULL && quantities[i]->known)
      wsi_quantity_add_seen_line (quantities[i], "calibration", WS_DISTRIBUTION_NORMAL, u[i],
                                  optics);
    wsi_quantity_add_lens_line (quantities[i], u[i], optics);
  }
}

double
wsi_blade_lens_bow (const WsBladeEdge *edge, const WsImage *image, const WsOptics *optics)
{
  const WsLineFit *line = &edge->line;
  if (optics->lens != NULL)
    return 0;
  const WsLens lens = wsi_unknown_lens (optics, image->width, image->height);
  return wsi_unknown_lens_bow (&lens, wsi_point_along (line->centre, line->t_low, line->direction),
                               wsi_point_along (line->centre, line->t_high, line->direction));
}

/* How well the edge is put where the calibration's plane was, mm; as for drills, an assumption,
 * no source.  A telecentric lens doesn't mind. */
#define PLANE_U_MM 0.02

static void
add_plane (WsQuantity *quantity, const WsOptics *optics)
{
  const double distance = ws_lens_distance_mm (optics->lens, NULL);
  if (isfinite (distance) && quantity->info->unit == WS_UNIT_LENGTH)
    wsi_quantity_add_line (quantity, "alignment: blade off the calibrated plane",
                           WS_DISTRIBUTION_NORMAL, PLANE_U_MM, quantity->value / distance);
}

/* ---- All of it --------------------------------------------------------------------------- */

void
wsi_blade_lines_budget (const WsBladeModel *model, const WsBlade *blade, const WsImage *image,
                        const WsOptics *optics, WsQuantity *const *quantities)
{
  const WsBladeLines lines = wsi_blade_lines_of (blade);
  for (guint input = 0; input <= together (&lines); input++)
    add_input (model, &lines, input, input_u (blade, image, input), optics, quantities);
  add_lens (model, blade, &lines, image, optics, quantities);
}

void
wsi_blade_lines_finish (WsQuantity *quantity, gboolean from_lines, const WsOptics *optics)
{
  if (!quantity->known)
    return;
  if (optics->lens != NULL)
    add_plane (quantity, optics);
  if (optics->lens == NULL || !from_lines)
    wsi_quantity_add_scale_line (quantity, optics);
  wsi_quantity_combine (quantity);
}
