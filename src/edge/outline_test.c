#include "edge/outline.h"

#include "base/geometry.h"
#include "edge/testing.h"

#define WIDTH 640
#define HEIGHT 480

static WsOutline *
trace (const WsImage *image)
{
  g_auto (WsSegment) segment = wsi_segment_find (image);
  assert_int_equal (segment.trouble, WS_RETAKE_NONE);
  WsOutline *outline = wsi_outline_trace (image, &segment);
  assert_non_null (outline);
  return outline;
}

static const WsEdgePoint *
points_of (const WsOutline *outline)
{
  return (const WsEdgePoint *)(void *)outline->points->data;
}

/* Offset and turn of a half-plane's outline, by least squares, clear of the picture's border. */
typedef struct
{
  guint n;
  double offset; /* px, toward the light */
  double turn;   /* rad */
  double length;
} Straight;

static gboolean
is_clear (const WsEdgePoint *p)
{
  const double rim = 20.0;
  return !p->on_frame && p->x > rim && p->y > rim && p->x < WIDTH - 1 - rim &&
         p->y < HEIGHT - 1 - rim;
}

static Straight
fit_straight (const WsOutline *outline, const SceneEdge *edge)
{
  const double angle = wsi_radians (edge->angle_deg);
  const WsPoint out = wsi_point (cos (angle), sin (angle)), along = wsi_point (-out.y, out.x);
  double n = 0, t1 = 0, d1 = 0, tt = 0, td = 0, low = HUGE_VAL, high = -HUGE_VAL;
  for (guint i = 0; i < outline->points->len; i++)
  {
    const WsEdgePoint *p = points_of (outline) + i;
    if (!is_clear (p))
      continue;
    const WsPoint q = wsi_point (p->x - edge->x, p->y - edge->y);
    const double t = wsi_point_dot (q, along), d = wsi_point_dot (q, out);
    n++;
    t1 += t;
    d1 += d;
    tt += t * t;
    td += t * d;
    low = MIN (low, t);
    high = MAX (high, t);
  }
  const double turn = (td - t1 * d1 / n) / (tt - t1 * t1 / n);
  return (Straight){ (guint)n, d1 / n, turn, high - low };
}

/* Dark over less than half of the picture, or it would be the ground. */
static SceneEdge
half_plane (double angle_deg, GRand *random)
{
  const double back = g_rand_double_range (random, 30.0, 60.0), angle = wsi_radians (angle_deg);
  return (SceneEdge){ .shape = SCENE_HALF_PLANE,
                      .x = 0.5 * WIDTH - back * cos (angle),
                      .y = 0.5 * HEIGHT - back * sin (angle),
                      .angle_deg = angle_deg };
}

/* Along rows and columns, where every scan line sees the same phase of the pixel grid, and
 * at any angle. */
static void
a_straight_edge_is_where_it_is (void **state)
{
  (void)state;
  g_autoptr (GRand) random = g_rand_new_with_seed (1);
  for (guint round = 0; round < 24; round++)
  {
    const double angle = round < 12 ? 90.0 * round : g_rand_double_range (random, 0, 360);
    const SceneEdge edge = half_plane (angle, random);
    SceneCamera camera = plain_camera (WIDTH, HEIGHT);
    camera.blur_px = 0.6 + 0.3 * (round % 4);
    g_autoptr (WsImage) image = take_picture (&edge, &camera);
    g_autoptr (WsOutline) outline = trace (image);
    const Straight line = fit_straight (outline, &edge);
    assert_true (line.n > 250);
    assert_near (line.offset, 0.0, 0.003);
    assert_near (line.turn, 0.0, wsi_radians (5e-4));
    assert_near (outline->blur_px, sqrt (camera.blur_px * camera.blur_px + 1.0 / 12.0), 0.05);
    for (guint i = 0; i < outline->points->len; i++)
    {
      const WsEdgePoint *p = points_of (outline) + i;
      if (!is_clear (p))
        continue;
      const double a = wsi_radians (edge.angle_deg);
      assert_near ((p->x - edge.x) * cos (a) + (p->y - edge.y) * sin (a), 0.0, 0.012);
      assert_near ((double)p->nx * cos (a) + (double)p->ny * sin (a), 1.0, 0.01);
    }
  }
}

