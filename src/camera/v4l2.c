#include "camera/v4l2.h"

#include <errno.h>
#include <fcntl.h>
#include <linux/videodev2.h>
#include <math.h>
#include <poll.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/mman.h>
#include <unistd.h>

#include <whetsight/error.h>

#include "base/shown.h"
#include "camera/mjpeg.h"
#include "camera/samples.h"

#define N_BUFFERS 4

/* Pictures that a device may still give by its former settings. */
#define STALE_FRAMES 2

/* V4L2_CID_EXPOSURE_ABSOLUTE counts these. */
#define EXPOSURE_UNIT_S 1e-4

/* Luma of a limited range, Rec. ITU-R BT.601-7, 2.5.3. */
#define LUMA_BLACK 16
#define LUMA_WHITE 235

typedef struct
{
  void *bytes;
  gsize n_bytes;
} Mapping;

typedef struct
{
  const WsV4l2System *system;
  int fd;
  gboolean colour; /* wanted */
  gboolean running;
  guint n_stale;
  gboolean counted;
  guint32 first;
  WsSamples samples; /* but for their bytes */
  WsMjpeg *mjpeg;    /* NULL when pictures come uncompressed */
  Mapping buffers[N_BUFFERS];
  guint n_buffers;
} V4l2;

/* ---- The system -------------------------------------------------------------------------- */

static int
system_open (gpointer data, const char *path)
{
  (void)data;
  return open (path, O_RDWR | O_CLOEXEC | O_NONBLOCK);
}

static void
system_close (gpointer data, int fd)
{
  (void)data;
  close (fd);
}

static int
system_ioctl (gpointer data, int fd, unsigned long request, void *argument)
{
  int answer;
  (void)data;
  do
    answer = ioctl (fd, request, argument);
  while (answer < 0 && errno == EINTR);
  return answer;
}

static void *
system_map (gpointer data, int fd, gsize n_bytes, gint64 offset)
{
  (void)data;
  void *bytes = mmap (NULL, n_bytes, PROT_READ | PROT_WRITE, MAP_SHARED, fd, (off_t)offset);
  return bytes != MAP_FAILED ? bytes : NULL;
}

static void
system_unmap (gpointer data, void *bytes, gsize n_bytes)
{
  (void)data;
  munmap (bytes, n_bytes);
}

static int
system_wait (gpointer data, int fd, int timeout_ms)
{
  struct pollfd poller = { .fd = fd, .events = POLLIN };
  int answer;
  (void)data;
  do
    answer = poll (&poller, 1, timeout_ms);
  while (answer < 0 && errno == EINTR);
  return answer;
}

static const WsV4l2System the_system = { system_open,  system_close, system_ioctl, system_map,
                                         system_unmap, system_wait,  NULL };

static int
ask (const V4l2 *self, unsigned long request, void *argument)
{
  return self->system->ioctl (self->system->data, self->fd, request, argument);
}

/* What errno says of a call that failed, in words; `doing`: "set its format". */
static gboolean
fail (const char *doing, GError **error)
{
  const int cause = errno;
  if (cause == ENODEV || cause == EIO)
    g_set_error_literal (error, WS_ERROR, WS_ERROR_NO_INPUT,
                         "v4l2: the camera was unplugged; plug it in and begin again");
  else if (cause == EBUSY)
    g_set_error_literal (error, WS_ERROR, WS_ERROR_NO_INPUT,
                         "v4l2: another program has the camera; end that one first");
  else
    g_set_error (error, WS_ERROR, WS_ERROR_NO_INPUT, "v4l2: the camera can't %s (%s)", doing,
                 g_strerror (cause));
  return FALSE;
}

/* ---- Open and close ---------------------------------------------------------------------- */

static void
stop (V4l2 *self)
{
  int type = V4L2_BUF_TYPE_VIDEO_CAPTURE;
  if (self->running)
    ask (self, VIDIOC_STREAMOFF, &type);
  self->running = FALSE;
}

static void
v4l2_close (gpointer data)
{
  V4l2 *self = data;
  stop (self);
  for (guint i = 0; i < self->n_buffers; i++)
    self->system->unmap (self->system->data, self->buffers[i].bytes, self->buffers[i].n_bytes);
  if (self->fd >= 0)
    self->system->close (self->system->data, self->fd);
  wsi_mjpeg_free (self->mjpeg);
  g_free (self);
}

