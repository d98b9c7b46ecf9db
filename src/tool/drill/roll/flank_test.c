/* Flanks by outlines that are computed from a known form: found where they are convex, refused
 * where they are flat or hollow. */
#include "base/testing.h"

#include <math.h>
#include <string.h>

#include "base/geometry.h"
#include "tool/drill/roll/flank.h"
#include "tool/drill/roll/flank_form.h"

#define RADIUS 200.0
#define N_FRAMES 30
#define HEEL 0.55 /* the flank ends so far behind its lip, radii */

static const double lips_curve[WS_LIP_N_UNKNOWNS] = { -0.58, 0.001, 0.15,  0, 0.002, -0.58, 0.001,
                                                      0.15,  0,     0.002, 0, 0,     0 };

/* The highest point on a line of sight, by trying all of it. */
static double
seen_height (const WsFlankForm *form, guint k, double turn, double across)
{
  const double c = cos (turn), s = sin (turn), *lip = &form->lips[k * WS_LIP_N];
  double best = -HUGE_VAL;
  for (double depth = -1; depth < 1; depth += 0.002)
  {
    const double x = across * c + depth * s, y = -across * s + depth * c, d = x - WS_LIP_MIDDLE;
    const double q = lip[WS_LIP_BEHIND] + lip[WS_LIP_BEHIND_BOW] * d * d - y;
    if (q >= 0 && q < HEEL && x > -0.3)
      best =
        MAX (best, MIN (wsi_flank_height (form, k, x, y), wsi_flank_height (form, 1 - k, -x, -y)));
  }
  return best;
}

/* A side from the tip outward, or back. */
static void
add_side (const WsFlankForm *form, WsRollFrame *frame, guint k, double side, double turn)
{
  for (guint i = 1; i < 100; i++)
  {
    const double across = 0.0095 * (side < 0 ? 100 - i : i);
    const double noise = 0.02 * sin (37.1 * i + 11.3 * turn + side);
    const WsPoint p =
      wsi_point (side * RADIUS * across, RADIUS * seen_height (form, k, turn, across) + noise);
    g_array_append_val (frame->uz, p);
    if (!(p.y > frame->tip))
      continue;
    frame->tip = p.y;
    frame->tip_at = frame->uz->len - 1;
  }
}

static WsRoll *
make_roll (const WsFlankForm *form)
{
  WsRoll *roll = wsi_roll_new ();
  roll->radius = RADIUS;
  for (guint i = 0; i < N_FRAMES; i++)
  {
    WsRollFrame *frame = g_new0 (WsRollFrame, 1);
    frame->uz = g_array_new (FALSE, FALSE, sizeof (WsPoint));
    frame->turn = wsi_radians (12.3 * i - 180);
    frame->half_width = RADIUS;
    frame->tip = -HUGE_VAL;
    const double halves = rint (frame->turn / G_PI), turn = frame->turn - halves * G_PI;
    const guint right = fabs (fmod (halves, 2)) > 0.5 ? 0 : 1;
    add_side (form, frame, 1 - right, -1, turn);
    add_side (form, frame, right, 1, turn);
    g_ptr_array_add (roll->frames, frame);
  }
  return roll;
}

static gboolean
find (const WsFlankForm *form, WsRollFlanks *flanks, WsRefusal *refusal)
{
  g_autoptr (WsRoll) roll = make_roll (form);
  WsRollLips lips = { .slide = 0.0003 };
  memcpy (lips.curve, form->lips, sizeof lips.curve);
  return wsi_roll_find_flanks (roll, &lips, flanks, refusal);
}

static void
test_convex_flanks_are_found (void **state)
{
  (void)state;
  const WsFlankForm form = { .lips = lips_curve,
                             .fall = { { 0.20, -0.06, 0.02, 0.28, -0.05, 0, 0.02, 0, 0 },
                                       { 0.22, -0.05, 0.01, 0.26, -0.04, 0, 0.01, 0, 0 } } };
  WsRollFlanks flanks;
  WsRefusal refusal = { 0 };
  assert_true (find (&form, &flanks, &refusal));
  for (guint k = 0; k < 2; k++)
  {
    assert_near (flanks.value[WS_ROLL_RELIEF_A + k], wsi_flank_relief (&form, k, 1), 0.006);
    assert_near (flanks.value[WS_ROLL_RELIEF_HALF_A + k], wsi_flank_relief (&form, k, 0.5), 0.006);
    assert_true (flanks.u[WS_ROLL_RELIEF_A + k] < 0.006);
  }
  assert_near (flanks.value[WS_ROLL_CHISEL_ANGLE], wsi_flank_chisel_angle (&form), 0.03);
}

static void
test_flat_and_hollow_flanks_are_refused (void **state)
{
  (void)state;
  for (guint i = 0; i < 2; i++)
  {
    const double bend = i == 0 ? 0 : -0.05;
    const WsFlankForm form = { .lips = lips_curve,
                               .fall = { { 0.2, 0, 0, bend }, { 0.2, 0, 0, bend } } };
    WsRollFlanks flanks;
    WsRefusal refusal = { 0 };
    assert_false (find (&form, &flanks, &refusal));
    assert_non_null (strstr (refusal.detail, "flat or hollow"));
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_convex_flanks_are_found),
    cmocka_unit_test (test_flat_and_hollow_flanks_are_refused),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