/*
 * With white noise the direction of a line of length L px cannot be had better than
 * sqrt (12 / L^3) (noise / step) sqrt (2 sqrt(pi) s), whatever its angle: scan lines get rarer
 * with the cosine of the angle as each gets better.
 */
static void
noise_turns_a_straight_edge_no_more_than_it_must (void **state)
{
  (void)state;
  g_autoptr (GRand) random = g_rand_new_with_seed (2);
  const guint rounds = 40;
  double squares = 0.0, offsets = 0.0;
  for (guint round = 0; round < rounds; round++)
  {
    const SceneEdge edge = half_plane (g_rand_double_range (random, 0, 360), random);
    SceneCamera camera = plain_camera (WIDTH, HEIGHT);
    camera.read = 0.012;
    camera.seed = round;
    g_autoptr (WsImage) image = take_picture (&edge, &camera);
    g_autoptr (WsOutline) outline = trace (image);
    const Straight line = fit_straight (outline, &edge);
    const double noise = camera.read / (camera.back - camera.front);
    const double one = noise * sqrt (2.0 * sqrt (G_PI) * sqrt (1.0 + 1.0 / 12.0));
    const double bound = one * sqrt (12.0 / pow (line.length, 3.0));
    squares += line.turn * line.turn / (bound * bound) / rounds;
    offsets += line.offset * line.offset / (one * one / line.length) / rounds;
    assert_near (outline->noise, noise, 0.15 * noise);
  }
  print_message ("turn %.3f, offset %.3f of the bound\n", sqrt (squares), sqrt (offsets));
  assert_true (sqrt (squares) <= 1.3);
  assert_true (sqrt (offsets) <= 1.4);
}

/* Blur pulls a round edge inward by s^2 / (2 R). */
static void
a_disc_shrinks_by_its_curvature_alone (void **state)
{
  (void)state;
  const struct
  {
    double radius, blur;
  } cases[] = { { 40.0, 1.0 }, { 40.0, 2.0 }, { 120.3, 1.5 } };
  for (gsize k = 0; k < G_N_ELEMENTS (cases); k++)
  {
    const SceneEdge disc = { SCENE_DISC, 318.4, 236.7, 0.0, 0.0, cases[k].radius };
    SceneCamera camera = plain_camera (WIDTH, HEIGHT);
    camera.blur_px = cases[k].blur;
    g_autoptr (WsImage) image = take_picture (&disc, &camera);
    g_autoptr (WsOutline) outline = trace (image);
    double sum = 0.0, x = 0.0, y = 0.0;
    const guint n = outline->points->len;
    for (guint i = 0; i < n; i++)
    {
      const WsEdgePoint *p = points_of (outline) + i;
      assert_false (p->on_frame);
      sum += hypot (p->x - disc.x, p->y - disc.y) / n;
      x += (double)p->nx / n;
      y += (double)p->ny / n;
    }
    const double s2 = cases[k].blur * cases[k].blur + 1.0 / 12.0;
    assert_near (sum, disc.radius - s2 / (2.0 * disc.radius), 0.004);
    assert_near (x, 0.0, 0.02);
    assert_near (y, 0.0, 0.02);
  }
}

/* Twice the area walked round, positive when the tool lies on the right-hand side (y down). */
static double
walked_area (const WsOutline *outline)
{
  double twice = 0.0;
  const guint n = outline->points->len;
  for (guint i = 0; i < n; i++)
  {
    const WsEdgePoint *p = points_of (outline) + i, *q = points_of (outline) + (i + 1) % n;
    twice += p->x * q->y - p->y * q->x;
  }
  return twice;
}

