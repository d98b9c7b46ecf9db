/*
 * A video device whose ioctls are answered here.
 */
#include "camera/v4l2.h"

#include "base/testing.h"

#include <errno.h>
#include <linux/videodev2.h>

#include <whetsight/error.h>

#include "camera/jpeg_for_tests.h"

#define WIDTH 8
#define HEIGHT 4
#define STRIDE (2 * WIDTH + 4)
#define N_CONTROLS 6

/* Room for a picture, compressed or not. */
#define ROOM 2048

typedef struct
{
  guint32 id;
  gint32 value, least, most, otherwise;
} FakeControl;

typedef struct
{
  WsV4l2System system;
  guint8 pictures[4][ROOM];
  guint32 format;
  FakeControl controls[N_CONTROLS];
  guint queue[4], n_queued;
  guint32 sequence;
  gboolean streaming;
  gboolean dead, busy, torn, silent;
  gboolean colour; /* wanted */
  gboolean grey;   /* its JPEGs are */
  guint n_mapped, n_open;
} Fake;

static int
refuse (int cause)
{
  errno = cause;
  return -1;
}

static int
fake_open (gpointer data, const char *path)
{
  Fake *fake = data;
  if (!g_str_equal (path, "/dev/fake"))
    return refuse (ENOENT);
  fake->n_open++;
  return 7;
}

static void
fake_close (gpointer data, int fd)
{
  Fake *fake = data;
  assert_int_equal (fd, 7);
  fake->n_open--;
}

static int
answer_format (const Fake *fake, struct v4l2_format *format)
{
  if (fake->busy)
    return refuse (EBUSY);
  format->fmt.pix = (struct v4l2_pix_format){ .width = WIDTH,
                                              .height = HEIGHT,
                                              .pixelformat = fake->format,
                                              .bytesperline = STRIDE,
                                              .colorspace = V4L2_COLORSPACE_SRGB };
  return 0;
}

static FakeControl *
control_of (Fake *fake, guint32 id)
{
  for (guint i = 0; i < N_CONTROLS; i++)
    if (fake->controls[i].id == id)
      return &fake->controls[i];
  return NULL;
}

static int
answer_control (Fake *fake, unsigned long request, void *argument)
{
  struct v4l2_queryctrl *about = argument;
  struct v4l2_control *control = argument;
  FakeControl *own = control_of (fake, *(const guint32 *)argument); /* both begin with the id */
  if (own == NULL)
    return refuse (EINVAL);
  if (request == VIDIOC_QUERYCTRL)
    *about = (struct v4l2_queryctrl){
      .id = own->id, .minimum = own->least, .maximum = own->most, .default_value = own->otherwise
    };
  else if (request == VIDIOC_G_CTRL)
    control->value = own->value;
  else if (control->value < own->least || control->value > own->most)
    return refuse (ERANGE);
  else
    own->value = control->value;
  return 0;
}

/* Luma by the exposure, its other bytes anything; or a JPEG of its colour without the tables that
 * cameras leave out, and a byte too many at its end as many have.  Returns how many bytes. */
static guint32
fill (Fake *fake, guint8 *picture)
{
  const guint8 luma = (guint8)control_of (fake, V4L2_CID_EXPOSURE_ABSOLUTE)->value;
  if (fake->format != V4L2_PIX_FMT_MJPEG)
  {
    for (guint i = 0; i < STRIDE * HEIGHT; i++)
      picture[i] = i % 2 == 0 ? luma : 77;
    return fake->torn ? STRIDE : STRIDE * HEIGHT;
  }
  const PlainPicture plain = { WIDTH, HEIGHT, { luma, luma / 2, luma / 4 }, fake->grey };
  gsize n = 0;
  g_autofree guint8 *jpeg = plain_jpeg (&plain, &n);
  drop_huffman_tables (jpeg, &n);
  assert_true (n < ROOM);
  memcpy (picture, jpeg, n);
  memcpy (picture + n - 2, "\0\xFF\xD9", 3); /* ITU-T T.81, B.1.1.2: the end's marker is FFD9 */
  return (guint32)(fake->torn ? n / 2 : n + 1);
}