/* What is read of a device's formats: those that lose nothing first, since compression moves edges.
 */
typedef struct
{
  guint32 format;
  WsSamplesLayout layout; /* of WS_SAMPLES_RGB: compressed */
} Format;

static const Format formats[] = { { V4L2_PIX_FMT_GREY, WS_SAMPLES_GREY },
                                  { V4L2_PIX_FMT_YUYV, WS_SAMPLES_YUYV },
                                  { V4L2_PIX_FMT_MJPEG, WS_SAMPLES_RGB },
                                  { V4L2_PIX_FMT_JPEG, WS_SAMPLES_RGB } };

static gboolean
has_format (const V4l2 *self, guint32 format)
{
  struct v4l2_fmtdesc about = { .type = V4L2_BUF_TYPE_VIDEO_CAPTURE };
  for (; ask (self, VIDIOC_ENUM_FMT, &about) == 0; about.index++)
    if (about.pixelformat == format)
      return TRUE;
  return FALSE;
}

/* The largest size that is listed; 0 x 0 when none is, which leaves it to the device. */
static void
find_size (const V4l2 *self, guint32 format, guint32 *width, guint32 *height)
{
  struct v4l2_frmsizeenum size = { .pixel_format = format };
  *width = *height = 0;
  for (; ask (self, VIDIOC_ENUM_FRAMESIZES, &size) == 0; size.index++)
  {
    const gboolean listed = size.type == V4L2_FRMSIZE_TYPE_DISCRETE;
    const guint32 w = listed ? size.discrete.width : size.stepwise.max_width;
    const guint32 h = listed ? size.discrete.height : size.stepwise.max_height;
    if ((guint64)w * h > (guint64)*width * *height)
    {
      *width = w;
      *height = h;
    }
    if (!listed)
      return;
  }
}

/* Luma has a limited range where nothing else is said; a decoder's samples and grey ones haven't.
 * A default of chroma is BT.709's where the colours are (V4L2_MAP_YCBCR_ENC_DEFAULT). */
static void
describe (V4l2 *self, const Format *format, const struct v4l2_pix_format *pix)
{
  const gboolean full =
    format->layout != WS_SAMPLES_YUYV || pix->quantization == V4L2_QUANTIZATION_FULL_RANGE ||
    (pix->quantization == V4L2_QUANTIZATION_DEFAULT && pix->colorspace == V4L2_COLORSPACE_JPEG);
  const gboolean linear =
    pix->xfer_func == V4L2_XFER_FUNC_NONE || pix->colorspace == V4L2_COLORSPACE_RAW;
  const gboolean bt709 =
    pix->ycbcr_enc == V4L2_YCBCR_ENC_709 ||
    (pix->ycbcr_enc == V4L2_YCBCR_ENC_DEFAULT && pix->colorspace == V4L2_COLORSPACE_REC709);
  self->samples = (WsSamples){ .width = pix->width,
                               .height = pix->height,
                               .bits = 8,
                               .layout = format->layout,
                               .black = full ? 0 : LUMA_BLACK,
                               .white = full ? 0 : LUMA_WHITE,
                               .srgb = !linear,
                               .bt709 = bt709,
                               .colour = self->colour };
  self->samples.stride = MAX (pix->bytesperline, wsi_samples_row_bytes (&self->samples));
  if (format->layout == WS_SAMPLES_RGB)
    self->mjpeg = wsi_mjpeg_new ();
}

static gboolean
refuse_formats (const V4l2 *self, GError **error)
{
  g_set_error (error, WS_ERROR, WS_ERROR_NO_INPUT,
               self->colour ? "v4l2: the camera gives no colour that is read (YUYV or MJPEG); take "
                              "its pictures in grey"
                            : "v4l2: the camera gives no pictures that are read (GREY, YUYV or "
                              "MJPEG); take another one");
  return FALSE;
}