static void
a_bright_tool_on_dark_ground_is_the_same (void **state)
{
  (void)state;
  const SceneEdge disc = { SCENE_DISC, 301.2, 250.9, 0.0, 0.0, 90.0 };
  for (guint bright = 0; bright < 2; bright++)
  {
    SceneCamera camera = plain_camera (WIDTH, HEIGHT);
    if (bright)
    {
      camera.back = 0.04;
      camera.front = 0.7;
    }
    g_autoptr (WsImage) image = take_picture (&disc, &camera);
    g_autoptr (WsOutline) outline = trace (image);
    assert_near (walked_area (outline) / 2.0, G_PI * 90.0 * 90.0, 10.0);
    for (guint i = 0; i < outline->points->len; i++)
    {
      const WsEdgePoint *p = points_of (outline) + i;
      assert_near (hypot (p->x - disc.x, p->y - disc.y), 90.0, 0.03);
      assert_true ((double)p->nx * (p->x - disc.x) + (double)p->ny * (p->y - disc.y) > 85.0);
      assert_near (p->step, 0.69, 0.04);
    }
  }
}

static void
dust_disturbs_few_points (void **state)
{
  (void)state;
  g_autoptr (GRand) random = g_rand_new_with_seed (3);
  const SceneEdge edge = half_plane (37.0, random);
  SceneCamera camera = plain_camera (WIDTH, HEIGHT);
  g_autoptr (WsImage) image = take_picture (&edge, &camera);
  /* Specks of 3 x 3 px, all over; some lie on the edge. */
  for (guint k = 0; k < 150; k++)
  {
    const guint x = (guint)g_rand_int_range (random, 0, WIDTH - 3);
    const guint y = (guint)g_rand_int_range (random, 0, HEIGHT - 3);
    for (guint i = 0; i < 9; i++)
      image->linear[(gsize)(y + i / 3) * WIDTH + x + i % 3] = 9000;
  }
  g_autoptr (WsOutline) outline = trace (image);
  guint disturbed = 0, n = 0;
  const double a = wsi_radians (edge.angle_deg);
  for (guint i = 0; i < outline->points->len; i++)
  {
    const WsEdgePoint *p = points_of (outline) + i;
    if (!is_clear (p))
      continue;
    n++;
    disturbed += fabs ((p->x - edge.x) * cos (a) + (p->y - edge.y) * sin (a)) > 0.02;
  }
  assert_true (n > 300);
  assert_true (disturbed < n / 8);
}

/* One pixel in a thousand reads nothing or full light. */
static void
stuck_pixels_disturb_next_to_no_point (void **state)
{
  (void)state;
  g_autoptr (GRand) random = g_rand_new_with_seed (66);
  const SceneEdge edge = half_plane (17, random);
  SceneCamera camera = plain_camera (WIDTH, HEIGHT);
  g_autoptr (WsImage) image = take_picture (&edge, &camera);
  for (guint k = 0; k < WIDTH * HEIGHT / 1000; k++)
    image->linear[g_rand_int_range (random, 0, WIDTH * HEIGHT)] = k % 2 == 0 ? 0 : 65535;
  g_autoptr (WsOutline) outline = trace (image);
  const double angle = wsi_radians (edge.angle_deg);
  guint n = 0, disturbed = 0;
  for (guint i = 0; i < outline->points->len; i++)
  {
    const WsEdgePoint *p = points_of (outline) + i;
    if (!is_clear (p))
      continue;
    n++;
    disturbed += fabs ((p->x - edge.x) * cos (angle) + (p->y - edge.y) * sin (angle)) > 0.03;
  }
  assert_true (n > 300);
  assert_true (disturbed <= n / 100);
}

/* Sharp at the left, blurred four times as much at the right, as where a tool lies aslant: the tail
 * of an edge out of focus is no slope of the ground's light. */
static void
an_edge_less_in_focus_stays_where_it_is (void **state)
{
  (void)state;
  g_autoptr (GRand) random = g_rand_new_with_seed (31);
  const SceneEdge edge = half_plane (96, random);
  SceneCamera camera = plain_camera (WIDTH, HEIGHT);
  g_autoptr (WsImage) image = take_picture (&edge, &camera);
  const double angle = wsi_radians (edge.angle_deg);
  for (guint y = 0; y < HEIGHT; y++)
    for (guint x = 0; x < WIDTH; x++)
    {
      const double d = (x - edge.x) * cos (angle) + (y - edge.y) * sin (angle);
      const double blur = 1 + 3.0 * x / WIDTH;
      const double light = 6000 + 40000 * 0.5 * erfc (-d / blur * M_SQRT1_2);
      image->linear[(gsize)y * WIDTH + x] = (guint16)(light + 200 * random_normal (random));
    }
  g_autoptr (WsOutline) outline = trace (image);
  double moved = 0;
  guint n = 0;
  for (guint i = 0; i < outline->points->len; i++)
  {
    const WsEdgePoint *p = points_of (outline) + i;
    if (!is_clear (p) || p->x < 0.75 * WIDTH)
      continue;
    moved += (p->x - edge.x) * cos (angle) + (p->y - edge.y) * sin (angle);
    n++;
  }
  assert_true (n > 100);
  assert_near (moved / n, 0, 0.02);
}

