/*
 * Aravis' simulated GigE Vision camera on the loopback interface, and the cable to it.
 */
#ifndef WS_CAMERA_SERVED_FOR_TESTS_H
#define WS_CAMERA_SERVED_FOR_TESTS_H

#include "base/testing.h"

#include <arv.h>
#include <dlfcn.h>
#include <fcntl.h>
#include <glib/gstdio.h>
#include <sys/file.h>
#include <whetsight/error.h>

#include "camera/camera.h"
#include "scene/scene.h"

/* A frame of this size waits in the system's room for packets while others have the processor. */
#define SIDE 128
#define TIMEOUT_MS 5000
#define EXPOSURE_S 0.001

typedef struct
{
  ArvGvFakeCamera *served;
  SceneImage *scene;
  WsImage *coloured; /* what is served where colour is asked for */
} Bench;

/* ---- The cable ----------------------------------------------------------------------------- */

/* Pictures go in packets larger than this, all else in smaller ones. */
#define PICTURE_PACKET 600

/* Packets of pictures that still come through before the cable is pulled in the middle of one; 0:
 * it is; below 0: it stays. */
static gint packets_left = -1;

/* So many of a picture's are its middle. */
#define MIDDLE 10

static inline gboolean
is_pulled (gsize size)
{
  static gint in_a_row;
  const gint left = g_atomic_int_get (&packets_left);
  if (left <= 0)
    return left == 0;
  if (size <= PICTURE_PACKET)
    g_atomic_int_set (&in_a_row, 0);
  else if (left > 1)
    g_atomic_int_set (&packets_left, left - 1);
  if (size > PICTURE_PACKET && g_atomic_int_add (&in_a_row, 1) == MIDDLE && left == 1)
    g_atomic_int_set (&packets_left, 0);
  return FALSE;
}

/* All that Aravis sends, on both ends, goes through here in place of GIO's own. */
gssize
g_socket_send_to (GSocket *socket, GSocketAddress *address, const gchar *buffer, gsize size,
                  GCancellable *cancellable, GError **error)
{
  gssize (*send) (GSocket *, GSocketAddress *, const gchar *, gsize, GCancellable *, GError **);
  void *found = dlsym (RTLD_NEXT, "g_socket_send_to");
  memcpy (&send, &found, sizeof send);
  return is_pulled (size) ? (gssize)size : send (socket, address, buffer, size, cancellable, error);
}

/* ---- The camera ---------------------------------------------------------------------------- */

/* A code of light: the camera's are proportional to it. */
static inline guint8
code_of (guint8 srgb)
{
  const double share = srgb / 255.0;
  return (guint8)lround (255.0 *
                         (share <= 0.04045 ? share / 12.92 : pow ((share + 0.055) / 1.055, 2.4)));
}

/* The coloured picture as a sensor behind Bayer's filters sees it, or all of its colour. */
static inline void
fill_colour (const Bench *bench, ArvBuffer *buffer, ArvPixelFormat format)
{
  guint8 *to = (guint8 *)arv_buffer_get_data (buffer, NULL);
  const guint width = (guint)arv_buffer_get_image_width (buffer);
  const guint height = (guint)arv_buffer_get_image_height (buffer);
  for (guint y = 0; bench->coloured != NULL && y < height; y++)
    for (guint x = 0; x < width; x++)
    {
      const guint8 *rgb = bench->coloured->rgb + 3 * ((gsize)y * bench->coloured->width + x);
      if (format == ARV_PIXEL_FORMAT_BAYER_RG_8)
        *to++ = code_of (rgb[x % 2 + y % 2]);
      for (guint c = 0; c < 3 && format == ARV_PIXEL_FORMAT_RGB_8_PACKED; c++)
        *to++ = code_of (rgb[c]);
    }
}