static gboolean
set_format (V4l2 *self, GError **error)
{
  guint i = self->colour ? 1 : 0; /* grey comes first */
  while (i < G_N_ELEMENTS (formats) && !has_format (self, formats[i].format))
    i++;
  if (i == G_N_ELEMENTS (formats))
    return refuse_formats (self, error);
  struct v4l2_format format = { .type = V4L2_BUF_TYPE_VIDEO_CAPTURE };
  if (ask (self, VIDIOC_G_FMT, &format) != 0)
    return fail ("tell its format", error);
  guint32 width, height;
  find_size (self, formats[i].format, &width, &height);
  if (width > 0)
  {
    format.fmt.pix.width = width;
    format.fmt.pix.height = height;
  }
  format.fmt.pix.pixelformat = formats[i].format;
  format.fmt.pix.field = V4L2_FIELD_NONE;
  format.fmt.pix.bytesperline = 0;
  if (ask (self, VIDIOC_S_FMT, &format) != 0)
    return fail ("set its format", error);
  if (format.fmt.pix.pixelformat != formats[i].format)
  {
    errno = EINVAL;
    return fail ("keep its format", error);
  }
  describe (self, &formats[i], &format.fmt.pix);
  return TRUE;
}

static gboolean
map_buffers (V4l2 *self, GError **error)
{
  struct v4l2_requestbuffers request = { .count = N_BUFFERS,
                                         .type = V4L2_BUF_TYPE_VIDEO_CAPTURE,
                                         .memory = V4L2_MEMORY_MMAP };
  if (ask (self, VIDIOC_REQBUFS, &request) != 0)
    return fail ("give room for pictures", error);
  for (guint i = 0; i < MIN (request.count, N_BUFFERS); i++)
  {
    struct v4l2_buffer buffer = { .index = i,
                                  .type = V4L2_BUF_TYPE_VIDEO_CAPTURE,
                                  .memory = V4L2_MEMORY_MMAP };
    if (ask (self, VIDIOC_QUERYBUF, &buffer) != 0)
      return fail ("show where its pictures lie", error);
    Mapping *mapping = &self->buffers[i];
    mapping->n_bytes = buffer.length;
    mapping->bytes =
      self->system->map (self->system->data, self->fd, buffer.length, buffer.m.offset);
    if (mapping->bytes == NULL)
      return fail ("share its pictures", error);
    self->n_buffers++;
  }
  return TRUE;
}

static gboolean
check_device (const V4l2 *self, const char *shown, WsCameraIdentity *identity, GError **error)
{
  struct v4l2_capability about = { 0 };
  const guint32 needed = V4L2_CAP_VIDEO_CAPTURE | V4L2_CAP_STREAMING;
  const gboolean answered = ask (self, VIDIOC_QUERYCAP, &about) == 0;
  const guint32 can =
    about.capabilities & V4L2_CAP_DEVICE_CAPS ? about.device_caps : about.capabilities;
  if (!answered || (can & needed) != needed)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_NO_INPUT,
                 "v4l2:%s: gives no pictures; try the next device", shown);
    return FALSE;
  }
  g_autofree char *card = g_strndup ((const char *)about.card, sizeof about.card);
  g_autofree char *bus = g_strndup ((const char *)about.bus_info, sizeof about.bus_info);
  identity->name = wsi_shown (card);
  identity->serial = wsi_shown (bus);
  return TRUE;
}

gpointer
wsi_v4l2_open (const WsV4l2System *system, const WsV4l2Wish *wish, WsCameraIdentity *identity,
               GError **error)
{
  g_autofree char *shown = wsi_shown (wish->place);
  V4l2 *self = g_new0 (V4l2, 1);
  self->system = system;
  self->colour = wish->colour;
  self->fd = system->open (system->data, wish->place);
  if (self->fd < 0 && errno == EBUSY)
    fail ("be opened", error);
  else if (self->fd < 0)
    g_set_error (error, WS_ERROR, WS_ERROR_NO_INPUT, "v4l2:%s: no such camera (%s)", shown,
                 g_strerror (errno));
  else if (check_device (self, shown, identity, error) && set_format (self, error) &&
           map_buffers (self, error))
    return self;
  v4l2_close (self);
  return NULL;
}

static gpointer
v4l2_open (const char *place, gboolean colour, WsCameraIdentity *identity, GError **error)
{
  const WsV4l2Wish wish = { *place != '\0' ? place : "/dev/video0", colour };
  return wsi_v4l2_open (&the_system, &wish, identity, error);
}

/* ---- Settings ---------------------------------------------------------------------------- */