/* Lamps flicker while rows are read: the ground's light varies by 12 % over 120 rows. */
static void
uneven_light_moves_no_edge (void **state)
{
  (void)state;
  g_autoptr (GRand) random = g_rand_new_with_seed (9);
  const SceneEdge edge = half_plane (62, random);
  SceneCamera camera = plain_camera (WIDTH, HEIGHT);
  camera.blur_px = 1.5;
  g_autoptr (WsImage) image = take_picture (&edge, &camera);
  for (guint y = 0; y < HEIGHT; y++)
    for (guint x = 0; x < WIDTH; x++)
    {
      guint16 *light = &image->linear[(gsize)y * WIDTH + x];
      *light = (guint16)(*light * (0.85 + 0.1 * sin (2 * G_PI * y / 120)));
    }
  g_autoptr (WsOutline) outline = trace (image);
  const double angle = wsi_radians (edge.angle_deg);
  double squares = 0;
  guint n = 0;
  for (guint i = 0; i < outline->points->len; i++)
  {
    const WsEdgePoint *p = points_of (outline) + i;
    const double d = (p->x - edge.x) * cos (angle) + (p->y - edge.y) * sin (angle);
    if (!is_clear (p))
      continue;
    n++;
    squares += d * d;
  }
  assert_true (n > 200);
  assert_true (sqrt (squares / n) < 0.025);
}

static void
the_border_of_the_picture_is_no_edge (void **state)
{
  (void)state;
  const SceneEdge edge = { SCENE_HALF_PLANE, 320.0, 240.0, 0.0, 0.0, 0.0 };
  const SceneCamera camera = plain_camera (WIDTH, HEIGHT);
  g_autoptr (WsImage) image = take_picture (&edge, &camera);
  g_autoptr (WsOutline) outline = trace (image);
  guint on_frame = 0, on_edge = 0;
  for (guint i = 0; i < outline->points->len; i++)
  {
    const WsEdgePoint *p = points_of (outline) + i;
    on_frame += p->on_frame ? 1 : 0;
    on_edge += p->on_frame ? 0 : 1;
    if (!p->on_frame)
      assert_near (p->x, 320.0, 0.01);
  }
  /* Three sides of the left half, and the edge. */
  assert_in_range (on_frame, 480 + 2 * 310, 480 + 2 * 325);
  assert_in_range (on_edge, 470, 480);
}

static void
noise_has_no_outline (void **state)
{
  (void)state;
  g_autoptr (GRand) random = g_rand_new_with_seed (4);
  g_autoptr (WsImage) image = ws_image_new (WIDTH, HEIGHT, NULL);
  for (gsize i = 0; i < (gsize)WIDTH * HEIGHT; i++)
    image->linear[i] = (guint16)g_rand_int_range (random, 0, 65536);
  const WsSegment segment = { .tool_is_dark = TRUE,
                              .area_px = 0.5 * WIDTH * HEIGHT,
                              .inside = { 320, 240 },
                              .threshold = { { 0.5, 0, 0, 0, 0, 0 } } };
  g_autoptr (WsOutline) outline = wsi_outline_trace (image, &segment);
  assert_null (outline);
}

/* A ring with a speck in its hole: the outer border is followed, though the hole is larger than
 * the ring itself, and the hole's border from within, normals into the hole. */
