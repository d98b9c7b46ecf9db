/* A rendered drill that moves before a camera. */
#include <whetsight/follow.h>

#include "base/geometry.h"
#include "edge/testing.h"

#define WIDTH 800
#define HEIGHT 600
#define FRAMES 6

/* ---- Counting what is allocated ------------------------------------------------------ */

#if defined(__SANITIZE_ADDRESS__)
#define COUNTS FALSE
#elif defined(__has_feature)
#if __has_feature(address_sanitizer) || __has_feature(memory_sanitizer)
#define COUNTS FALSE
#endif
#endif
#if !defined(COUNTS) && defined(__GLIBC__)
#define COUNTS TRUE

static guint n_allocations;

/* glibc's own, under the names that a program may take from it. */
/* NOLINTBEGIN(bugprone-reserved-identifier) */
void *__libc_malloc (size_t size);
void *__libc_calloc (size_t n, size_t size);
void *__libc_realloc (void *old, size_t size);
/* NOLINTEND(bugprone-reserved-identifier) */

void *
malloc (size_t size)
{
  n_allocations++;
  return __libc_malloc (size);
}

void *
calloc (size_t n, size_t size)
{
  n_allocations++;
  return __libc_calloc (n, size);
}

void *
realloc (void *old, size_t size)
{
  n_allocations++;
  return __libc_realloc (old, size);
}

#else
#undef COUNTS
#define COUNTS FALSE
static guint n_allocations;
#endif

/* ---- Frames -------------------------------------------------------------------------- */

typedef struct
{
  double x, y, roll_deg; /* px from where the first frame has it, degrees */
  double light;
  guint64 seed;
} Place;

static SceneCamera
camera_at (const SceneDrill *drill, const Place *place)
{
  SceneCamera camera = plain_camera (WIDTH, HEIGHT);
  camera.blur_px = 1.2;
  camera.shot = 0.004;
  camera.read = 0.001;
  camera.roll_deg = 8 + place->roll_deg;
  scene_camera_aim (&camera, drill, 0.35);
  camera.origin_x += place->x;
  camera.origin_y += place->y;
  camera.back *= place->light;
  camera.front *= place->light;
  camera.seed = place->seed;
  return camera;
}

/* The caller owns the result. */
static WsImage *
take (const Place *place)
{
  SceneDrill drill;
  scene_drill_init (&drill, 8.0);
  const SceneCamera camera = camera_at (&drill, place);
  g_autoptr (SceneImage) scene = scene_render (&drill, &camera, NULL);
  WsImage *image = ws_image_new (scene->width, scene->height, NULL);
  memcpy (image->linear, scene->data, (gsize)2 * scene->width * scene->height);
  image->tone = WS_TONE_LINEAR;
  return image;
}

/* RMS distance of a's points from b's outline along b's normals; the ends at the frame and sharp
 * corners, where neighbours don't lie along a line, are left out. */
static double
distance_between (const WsFollowed *a, const WsFollowed *b, guint *n)
{
  double squares = 0;
  *n = 0;
  for (guint i = 0; i < a->n; i += 3)
  {
    double nearest = HUGE_VAL, off = 0;
    for (guint k = 0; k < b->n; k++)
    {
      const WsPoint d = wsi_point_sub (a->points[i].at, b->points[k].at);
      if (a->points[i].on_frame || b->points[k].on_frame || wsi_point_length (d) >= nearest)
        continue;
      nearest = wsi_point_length (d);
      off = wsi_point_dot (d, b->points[k].normal);
    }
    if (nearest > 1)
      continue;
    squares += off * off;
    (*n)++;
  }
  return sqrt (squares / MAX (*n, 1));
}

/* ---- Tests --------------------------------------------------------------------------- */

/* Some px a frame, a turn, and light that changes: followed in every frame, and each outline that
 * of the picture by itself. */
static void
each_outline_is_the_single_pictures (void **state)
{
  (void)state;
  g_autoptr (WsFollow) follow = ws_follow_new ();
  for (guint i = 0; i < FRAMES; i++)
  {
    const Place place = { 3.3 * i, -2.1 * i, 0.4 * i, 1 - 0.02 * i, 100 + i };
    g_autoptr (WsImage) frame = take (&place);
    const WsFollowed *seen = ws_follow_frame (follow, frame);
    assert_int_equal (seen->how, i == 0 ? WS_FOLLOW_SEARCHED : WS_FOLLOW_FOLLOWED);
    assert_int_equal (seen->reason, WS_RETAKE_NONE);
    assert_true (i == 0 ? isnan (seen->moved_px) : seen->moved_px > 1.5 && seen->moved_px < 8);

    g_autoptr (WsFollow) single = ws_follow_new ();
    const WsFollowed *alone = ws_follow_frame (single, frame);
    assert_int_equal (alone->how, WS_FOLLOW_SEARCHED);
    assert_near (seen->blur_px, alone->blur_px, 0.03);
    assert_near (seen->area_px, alone->area_px, 0.0005 * alone->area_px);
    assert_near (seen->ground, alone->ground, 0.01);
    guint n = 0;
    /* What noise makes of one point (edge/outline.h). */
    const double noise = alone->noise * sqrt (2 * sqrt (G_PI) * alone->blur_px);
    assert_true (distance_between (seen, alone, &n) < 0.25 * noise);
    assert_true (n > seen->n / 4);
  }
}