/* The scene as exposed; at EXPOSURE_S as rendered. */
static inline void
fill (ArvBuffer *buffer, void *data, guint32 exposure_us, guint32 gain, ArvPixelFormat format)
{
  const Bench *bench = data;
  guint16 *to = (guint16 *)arv_buffer_get_data (buffer, NULL);
  const guint width = (guint)arv_buffer_get_image_width (buffer);
  const gsize n = (gsize)width * (guint)arv_buffer_get_image_height (buffer);
  const guint16 *from = (const guint16 *)(const void *)bench->scene->data;
  (void)gain;
  if (format != ARV_PIXEL_FORMAT_MONO_16)
  {
    fill_colour (bench, buffer, format);
    return;
  }
  for (gsize i = 0; i < n; i++)
  {
    const gsize at = i / width * bench->scene->width + i % width;
    to[i] = (guint16)MIN (from[at] * (exposure_us / (1e6 * EXPOSURE_S)), 65535.0);
  }
}

static inline void
serve_size (Bench *bench, const char *xml, guint width, guint height)
{
  bench->served = arv_gv_fake_camera_new_full ("127.0.0.1", "T1", xml);
  ArvFakeCamera *fake = arv_gv_fake_camera_get_fake_camera (bench->served);
  arv_fake_camera_set_fill_pattern (fake, fill, bench);
  arv_fake_camera_write_register (fake, ARV_FAKE_CAMERA_REGISTER_WIDTH, width);
  arv_fake_camera_write_register (fake, ARV_FAKE_CAMERA_REGISTER_HEIGHT, height);
  arv_fake_camera_write_register (fake, ARV_FAKE_CAMERA_REGISTER_ACQUISITION_FRAME_PERIOD_US,
                                  100000);
}

static inline void
serve (Bench *bench, const char *serial, guint side, double frames_per_s)
{
  bench->served = arv_gv_fake_camera_new ("127.0.0.1", serial);
  ArvFakeCamera *fake = arv_gv_fake_camera_get_fake_camera (bench->served);
  arv_fake_camera_set_fill_pattern (fake, fill, bench);
  arv_fake_camera_write_register (fake, ARV_FAKE_CAMERA_REGISTER_WIDTH, side);
  arv_fake_camera_write_register (fake, ARV_FAKE_CAMERA_REGISTER_HEIGHT, side);
  arv_fake_camera_write_register (fake, ARV_FAKE_CAMERA_REGISTER_ACQUISITION_FRAME_PERIOD_US,
                                  (guint32)(1e6 / frames_per_s));
}

static inline int
set_up (void **state)
{
  SceneDrill drill;
  SceneCamera camera;
  Bench *bench = g_new0 (Bench, 1);
  scene_drill_init (&drill, 6.0);
  scene_camera_init (&camera);
  camera.width = camera.height = SIDE;
  camera.bits = 16;
  camera.encoding = SCENE_LINEAR;
  scene_camera_aim (&camera, &drill, 0.6);
  bench->scene = scene_render (&drill, &camera, NULL);
  *state = bench;
  return bench->scene == NULL;
}

static inline int
tear_down (void **state)
{
  Bench *bench = *state;
  g_clear_object (&bench->served);
  scene_image_free (bench->scene);
  ws_image_free (bench->coloured);
  g_free (bench);
  return 0;
}

static inline WsCamera *
open_it (void)
{
  g_autoptr (GError) error = NULL;
  WsCamera *camera = wsi_camera_open ("genicam:127.0.0.1", FALSE, &error);
  if (camera == NULL)
    print_error ("%s\n", error->message);
  assert_non_null (camera);
  return camera;
}

/* A burnt blade, in front light. */
#define COLOURED "blade-burnt"

static inline void
load_coloured (Bench *bench)
{
  bench->coloured =
    ws_image_load (WS_SOURCE_DIR "/images/" COLOURED ".jpg", NULL, WS_IMAGE_COLOUR, NULL);
  assert_non_null (bench->coloured);
}

/* The protocol has one port: tests of several builds take turns.  The lock goes with the process.
 */
static inline void
wait_for_port (void)
{
  g_autofree char *path = g_build_filename (g_get_tmp_dir (), "whetsight-genicam-test.lock", NULL);
  const int fd = open (path, O_CREAT | O_RDWR | O_CLOEXEC, 0666);
  if (fd >= 0)
    flock (fd, LOCK_EX);
}

#endif