static int
answer_buffer (Fake *fake, unsigned long request, struct v4l2_buffer *buffer)
{
  if (request == VIDIOC_QBUF)
    fake->queue[fake->n_queued++] = buffer->index;
  else if (request == VIDIOC_DQBUF)
  {
    if (!fake->streaming || fake->n_queued == 0)
      return refuse (EAGAIN);
    buffer->index = fake->queue[0];
    fake->n_queued--;
    memmove (fake->queue, fake->queue + 1, fake->n_queued * sizeof *fake->queue);
    buffer->sequence = fake->sequence++;
    buffer->bytesused = fill (fake, fake->pictures[buffer->index]);
  }
  buffer->length = ROOM;
  buffer->m.offset = buffer->index;
  return 0;
}

static int
answer_list (const Fake *fake, unsigned long request, void *argument)
{
  struct v4l2_fmtdesc *about = argument;
  struct v4l2_frmsizeenum *size = argument;
  if (*(const guint32 *)argument > 0)
    return refuse (EINVAL);
  if (request == VIDIOC_ENUM_FMT)
    about->pixelformat = fake->format;
  else
  {
    size->type = V4L2_FRMSIZE_TYPE_DISCRETE;
    size->discrete.width = WIDTH;
    size->discrete.height = HEIGHT;
  }
  return 0;
}

static int
fake_ioctl (gpointer data, int fd, unsigned long request, void *argument)
{
  Fake *fake = data;
  assert_int_equal (fd, 7);
  if (fake->dead)
    return refuse (ENODEV);
  switch (request)
  {
  case VIDIOC_QUERYCAP:
    g_strlcpy ((char *)((struct v4l2_capability *)argument)->card, "Fake camera", 32);
    g_strlcpy ((char *)((struct v4l2_capability *)argument)->bus_info, "usb-1", 32);
    ((struct v4l2_capability *)argument)->capabilities =
      V4L2_CAP_VIDEO_CAPTURE | V4L2_CAP_STREAMING;
    return 0;
  case VIDIOC_ENUM_FMT:
  case VIDIOC_ENUM_FRAMESIZES:
    return answer_list (fake, request, argument);
  case VIDIOC_G_FMT:
  case VIDIOC_S_FMT:
    return answer_format (fake, argument);
  case VIDIOC_REQBUFS:
    return 0;
  case VIDIOC_QUERYBUF:
  case VIDIOC_QBUF:
  case VIDIOC_DQBUF:
    return answer_buffer (fake, request, argument);
  case VIDIOC_STREAMON:
    fake->streaming = TRUE;
    return 0;
  case VIDIOC_STREAMOFF:
    fake->streaming = FALSE;
    fake->n_queued = 0;
    return 0;
  default:
    return answer_control (fake, request, argument);
  }
}

static void *
fake_map (gpointer data, int fd, gsize n_bytes, gint64 offset)
{
  Fake *fake = data;
  assert_int_equal (fd, 7);
  assert_int_equal (n_bytes, ROOM);
  fake->n_mapped++;
  return fake->pictures[offset];
}

static void
fake_unmap (gpointer data, void *bytes, gsize n_bytes)
{
  Fake *fake = data;
  (void)bytes;
  (void)n_bytes;
  fake->n_mapped--;
}

static int
fake_wait (gpointer data, int fd, int timeout_ms)
{
  const Fake *fake = data;
  (void)fd;
  (void)timeout_ms;
  return fake->silent ? 0 : 1;
}

static int
set_up (void **state)
{
  Fake *fake = g_new0 (Fake, 1);
  const FakeControl controls[N_CONTROLS] = {
    { V4L2_CID_EXPOSURE_AUTO, V4L2_EXPOSURE_APERTURE_PRIORITY, 0, 3, 3 },
    { V4L2_CID_EXPOSURE_ABSOLUTE, 30, 1, 250, 100 },
    { V4L2_CID_EXPOSURE_AUTO_PRIORITY, 1, 0, 1, 1 },
    { V4L2_CID_SHARPNESS, 5, 1, 7, 3 },
    { V4L2_CID_GAMMA, 180, 72, 500, 100 },
    { V4L2_CID_AUTO_WHITE_BALANCE, 1, 0, 1, 1 },
  };
  memcpy (fake->controls, controls, sizeof controls);
  fake->format = V4L2_PIX_FMT_YUYV;
  fake->system =
    (WsV4l2System){ fake_open, fake_close, fake_ioctl, fake_map, fake_unmap, fake_wait, fake };
  *state = fake;
  return 0;
}

static int
tear_down (void **state)
{
  const Fake *fake = *state;
  assert_int_equal (fake->n_mapped, 0);
  assert_int_equal (fake->n_open, 0);
  g_free (*state);
  return 0;
}

