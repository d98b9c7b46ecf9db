/*
 * What tests of budgets share: a budget against a list of what its lines should be, and the noise
 * of rendered edges.  Inputs are known by docs/methods or estimated anew from the scene.
 */
#ifndef REFERENCE_BUDGET_LINES_H
#define REFERENCE_BUDGET_LINES_H

#include "edge/testing.h"

#include <glib/gstdio.h>
#include <whetsight/view.h>

#define RELATIVE_SCALE 2e-4
#define DEGREES (180 / G_PI) /* in a radian */

/* As factors: what docs/methods says; what follows from measured values; estimates. */
#define SAID 1.001
#define NEAR 1.1
#define ROUGH 2.0

/* ---- Lines ------------------------------------------------------------------------- */

typedef struct
{
  const char *name;
  double u, within_u;         /* of the input, and by which factor it may differ */
  double slope, within_slope; /* in size, in the quantity's unit; 0: the quantity is 0 */
} Line;

static inline void
assert_within (const char *stem, const char *name, const char *what, double value, double expected,
               double factor)
{
  const gboolean fits =
    expected == 0 ? value == 0 : value >= expected / factor && value <= expected * factor;
  if (!fits)
    fail_msg ("%s, \"%s\": %s is %g, not %g within a factor of %g", stem, name, what, value,
              expected, factor);
}

/* Part of U below which it's enough that a line is there and small: slopes that cancel nearly. */
#define COUNTS 1e-4

/* What rounding leaves of a line that doesn't count. */
static inline gboolean
is_rounding (const WsQuantity *quantity, const WsBudgetLine *line)
{
  const double contribution = ws_budget_line_contribution (line);
  return contribution > 0 && contribution < 1e-9 * quantity->U;
}

/* The budget has these lines in this order and no others, and U follows from them. */
static inline void
check (const WsResult *result, const char *stem, const Line *lines, gsize n)
{
  const WsQuantity *quantity = ws_result_quantity (result, stem);
  if (quantity == NULL || !quantity->known)
    fail_msg ("%s isn't known", stem);
  gsize at = 0;
  double squares = 0;
  for (guint i = 0; i < quantity->budget->len; i++)
  {
    const WsBudgetLine *line = &g_array_index (quantity->budget, WsBudgetLine, i);
    squares += pow (ws_budget_line_contribution (line), 2);
    if (is_rounding (quantity, line))
      continue;
    if (at == n || !g_str_equal (line->name, lines[at].name))
      fail_msg ("%s: \"%s\" in place of \"%s\"", stem, line->name, at < n ? lines[at].name : "");
    const Line *expected = &lines[at++];
    if (fmax (ws_budget_line_contribution (line), expected->u * expected->slope) <
        COUNTS * quantity->U)
      continue;
    assert_within (stem, line->name, "u", line->u, expected->u, expected->within_u);
    assert_within (stem, line->name, "the slope", fabs (line->sensitivity), expected->slope,
                   expected->within_slope);
  }
  if (at < n)
    fail_msg ("%s: no line \"%s\"", stem, lines[at].name);
  assert_near (quantity->U / (quantity->k * sqrt (squares)), 1, 1e-9);
}

#define CHECK(result, stem, ...)                                                                   \
  check (result, stem, (const Line[]){ __VA_ARGS__ },                                              \
         sizeof ((const Line[]){ __VA_ARGS__ }) / sizeof (Line))

static inline double
value_of (const WsResult *result, const char *stem)
{
  const WsQuantity *quantity = ws_result_quantity (result, stem);
  assert_non_null (quantity);
  return quantity->value;
}

static inline guint
n_known (const WsResult *result)
{
  guint n = 0;
  for (guint i = 0; i < result->quantities->len; i++)
    n += ((const WsQuantity *)g_ptr_array_index (result->quantities, i))->known ? 1 : 0;
  return n;
}

static inline const WsBudgetLine *
line_of (const WsResult *result, const char *stem, const char *name)
{
  const WsQuantity *quantity = ws_result_quantity (result, stem);
  assert_non_null (quantity);
  for (guint i = 0; i < quantity->budget->len; i++)
  {
    const WsBudgetLine *line = &g_array_index (quantity->budget, WsBudgetLine, i);
    if (g_str_equal (line->name, name))
      return line;
  }
  fail_msg ("%s has no line \"%s\"", stem, name);
  return NULL;
}