typedef struct
{
  guint32 automatic; /* 0: none */
  gint32 off;        /* its value when the camera leaves the number alone */
  guint32 number;    /* 0: the automatic one is all there is */
  double unit;       /* of the number */
  const char *name;
} Control;

static const Control controls[WS_N_SETTINGS] = {
  [WS_SETTING_EXPOSURE] = { V4L2_CID_EXPOSURE_AUTO, V4L2_EXPOSURE_MANUAL,
                            V4L2_CID_EXPOSURE_ABSOLUTE, EXPOSURE_UNIT_S, "s" },
  [WS_SETTING_GAIN] = { V4L2_CID_AUTOGAIN, 0, V4L2_CID_GAIN, 1.0, "" },
  [WS_SETTING_WHITE_BALANCE] = { V4L2_CID_AUTO_WHITE_BALANCE, 0, 0, 1.0, "" },
  [WS_SETTING_GAMMA] = { 0, 0, V4L2_CID_GAMMA, 1.0, "" },
  [WS_SETTING_SHARPENING] = { 0, 0, V4L2_CID_SHARPNESS, 1.0, "" },
};

/* FALSE when the device has no such control. */
static gboolean
query (const V4l2 *self, guint32 id, struct v4l2_queryctrl *about)
{
  *about = (struct v4l2_queryctrl){ .id = id };
  return id != 0 && ask (self, VIDIOC_QUERYCTRL, about) == 0 &&
         !(about->flags & V4L2_CTRL_FLAG_DISABLED);
}

static gboolean
get_value (const V4l2 *self, guint32 id, gint32 *value, GError **error)
{
  struct v4l2_control control = { .id = id };
  if (ask (self, VIDIOC_G_CTRL, &control) != 0)
    return fail ("read its settings", error);
  *value = control.value;
  return TRUE;
}

static gboolean
v4l2_get (gpointer data, WsSettingName name, WsSetting *read, GError **error)
{
  const V4l2 *self = data;
  const Control *control = &controls[name];
  struct v4l2_queryctrl about, automatic;
  const gboolean has_number = query (self, control->number, &about);
  const gboolean has_automatic = query (self, control->automatic, &automatic);
  gint32 mode = control->off, value = 0;
  if (!has_number && !(has_automatic && control->number == 0))
    return TRUE;
  if (has_automatic && !get_value (self, control->automatic, &mode, error))
    return FALSE;
  if (has_number && !get_value (self, control->number, &value, error))
    return FALSE;
  read->unit = control->name;
  read->state = mode == control->off ? WS_SETTING_FIXED : WS_SETTING_WANDERING;
  if (read->state == WS_SETTING_FIXED)
    read->value = value * control->unit;
  if (has_number)
  {
    read->least = about.minimum * control->unit;
    read->most = about.maximum * control->unit;
  }
  return TRUE;
}

/* A control that refuses stays as it is, which reading it back tells. */
static gboolean
set_value (const V4l2 *self, guint32 id, gint32 value, GError **error)
{
  struct v4l2_control control = { .id = id, .value = value };
  if (ask (self, VIDIOC_S_CTRL, &control) == 0 || (errno != ENODEV && errno != EIO))
    return TRUE;
  return fail ("be set", error);
}

/* Gamma's number has no unit that devices agree on, so it is put where the maker has it: the sRGB
 * curve, which frames are read by. */
static gboolean
v4l2_set (gpointer data, WsSettingName name, double value, GError **error)
{
  V4l2 *self = data;
  const Control *control = &controls[name];
  struct v4l2_queryctrl about;
  stop (self);
  self->n_stale = STALE_FRAMES;
  if (query (self, control->automatic, &about) &&
      !set_value (self, control->automatic, control->off, error))
    return FALSE;
  /* Else the exposure changes with the rate of pictures. */
  if (name == WS_SETTING_EXPOSURE && query (self, V4L2_CID_EXPOSURE_AUTO_PRIORITY, &about) &&
      !set_value (self, V4L2_CID_EXPOSURE_AUTO_PRIORITY, 0, error))
    return FALSE;
  if (isnan (value) || !query (self, control->number, &about))
    return TRUE;
  const double number = name == WS_SETTING_GAMMA ? about.default_value : value / control->unit;
  return set_value (self, control->number,
                    (gint32)lround (CLAMP (number, about.minimum, about.maximum)), error);
}

