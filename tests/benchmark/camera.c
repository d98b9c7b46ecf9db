/*
 * What each stage from a camera's samples to the picture's file costs: processor time a frame of
 * 1920 x 1080, as frames a second and as a ratio to decoding the same frame's PNG, in the same run
 * on one processor.  The delay of a live picture is the sum of those that it goes through.
 *
 *   benchmark-camera
 */
#include "camera/jpeg_for_tests.h"
#include "camera/mjpeg.h"
#include "camera/samples.h"
#include "camera/shot_file.h"
#include "camera/stack.h"
#include "image/taken.h"
#include "scene/scene.h"

#include <math.h>
#include <time.h>
#include <whetsight/whetsight.h>

#define WIDTH 1920
#define HEIGHT 1080
#define ROUNDS 12

static double
processor_s (void)
{
  struct timespec now;
  clock_gettime (CLOCK_PROCESS_CPUTIME_ID, &now);
  return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

typedef enum
{
  GREY_16,
  YUYV_GREY,
  YUYV_COLOUR,
  BAYER_8,
  MJPEG_GREY,
  MJPEG_COLOUR,
  FOLLOWING,
  MEASURING,
  STACKING,
  WRITING,
  DECODING, /* what the others are held against */
  N_STAGES
} Stage;

static const char *const names[N_STAGES] = {
  [GREY_16] = "light from grey of 16 bits",
  [YUYV_GREY] = "light from YUYV, grey",
  [YUYV_COLOUR] = "light from YUYV, in colour",
  [BAYER_8] = "light from Bayer, in colour",
  [MJPEG_GREY] = "light from MJPEG, grey",
  [MJPEG_COLOUR] = "light from MJPEG, in colour",
  [FOLLOWING] = "following the outline",
  [MEASURING] = "whole measurement",
  [STACKING] = "adding to the mean",
  [WRITING] = "writing the picture",
  [DECODING] = "decoding its PNG",
};

typedef struct
{
  SceneImage *scene;
  WsSamples samples[BAYER_8 + 1];
  guint8 *bytes; /* of YUYV and Bayer */
  guint8 *jpeg;
  gsize n_jpeg;
  WsMjpeg *mjpeg;
  WsFrame frame, coloured;
  WsFollow *follow;
  WsStack *stack;
  WsToolCard *card;
  GBytes *file;
} Bench;

static void
describe (Bench *bench)
{
  const WsSamples about = { .width = WIDTH, .height = HEIGHT, .bits = 8 };
  bench->bytes = g_malloc0 ((gsize)2 * WIDTH * HEIGHT);
  for (gsize i = 0; i < (gsize)WIDTH * HEIGHT; i++)
  {
    bench->bytes[2 * i] = bench->scene->data[2 * i + 1]; /* the higher half of each light */
    bench->bytes[2 * i + 1] = 128;
  }
  for (Stage stage = 0; stage <= BAYER_8; stage++)
  {
    WsSamples *samples = &bench->samples[stage];
    *samples = about;
    samples->layout = stage == GREY_16   ? WS_SAMPLES_GREY
                      : stage == BAYER_8 ? WS_SAMPLES_BAYER
                                         : WS_SAMPLES_YUYV;
    samples->bits = stage == GREY_16 ? 16 : 8;
    samples->bytes = stage == GREY_16 ? bench->scene->data : bench->bytes;
    samples->srgb = stage == YUYV_GREY || stage == YUYV_COLOUR;
    samples->colour = stage == YUYV_COLOUR || stage == BAYER_8;
    samples->stride = wsi_samples_row_bytes (samples);
  }
}

static void
set_up (Bench *bench)
{
  SceneDrill drill;
  SceneCamera camera;
  scene_drill_init (&drill, 8.0);
  scene_camera_init (&camera);
  camera.width = WIDTH;
  camera.height = HEIGHT;
  camera.shot = 0.006;
  camera.read = 0.001;
  camera.bits = 16;
  camera.encoding = SCENE_LINEAR;
  scene_camera_aim (&camera, &drill, 0.4);
  bench->scene = scene_render (&drill, &camera, NULL);
  describe (bench);
  const PlainPicture plain = { WIDTH, HEIGHT, { 180, 170, 150 }, FALSE };
  bench->jpeg = plain_jpeg (&plain, &bench->n_jpeg);
  bench->mjpeg = wsi_mjpeg_new ();
  bench->follow = ws_follow_new ();
  bench->stack = wsi_stack_new ();
  bench->card = ws_tool_card_new (WS_KIND_TWIST_DRILL);
  wsi_samples_to_frame (&bench->samples[GREY_16], &bench->frame, NULL);
}

static void
clear (Bench *bench)
{
  scene_image_free (bench->scene);
  g_free (bench->bytes);
  g_free (bench->jpeg);
  wsi_mjpeg_free (bench->mjpeg);
  wsi_frame_clear (&bench->frame);
  wsi_frame_clear (&bench->coloured);
  ws_follow_free (bench->follow);
  wsi_stack_free (bench->stack);
  ws_tool_card_free (bench->card);
  g_bytes_unref (bench->file);
}

static gboolean
decompress (Bench *bench, gboolean colour)
{
  WsSamples samples = {
    .width = WIDTH, .height = HEIGHT, .bits = 8, .srgb = TRUE, .colour = colour
  };
  return wsi_mjpeg_decode (bench->mjpeg, bench->jpeg, bench->n_jpeg, colour, &samples) &&
         wsi_samples_to_frame (&samples, &bench->coloured, NULL);
}

static gboolean
write_picture (Bench *bench)
{
  const WsTaken taken = { { NULL } };
  const WsShotNotes notes = { &taken, 1, NAN, "2026-11-29T06:00:00Z" };
  g_clear_pointer (&bench->file, g_bytes_unref);
  bench->file = wsi_shot_encode (&bench->frame, &notes, NULL);
  return bench->file != NULL;
}

static gboolean
decode (const Bench *bench)
{
  gsize n = 0;
  const guint8 *bytes = g_bytes_get_data (bench->file, &n);
  g_autoptr (WsImage) image = ws_image_decode (bytes, n, "frame", NULL, WS_IMAGE_GREY, NULL);
  return image != NULL;
}

static gboolean
measure (const Bench *bench)
{
  const WsOptics optics = WS_OPTICS_UNKNOWN;
  g_autoptr (WsResult) result =
    ws_measure (ws_view_find ("drill-side"), bench->frame.image, bench->card, &optics);
  return result->reason == WS_RETAKE_NONE;
}

static gboolean
run_once (Bench *bench, Stage stage)
{
  switch (stage)
  {
  case MJPEG_GREY:
  case MJPEG_COLOUR:
    return decompress (bench, stage == MJPEG_COLOUR);
  case FOLLOWING:
    return ws_follow_frame (bench->follow, bench->frame.image)->how != WS_FOLLOW_LOST;
  case MEASURING:
    return measure (bench);
  case STACKING:
    return wsi_stack_add (bench->stack, &bench->frame, NULL);
  case WRITING:
    return write_picture (bench);
  case DECODING:
    return decode (bench);
  default:
    return wsi_samples_to_frame (&bench->samples[stage],
                                 stage == GREY_16 ? &bench->frame : &bench->coloured, NULL);
  }
}

int
main (void)
{
  Bench bench = { 0 };
  double best[N_STAGES];
  gboolean done = TRUE;
  set_up (&bench);
  for (Stage stage = 0; stage < N_STAGES; stage++)
    best[stage] = HUGE_VAL;
  for (guint k = 0; k < ROUNDS; k++)
    for (Stage stage = 0; stage < N_STAGES; stage++)
    {
      const double start = processor_s ();
      done = run_once (&bench, stage) && done;
      best[stage] = MIN (best[stage], processor_s () - start);
    }
  g_print ("%d x %d, processor time a frame, best of %d\n", WIDTH, HEIGHT, ROUNDS);
  for (Stage stage = 0; stage < N_STAGES; stage++)
    g_print ("%-28s %7.2f ms %6.0f frames a second %6.2f of decoding\n", names[stage],
             1e3 * best[stage], 1 / best[stage], best[stage] / best[DECODING]);
  clear (&bench);
  return done ? 0 : 70;
}