/* Of an input that another budget has, too. */
static inline double
u_of (const WsResult *result, const char *stem, const char *name)
{
  return line_of (result, stem, name)->u;
}

/* In size. */
static inline double
slope_of (const WsResult *result, const char *stem, const char *name)
{
  return fabs (line_of (result, stem, name)->sensitivity);
}

/* A length follows the scale in proportion. */
static inline Line
scale_line (const WsResult *result, const char *stem, double mm)
{
  return (Line){ "scale", RELATIVE_SCALE * mm, SAID, fabs (value_of (result, stem)) / mm, SAID };
}

/* ---- A lens that nobody calibrated --------------------------------------------------- */

/* What a lens of unknown distortion is allowed: 0.3 % in the corner, as likely one way as the
 * other; and anywhere 0.05 degrees or a part in a thousand (docs/methods/common.md, K34). */
#define CORNER_U (0.003 / sqrt (3))
#define ANYWHERE_DEG 0.05
#define ANYWHERE_SHARE 0.001

/* Where such a lens shows a point, its middle at (0, 0) and its corner `corner` away from that. */
static inline WsPoint
bent (WsPoint p, double corner)
{
  return wsi_point_along (p, CORNER_U * wsi_point_dot (p, p) / (corner * corner), p);
}

static inline double
half_diagonal (const SceneCamera *camera)
{
  return 0.5 * hypot (camera->width - 1.0, camera->height - 1.0) * camera->mm_per_px;
}

static inline Line
lens_line (double anywhere, double here)
{
  return (Line){ "unknown lens", hypot (anywhere, here), 1.3, 1, SAID };
}

/* ---- Pictures ---------------------------------------------------------------------- */

/* The caller owns the result. */
static inline WsResult *
measured (const char *view, const SceneImage *picture, const WsToolCard *card, double mm_per_px)
{
  g_autofree char *folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  g_autofree char *path = g_build_filename (folder, "picture.png", NULL);
  assert_true (scene_image_save (picture, path, 0));
  g_autoptr (WsImage) image = ws_image_load (path, NULL, ws_view_find (view)->needs, NULL);
  g_remove (path);
  g_rmdir (folder);
  assert_non_null (image);
  /* Who rendered it answers for its light. */
  if (image->tone == WS_TONE_LINEAR)
    image->flags |= WS_IMAGE_TOLD_LINEAR;
  const WsOptics optics = { .has_scale = TRUE,
                            .mm_per_px = mm_per_px,
                            .u_mm_per_px = RELATIVE_SCALE * mm_per_px,
                            .lens = NULL };
  WsResult *result = ws_measure (ws_view_find (view), image, card, &optics);
  assert_int_equal (result->reason, WS_RETAKE_NONE);
  return result;
}

#define READ 0.01
#define BLUR_PX 1.0

static inline SceneCamera
noisy_camera (guint width, guint height)
{
  SceneCamera camera = plain_camera (width, height);
  camera.roll_deg = 7;
  camera.read = READ;
  camera.blur_px = BLUR_PX;
  camera.seed = 3;
  return camera;
}

/* Lens and pixel together. */
static inline double
blur (void)
{
  return sqrt (BLUR_PX * BLUR_PX + 1 / 12.0);
}

/* The least that noise leaves of an edge's place in one row: r^2 over the sum of the squared slope,
 * which is 1 / (2 s sqrt (pi)) for an edge blurred by s (Cramér and Rao). */
static inline double
point_u (void)
{
  return READ * sqrt (2 * blur () * sqrt (G_PI));
}

/* Of a straight edge n px long (docs/methods/blade.md, B12, B38, B39). */
static inline double
place_u (double n)
{
  return hypot (0.003, point_u () / sqrt (n));
}

static inline double
direction_u (double n)
{
  return hypot (0.003 / n, sqrt (12 / n) * point_u () / n);
}

#endif