/* ---- Frames ------------------------------------------------------------------------------ */

static gboolean
hand_in (const V4l2 *self, guint index, GError **error)
{
  struct v4l2_buffer buffer = { .index = index,
                                .type = V4L2_BUF_TYPE_VIDEO_CAPTURE,
                                .memory = V4L2_MEMORY_MMAP };
  return ask (self, VIDIOC_QBUF, &buffer) == 0 || fail ("take room for a picture", error);
}

static gboolean
start (V4l2 *self, GError **error)
{
  int type = V4L2_BUF_TYPE_VIDEO_CAPTURE;
  if (self->running)
    return TRUE;
  for (guint i = 0; i < self->n_buffers; i++)
    if (!hand_in (self, i, error))
      return FALSE;
  if (ask (self, VIDIOC_STREAMON, &type) != 0)
    return fail ("begin", error);
  self->running = TRUE;
  self->counted = FALSE;
  return TRUE;
}

static gboolean
next_buffer (const V4l2 *self, struct v4l2_buffer *buffer, guint timeout_ms, GError **error)
{
  const int come =
    self->system->wait (self->system->data, self->fd, (int)MIN (timeout_ms, G_MAXINT));
  *buffer = (struct v4l2_buffer){ .type = V4L2_BUF_TYPE_VIDEO_CAPTURE, .memory = V4L2_MEMORY_MMAP };
  if (come == 0)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_NO_INPUT,
                 "v4l2: no picture came from the camera within %u ms; is it plugged in?",
                 timeout_ms);
    return FALSE;
  }
  return (come > 0 && ask (self, VIDIOC_DQBUF, buffer) == 0) || fail ("give a picture", error);
}

/* The picture in the buffer, as samples; FALSE when a part of it is missing. */
static gboolean
read_buffer (const V4l2 *self, const struct v4l2_buffer *buffer, WsSamples *samples)
{
  *samples = self->samples;
  if (buffer->index >= self->n_buffers || buffer->flags & V4L2_BUF_FLAG_ERROR)
    return FALSE;
  const Mapping *mapping = &self->buffers[buffer->index];
  const gsize n = MIN (buffer->bytesused, mapping->n_bytes);
  if (self->mjpeg != NULL)
    return wsi_mjpeg_decode (self->mjpeg, mapping->bytes, n, self->colour, samples);
  samples->bytes = mapping->bytes;
  return n >= samples->stride * (samples->height - 1) + wsi_samples_row_bytes (samples);
}

static gboolean
take (V4l2 *self, const struct v4l2_buffer *buffer, WsFrame *frame, GError **error)
{
  WsSamples samples;
  if (!read_buffer (self, buffer, &samples))
  {
    g_set_error (
      error, WS_ERROR, WS_ERROR_DATA,
      "v4l2: a part of picture %u was lost on the way; use a shorter cable or a port of its own",
      buffer->sequence);
    return FALSE;
  }
  if (!wsi_samples_to_frame (&samples, frame, error))
    return FALSE;
  frame->image->lossy = self->mjpeg != NULL;
  if (!self->counted)
    self->first = buffer->sequence;
  self->counted = TRUE;
  frame->number = buffer->sequence - self->first;
  frame->time_us = g_get_monotonic_time ();
  return TRUE;
}

static gboolean
v4l2_grab (gpointer data, WsFrame *frame, guint timeout_ms, GError **error)
{
  V4l2 *self = data;
  struct v4l2_buffer buffer;
  if (!start (self, error))
    return FALSE;
  for (; self->n_stale > 0; self->n_stale--)
    if (!next_buffer (self, &buffer, timeout_ms, error) || !hand_in (self, buffer.index, error))
      return FALSE;
  if (!next_buffer (self, &buffer, timeout_ms, error))
    return FALSE;
  const gboolean taken = take (self, &buffer, frame, error);
  return hand_in (self, buffer.index, taken ? error : NULL) && taken;
}

const WsCameraKind wsi_camera_kind_v4l2 = {
  .name = "v4l2",
  .open = v4l2_open,
  .close = v4l2_close,
  .get = v4l2_get,
  .set = v4l2_set,
  .grab = v4l2_grab,
};