static void
identity_clear (WsCameraIdentity *identity)
{
  g_free (identity->name);
  g_free (identity->serial);
}

static gpointer
open_fake (const Fake *fake, const char *path, GError **error)
{
  WsCameraIdentity identity = { 0 };
  gpointer self =
    wsi_v4l2_open (&fake->system, &(WsV4l2Wish){ path, fake->colour }, &identity, error);
  if (self != NULL)
  {
    assert_string_equal (identity.name, "Fake camera");
    assert_string_equal (identity.serial, "usb-1");
  }
  identity_clear (&identity);
  return self;
}

static void
test_controls_are_fixed (void **state)
{
  Fake *fake = *state;
  const WsCameraKind *kind = &wsi_camera_kind_v4l2;
  gpointer self = open_fake (fake, "/dev/fake", NULL);
  assert_non_null (self);
  WsSetting read = { WS_SETTING_ABSENT, NAN, NAN, NAN, "" };
  assert_true (kind->get (self, WS_SETTING_EXPOSURE, &read, NULL));
  assert_int_equal (read.state, WS_SETTING_WANDERING);
  assert_true (kind->set (self, WS_SETTING_EXPOSURE, 0.0123, NULL));
  assert_true (kind->get (self, WS_SETTING_EXPOSURE, &read, NULL));
  assert_int_equal (read.state, WS_SETTING_FIXED);
  assert_near (read.value, 0.0123, 1e-9);
  assert_near (read.most, 0.025, 1e-9);
  assert_int_equal (control_of (fake, V4L2_CID_EXPOSURE_AUTO)->value, V4L2_EXPOSURE_MANUAL);
  assert_int_equal (control_of (fake, V4L2_CID_EXPOSURE_AUTO_PRIORITY)->value, 0);

  assert_true (kind->set (self, WS_SETTING_SHARPENING, 0.0, NULL));
  assert_int_equal (control_of (fake, V4L2_CID_SHARPNESS)->value, 1);
  assert_true (kind->set (self, WS_SETTING_GAMMA, 1.0, NULL));
  assert_int_equal (control_of (fake, V4L2_CID_GAMMA)->value, 100);
  assert_true (kind->set (self, WS_SETTING_WHITE_BALANCE, NAN, NULL));
  assert_true (kind->get (self, WS_SETTING_WHITE_BALANCE, &read, NULL));
  assert_int_equal (read.state, WS_SETTING_FIXED);

  WsSetting gain = { WS_SETTING_ABSENT, NAN, NAN, NAN, "" };
  assert_true (kind->get (self, WS_SETTING_GAIN, &gain, NULL));
  assert_int_equal (gain.state, WS_SETTING_ABSENT);
  kind->close (self);
}

/* sRGB of luma 16 .. 235, IEC 61966-2-1. */
static double
light_of (double luma)
{
  const double code = CLAMP ((luma - 16.0) / 219.0, 0.0, 1.0);
  return 65535.0 * (code <= 0.04045 ? code / 12.92 : pow ((code + 0.055) / 1.055, 2.4));
}

static void
test_frames_in_light (void **state)
{
  Fake *fake = *state;
  const WsCameraKind *kind = &wsi_camera_kind_v4l2;
  gpointer self = open_fake (fake, "/dev/fake", NULL);
  g_auto (WsFrame) frame = { 0 };
  assert_true (kind->grab (self, &frame, 100, NULL));
  assert_int_equal (frame.image->width, WIDTH);
  assert_int_equal (frame.image->height, HEIGHT);
  assert_int_equal (frame.image->tone, WS_TONE_SRGB_ASSUMED);
  for (guint i = 0; i < WIDTH * HEIGHT; i++)
    assert_near (frame.image->linear[i], light_of (30.0), 1.0);

  assert_true (kind->set (self, WS_SETTING_EXPOSURE, 0.0200, NULL));
  for (guint i = 0; i < 10; i++)
  {
    assert_true (kind->grab (self, &frame, 100, NULL));
    assert_int_equal (frame.number, i);
  }
  assert_near (frame.image->linear[0], light_of (200.0), 1.0);
  assert_false (frame.saturated);
  assert_true (kind->set (self, WS_SETTING_EXPOSURE, 0.0250, NULL));
  assert_true (kind->grab (self, &frame, 100, NULL));
  assert_true (frame.saturated);
  kind->close (self);
}