static void
nothing_is_allocated_while_it_follows (void **state)
{
  (void)state;
  if (!COUNTS)
    skip ();
  g_autoptr (WsFollow) follow = ws_follow_new ();
  g_autoptr (GPtrArray) frames = g_ptr_array_new_with_free_func ((GDestroyNotify)ws_image_free);
  for (guint i = 0; i < 4; i++)
  {
    const Place place = { 4.0 * i, 2.0 * i, 0.5 * i, 1, 7 + i };
    g_ptr_array_add (frames, take (&place));
  }
  const guint at_first = n_allocations;
  ws_follow_frame (follow, frames->pdata[0]);
  assert_true (n_allocations > at_first);
  const guint before = n_allocations;
  for (guint i = 1; i < frames->len; i++)
    assert_int_equal (ws_follow_frame (follow, frames->pdata[i])->how, WS_FOLLOW_FOLLOWED);
  assert_int_equal (n_allocations, before);
}

/* It jumps, it is taken away, it comes back. */
static void
what_is_lost_is_searched_and_said_to_be (void **state)
{
  (void)state;
  g_autoptr (WsFollow) follow = ws_follow_new ();
  const Place first = { 0, 0, 0, 1, 1 }, jumped = { 100, -50, 30, 1, 2 };
  g_autoptr (WsImage) a = take (&first);
  g_autoptr (WsImage) b = take (&jumped);
  g_autoptr (WsImage) none = ws_image_new (WIDTH, HEIGHT, NULL);
  for (gsize i = 0; i < (gsize)WIDTH * HEIGHT; i++)
    none->linear[i] = 40000;
  assert_int_equal (ws_follow_frame (follow, a)->how, WS_FOLLOW_SEARCHED);
  assert_int_equal (ws_follow_frame (follow, b)->how, WS_FOLLOW_SEARCHED);
  /* As far as can be told: it may be a part of how far it jumped. */
  assert_true (!(ws_follow_frame (follow, a)->moved_px <= 1.0));
  const WsFollowed *lost = ws_follow_frame (follow, none);
  assert_int_equal (lost->how, WS_FOLLOW_LOST);
  assert_int_equal (lost->reason, WS_RETAKE_NO_TOOL);
  assert_int_equal (lost->n, 0);
  assert_int_equal (ws_follow_frame (follow, b)->how, WS_FOLLOW_SEARCHED);
  assert_int_equal (ws_follow_frame (follow, b)->how, WS_FOLLOW_FOLLOWED);
}

/* A camera may be set to another size. */
static void
frames_of_another_size_are_searched (void **state)
{
  (void)state;
  g_autoptr (WsFollow) follow = ws_follow_new ();
  const Place first = { 0, 0, 0, 1, 1 };
  g_autoptr (WsImage) a = take (&first);
  g_autoptr (WsImage) half = ws_image_new (WIDTH / 2, HEIGHT / 2, NULL);
  for (guint y = 0; y < half->height; y++)
    for (guint x = 0; x < half->width; x++)
      half->linear[y * half->width + x] = a->linear[2 * y * WIDTH + 2 * x];
  assert_int_equal (ws_follow_frame (follow, a)->how, WS_FOLLOW_SEARCHED);
  assert_int_equal (ws_follow_frame (follow, half)->how, WS_FOLLOW_SEARCHED);
  assert_int_equal (ws_follow_frame (follow, half)->how, WS_FOLLOW_FOLLOWED);
}

static void
room_is_told_on_each_side (void **state)
{
  (void)state;
  g_autoptr (WsFollow) follow = ws_follow_new ();
  const Place near_left = { -220, 0, 0, 1, 1 };
  g_autoptr (WsImage) frame = take (&near_left);
  const WsFollowed *seen = ws_follow_frame (follow, frame);
  assert_int_equal (seen->how, WS_FOLLOW_SEARCHED);
  assert_true (isinf (seen->room_px[2])); /* it comes in from below */
  assert_true (isfinite (seen->room_px[0]) && isfinite (seen->room_px[1]));
  assert_true (seen->room_px[3] < seen->room_px[1]);
}

/* Standing still and jumping away are told apart however the outline was found. */
static void
still_and_moved_are_told_apart (void **state)
{
  (void)state;
  const Place first = { 0, 0, 0, 1, 1 }, again = { 0, 0, 0, 1, 9 }, far = { 100, -50, 30, 1, 2 };
  g_autoptr (WsFollow) follow = ws_follow_new ();
  g_autoptr (WsImage) a = take (&first);
  g_autoptr (WsImage) b = take (&again);
  g_autoptr (WsImage) c = take (&far);
  assert_true (isnan (ws_follow_frame (follow, a)->moved_px));
  assert_true (ws_follow_frame (follow, b)->moved_px < 0.5);
  assert_true (!(ws_follow_frame (follow, c)->moved_px <= 1.0));
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (each_outline_is_the_single_pictures),
    cmocka_unit_test (nothing_is_allocated_while_it_follows),
    cmocka_unit_test (what_is_lost_is_searched_and_said_to_be),
    cmocka_unit_test (still_and_moved_are_told_apart),
    cmocka_unit_test (frames_of_another_size_are_searched),
    cmocka_unit_test (room_is_told_on_each_side),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