static void
the_hole_of_a_ring (void **state)
{
  (void)state;
  const SceneCamera camera = plain_camera (WIDTH, HEIGHT);
  const WsPoint centre = { 320.4, 241.7 };
  const SceneEdge disc = { SCENE_DISC, centre.x, centre.y, 0, 0, 180 };
  const SceneEdge hole = { SCENE_DISC, centre.x, centre.y, 0, 0, 150 };
  g_autoptr (WsImage) image = take_picture (&disc, &camera);
  g_autoptr (WsImage) within = take_picture (&hole, &camera);
  for (gsize i = 0; i < (gsize)WIDTH * HEIGHT; i++)
  {
    /* Light of the hole is what its disc keeps away. */
    const double full = 65535 * camera.back;
    const double light = image->linear[i] + full - within->linear[i];
    image->linear[i] = (guint16)CLAMP (light, 0, 65535);
  }
  for (guint y = 236; y < 248; y++)
    memset (image->linear + (gsize)y * WIDTH + 340, 0, 12 * sizeof (guint16));

  g_auto (WsSegment) segment = wsi_segment_find (image);
  assert_int_equal (segment.trouble, WS_RETAKE_NONE);
  g_autoptr (WsOutline) outer = wsi_outline_trace (image, &segment);
  g_autoptr (WsOutline) inner = wsi_outline_trace_hole (image, &segment, centre);
  assert_non_null (outer);
  assert_non_null (inner);
  for (guint k = 0; k < 2; k++)
    for (guint i = 0; i < (k == 0 ? outer : inner)->points->len; i++)
    {
      const WsEdgePoint *p = points_of (k == 0 ? outer : inner) + i;
      const WsPoint out = wsi_point (p->x - centre.x, p->y - centre.y);
      assert_near (wsi_point_length (out), k == 0 ? 180 : 150, 0.1);
      const double cosine =
        (out.x * (double)p->nx + out.y * (double)p->ny) / wsi_point_length (out);
      assert_near (cosine, k == 0 ? 1 : -1, 0.02);
    }
  assert_null (wsi_outline_trace_hole (image, &segment, wsi_point (-5, 3)));
}

/* A mask tells the tool from a ground that it is brighter and darker than; over a stretch both are
 * alike, and there is no edge. */
static void
a_stretch_without_an_edge_is_a_gap (void **state)
{
  (void)state;
  const double edge = 250.4, from = 200, to = 260;
  g_autoptr (WsImage) image = ws_image_new (WIDTH, HEIGHT, NULL);
  WsSegment segment = { .is_front_lit = TRUE,
                        .area_px = edge * HEIGHT,
                        .inside = { 100, 100 },
                        .ground_level = 0.3,
                        .mask = g_new (guint8, WIDTH * HEIGHT) };
  for (guint y = 0; y < HEIGHT; y++)
    for (guint x = 0; x < WIDTH; x++)
    {
      const gsize i = (gsize)y * WIDTH + x;
      const double in = 1 / (1 + exp ((x - edge) / 0.5));
      const double tool = y < from ? 0.7 : y < to ? 0.3 : 0.05;
      image->linear[i] = (guint16)(WS_IMAGE_FULL_SCALE * (0.3 + in * (tool - 0.3)));
      segment.mask[i] = x < edge;
    }
  g_autoptr (WsOutline) outline = wsi_outline_trace (image, &segment);
  wsi_segment_clear (&segment);
  assert_non_null (outline);
  guint gaps = 0;
  for (guint i = 0; i < outline->points->len; i++)
  {
    const WsEdgePoint *p = points_of (outline) + i;
    if (p->on_frame)
      continue;
    assert_near (p->x, edge, 0.05);
    assert_true (p->y < from || p->y > to - 1);
    gaps += p->after_gap ? 1 : 0;
  }
  assert_int_equal (gaps, 1);
  /* A few points beside the gap are left out, too. */
  assert_true (outline->widest_gap_px >= to - from + 5 && outline->widest_gap_px < to - from + 12);
  assert_near (outline->left_out, (to - from) / HEIGHT, 0.02);
}

