/*
 * What following an outline costs: processor time a frame of 1920 x 1080 grey from memory, against
 * decoding the same frame's PNG and a whole measurement of it, in the same run on one processor.
 *
 *   benchmark-follow
 */
#include "scene/scene.h"

#include <glib/gstdio.h>
#include <math.h>
#include <time.h>
#include <whetsight/whetsight.h>

#define FRAMES 8
#define ROUNDS 15

static double
processor_s (void)
{
  struct timespec now;
  clock_gettime (CLOCK_PROCESS_CPUTIME_ID, &now);
  return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static GBytes *
render (const char *path, guint i)
{
  SceneDrill drill;
  SceneCamera camera;
  scene_drill_init (&drill, 8.0);
  scene_camera_init (&camera);
  camera.width = 1920;
  camera.height = 1080;
  camera.blur_px = 1.2;
  camera.shot = 0.006;
  camera.read = 0.001;
  camera.roll_deg = 8.0 + 0.1 * i;
  camera.seed = i;
  scene_camera_aim (&camera, &drill, 0.4);
  camera.origin_x += 2.0 * i;
  g_autoptr (SceneImage) image = scene_render (&drill, &camera, NULL);
  char *bytes = NULL;
  gsize n = 0;
  const gboolean done =
    scene_image_save (image, path, 92) && g_file_get_contents (path, &bytes, &n, NULL);
  g_remove (path);
  return done ? g_bytes_new_take (bytes, n) : NULL;
}

/* To and fro, so that it moves as little from the last frame to the first. */
static guint
frame_of (guint k)
{
  const guint i = k % (2 * FRAMES - 2);
  return i < FRAMES ? i : 2 * FRAMES - 2 - i;
}

int
main (void)
{
  GBytes *files[FRAMES];
  WsImage *frames[FRAMES] = { NULL };
  g_autofree char *folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  g_autofree char *path = g_build_filename (folder, "frame.png", NULL);
  g_autoptr (WsFollow) follow = ws_follow_new ();
  g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_TWIST_DRILL);
  const WsView *view = ws_view_find ("drill-side");
  const WsOptics optics = WS_OPTICS_UNKNOWN;
  double decoding = HUGE_VAL, measuring = HUGE_VAL, searching = HUGE_VAL, following = HUGE_VAL;
  guint lost = 0;
  for (guint i = 0; i < FRAMES; i++)
    files[i] = render (path, i);
  g_rmdir (folder);
  for (guint k = 0; k < ROUNDS; k++)
  {
    const guint i = frame_of (k);
    gsize n = 0;
    const guint8 *bytes = g_bytes_get_data (files[i], &n);
    double start = processor_s ();
    WsImage *frame = ws_image_decode (bytes, n, "frame", NULL, WS_IMAGE_GREY, NULL);
    decoding = MIN (decoding, processor_s () - start);
    start = processor_s ();
    ws_result_free (ws_measure (view, frame, card, &optics));
    measuring = MIN (measuring, processor_s () - start);
    start = processor_s ();
    g_autoptr (WsFollow) anew = ws_follow_new ();
    ws_follow_frame (anew, frame);
    searching = MIN (searching, processor_s () - start);
    g_clear_pointer (&frames[i], ws_image_free);
    frames[i] = frame;
  }
  ws_follow_frame (follow, frames[0]);
  for (guint k = 1; k < 4 * ROUNDS; k++)
  {
    const double start = processor_s ();
    lost += ws_follow_frame (follow, frames[frame_of (k)])->how != WS_FOLLOW_FOLLOWED;
    following = MIN (following, processor_s () - start);
  }
  g_print ("1920 x 1080 grey, processor time a frame, best of %u\n"
           "decoding PNG      %7.2f ms\nwhole measurement %7.2f ms\nsearch            %7.2f ms\n"
           "following         %7.2f ms  %.0f frames a second\n"
           "following / decoding %.2f, following / measurement %.2f, lost %u\n",
           ROUNDS, 1e3 * decoding, 1e3 * measuring, 1e3 * searching, 1e3 * following, 1 / following,
           following / decoding, following / measuring, lost);
  for (guint i = 0; i < FRAMES; i++)
  {
    g_bytes_unref (files[i]);
    ws_image_free (frames[i]);
  }
  return lost == 0 ? 0 : 70;
}