static void
check_no_frame (gpointer self, int code, const char *words)
{
  g_auto (WsFrame) frame = { 0 };
  g_autoptr (GError) error = NULL;
  assert_false (wsi_camera_kind_v4l2.grab (self, &frame, 100, &error));
  assert_int_equal (error->code, code);
  assert_contains (error->message, words);
}

static void
test_what_goes_wrong (void **state)
{
  Fake *fake = *state;
  g_auto (WsFrame) frame = { 0 };
  gpointer self = open_fake (fake, "/dev/fake", NULL);
  fake->torn = TRUE;
  check_no_frame (self, WS_ERROR_DATA, "lost on the way");
  fake->torn = FALSE;
  assert_true (wsi_camera_kind_v4l2.grab (self, &frame, 100, NULL));
  fake->silent = TRUE;
  check_no_frame (self, WS_ERROR_NO_INPUT, "within 100 ms");
  fake->silent = FALSE;
  fake->dead = TRUE;
  check_no_frame (self, WS_ERROR_NO_INPUT, "unplugged");
  wsi_camera_kind_v4l2.close (self);
}

static void
check_not_opened (const Fake *fake, const char *path, const char *words)
{
  g_autoptr (GError) error = NULL;
  assert_null (open_fake (fake, path, &error));
  assert_int_equal (error->code, WS_ERROR_NO_INPUT);
  assert_contains (error->message, words);
}

static void
test_what_is_no_camera (void **state)
{
  Fake *fake = *state;
  check_not_opened (fake, "/dev/none", "no such camera");
  fake->format = V4L2_PIX_FMT_H264;
  check_not_opened (fake, "/dev/fake", "no pictures that are read");
  fake->format = V4L2_PIX_FMT_GREY;
  fake->colour = TRUE;
  check_not_opened (fake, "/dev/fake", "no colour that is read");
  fake->colour = FALSE;
  fake->busy = TRUE;
  check_not_opened (fake, "/dev/fake", "another program has the camera");
  fake->dead = TRUE;
  check_not_opened (fake, "/dev/fake", "gives no pictures");
}

/* Cameras that compress what they see, in colour and without. */
static void
test_compressed (void **state)
{
  Fake *fake = *state;
  const WsCameraKind *kind = &wsi_camera_kind_v4l2;
  fake->format = V4L2_PIX_FMT_MJPEG;
  fake->colour = TRUE;
  {
    gpointer self = open_fake (fake, "/dev/fake", NULL);
    g_auto (WsFrame) frame = { 0 };
    assert_non_null (self);
    assert_true (kind->set (self, WS_SETTING_EXPOSURE, 0.0200, NULL));
    assert_true (kind->grab (self, &frame, 100, NULL));
    assert_true (frame.image->has_colour);
    assert_true (frame.image->lossy);
    assert_near (frame.colour[0], light_of (16.0 + 219.0 * 200 / 255), 900.0);
    assert_near (frame.colour[1], light_of (16.0 + 219.0 * 100 / 255), 500.0);
    assert_near (frame.colour[2], light_of (16.0 + 219.0 * 50 / 255), 300.0);
    fake->torn = TRUE;
    check_no_frame (self, WS_ERROR_DATA, "lost on the way");
    fake->torn = FALSE;
    fake->grey = TRUE;
    assert_true (kind->grab (self, &frame, 100, NULL));
    assert_false (frame.image->has_colour);
    kind->close (self);
  }
  fake->colour = FALSE;
  gpointer self = open_fake (fake, "/dev/fake", NULL);
  g_auto (WsFrame) frame = { 0 };
  assert_true (kind->grab (self, &frame, 100, NULL));
  assert_false (frame.image->has_colour);
  assert_near (frame.image->linear[0], light_of (16.0 + 219.0 * 200 / 255), 900.0);
  kind->close (self);
}

static void
test_colour_of_pairs (void **state)
{
  Fake *fake = *state;
  fake->colour = TRUE;
  gpointer self = open_fake (fake, "/dev/fake", NULL);
  g_auto (WsFrame) frame = { 0 };
  assert_true (wsi_camera_kind_v4l2.grab (self, &frame, 100, NULL));
  assert_true (frame.image->has_colour);
  assert_false (frame.image->lossy);
  /* Chroma below its middle is green. */
  assert_true (frame.colour[1] > frame.colour[0] && frame.colour[1] > frame.colour[2]);
  wsi_camera_kind_v4l2.close (self);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown (test_controls_are_fixed, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_frames_in_light, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_what_goes_wrong, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_compressed, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_colour_of_pairs, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_what_is_no_camera, set_up, tear_down),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