/* Wherever the outline of a disc begins, the gap's two ends are left out alike. */
static void
a_gap_may_lie_where_the_outline_begins (void **state)
{
  (void)state;
  const double radius = 150, part = 0.4;
  const WsPoint middle = { 320.3, 240.2 };
  for (guint k = 0; k < 16; k++)
  {
    g_autoptr (WsImage) image = ws_image_new (WIDTH, HEIGHT, NULL);
    WsSegment segment = { .is_front_lit = TRUE,
                          .area_px = G_PI * radius * radius,
                          .inside = { 320, 240 },
                          .ground_level = 0.3,
                          .mask = g_new (guint8, WIDTH * HEIGHT) };
    const double towards = 2 * G_PI * k / 16;
    for (guint y = 0; y < HEIGHT; y++)
      for (guint x = 0; x < WIDTH; x++)
      {
        const gsize i = (gsize)y * WIDTH + x;
        const WsPoint out = wsi_point_sub (wsi_point (x, y), middle);
        const double off = remainder (atan2 (out.y, out.x) - towards, 2 * G_PI);
        const double tool = fabs (off) < part / 2 ? 0.3 : 0.7;
        const double in = 1 / (1 + exp ((wsi_point_length (out) - radius) / 0.5));
        image->linear[i] = (guint16)(WS_IMAGE_FULL_SCALE * (0.3 + in * (tool - 0.3)));
        segment.mask[i] = wsi_point_length (out) < radius;
      }
    g_autoptr (WsOutline) outline = wsi_outline_trace (image, &segment);
    wsi_segment_clear (&segment);
    assert_non_null (outline);
    guint gaps = 0;
    double least[2] = { G_PI, G_PI };
    for (guint i = 0; i < outline->points->len; i++)
    {
      const WsEdgePoint *p = points_of (outline) + i;
      const WsPoint out = wsi_point_sub (wsi_point (p->x, p->y), middle);
      const double off = remainder (atan2 (out.y, out.x) - towards, 2 * G_PI);
      least[off > 0] = MIN (least[off > 0], fabs (off));
      gaps += p->after_gap ? 1 : 0;
    }
    assert_int_equal (gaps, 1);
    for (guint side = 0; side < 2; side++)
      assert_in_range (radius * (least[side] - part / 2), 2, 8);
    assert_near (outline->left_out, part / (2 * G_PI), 0.015);
  }
}

/* A bar from below whose end was moved over 22 px along it: most of its outline is sharp, and to a
 * window as for that the end is no step at all. */
static void
an_end_that_moved_is_blurred (void **state)
{
  (void)state;
  g_autoptr (WsImage) image = ws_image_new (WIDTH, HEIGHT, NULL);
  for (guint y = 0; y < HEIGHT; y++)
    for (guint x = 0; x < WIDTH; x++)
    {
      const double beside = fabs (x - 0.5 * WIDTH) - 80.0, beyond = 100.0 - y;
      const double moved = CLAMP (beyond / 22.0 + 0.5, 0, 1);
      const double light = MAX (0.5 * erfc (-beside / sqrt (2.0)), moved);
      image->linear[y * WIDTH + x] = (guint16)lrint ((0.05 + 0.6 * light) * WS_IMAGE_FULL_SCALE);
    }
  g_autoptr (WsOutline) outline = trace (image);
  assert_near (outline->blur_px, 1.0, 0.1);
  assert_near (outline->blur_min_px, 1.0, 0.1);
  /* A box so wide has a standard deviation of 6.35 px. */
  assert_true (outline->blur_max_px > 5.5 && outline->blur_max_px < 8.0);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (a_straight_edge_is_where_it_is),
    cmocka_unit_test (noise_turns_a_straight_edge_no_more_than_it_must),
    cmocka_unit_test (a_disc_shrinks_by_its_curvature_alone),
    cmocka_unit_test (a_bright_tool_on_dark_ground_is_the_same),
    cmocka_unit_test (dust_disturbs_few_points),
    cmocka_unit_test (stuck_pixels_disturb_next_to_no_point),
    cmocka_unit_test (an_edge_less_in_focus_stays_where_it_is),
    cmocka_unit_test (uneven_light_moves_no_edge),
    cmocka_unit_test (an_end_that_moved_is_blurred),
    cmocka_unit_test (the_border_of_the_picture_is_no_edge),
    cmocka_unit_test (noise_has_no_outline),
    cmocka_unit_test (the_hole_of_a_ring),
    cmocka_unit_test (a_stretch_without_an_edge_is_a_gap),
    cmocka_unit_test (a_gap_may_lie_where_the_outline_begins),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
