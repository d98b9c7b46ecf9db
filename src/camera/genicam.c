/*
 * Industrial cameras over GigE Vision and USB3 Vision, through Aravis.  Features have the names of
 * the GenICam Standard Features Naming Convention; Aravis knows those of older cameras.
 */
#include "camera/kind.h"

#ifdef WS_HAVE_ARAVIS

#include <math.h>
#include <string.h>

#include <whetsight/error.h>

#include "base/shown.h"
#include "camera/samples.h"
#include "late/aravis.h"

/* Buffers under way: enough to lose no frame while one is worked on, within this room. */
#define BUFFER_BYTES (64U << 20)
#define LEAST_BUFFERS 4
#define MOST_BUFFERS 256
#define US_PER_S 1e6

typedef struct
{
  ArvCamera *camera;
  ArvStream *stream;
  gboolean colour; /* wanted */
  gboolean running;
  gint gone;      /* set by the thread that keeps the camera awake */
  gboolean stale; /* frames that wait and the next one may be of settings that were changed since */
  guint64 last, number; /* the camera's number of the last frame, and ours; 0 before the first */
} Genicam;

/* Unplugging is one thing, whatever call it shows in. */
static gboolean
fail (const Genicam *self, GError *cause, GError **error)
{
  const char *what = self != NULL && g_atomic_int_get (&self->gone)
                       ? "the camera was unplugged or taken over; plug it in and begin again"
                       : cause->message;
  g_set_error (error, WS_ERROR, WS_ERROR_NO_INPUT, "genicam: %s", what);
  g_error_free (cause);
  return FALSE;
}

/* ---- Open and close ---------------------------------------------------------------------- */

static void
on_control_lost (ArvDevice *device, Genicam *self)
{
  (void)device;
  g_atomic_int_set (&self->gone, 1);
}

static void
genicam_close (gpointer data)
{
  Genicam *self = data;
  if (self->camera != NULL)
  {
    if (self->running && !g_atomic_int_get (&self->gone))
      arv_camera_stop_acquisition (self->camera, NULL);
    g_signal_handlers_disconnect_by_data (arv_camera_get_device (self->camera), self);
  }
  g_clear_object (&self->stream);
  g_clear_object (&self->camera);
  g_free (self);
}

/* What is read of a camera's formats. */
typedef struct
{
  ArvPixelFormat format;
  WsSamplesLayout layout;
  guint bits;
  guint red_x, red_y; /* of WS_SAMPLES_BAYER */
} Format;

/* Grey in fine steps before coarse ones.  Of colour what the sensor saw, in fine steps first,
 * before what the camera made of it, which is three times the bytes and may be sharpened. */
static const Format formats[] = {
  { ARV_PIXEL_FORMAT_MONO_16, WS_SAMPLES_GREY, 16, 0, 0 },
  { ARV_PIXEL_FORMAT_MONO_12, WS_SAMPLES_GREY, 12, 0, 0 },
  { ARV_PIXEL_FORMAT_MONO_10, WS_SAMPLES_GREY, 10, 0, 0 },
  { ARV_PIXEL_FORMAT_MONO_8, WS_SAMPLES_GREY, 8, 0, 0 },
  { ARV_PIXEL_FORMAT_BAYER_RG_16, WS_SAMPLES_BAYER, 16, 0, 0 },
  { ARV_PIXEL_FORMAT_BAYER_GR_16, WS_SAMPLES_BAYER, 16, 1, 0 },
  { ARV_PIXEL_FORMAT_BAYER_GB_16, WS_SAMPLES_BAYER, 16, 0, 1 },
  { ARV_PIXEL_FORMAT_BAYER_BG_16, WS_SAMPLES_BAYER, 16, 1, 1 },
  { ARV_PIXEL_FORMAT_BAYER_RG_12, WS_SAMPLES_BAYER, 12, 0, 0 },
  { ARV_PIXEL_FORMAT_BAYER_GR_12, WS_SAMPLES_BAYER, 12, 1, 0 },
  { ARV_PIXEL_FORMAT_BAYER_GB_12, WS_SAMPLES_BAYER, 12, 0, 1 },
  { ARV_PIXEL_FORMAT_BAYER_BG_12, WS_SAMPLES_BAYER, 12, 1, 1 },
  { ARV_PIXEL_FORMAT_BAYER_RG_10, WS_SAMPLES_BAYER, 10, 0, 0 },
  { ARV_PIXEL_FORMAT_BAYER_GR_10, WS_SAMPLES_BAYER, 10, 1, 0 },
  { ARV_PIXEL_FORMAT_BAYER_GB_10, WS_SAMPLES_BAYER, 10, 0, 1 },
  { ARV_PIXEL_FORMAT_BAYER_BG_10, WS_SAMPLES_BAYER, 10, 1, 1 },
  { ARV_PIXEL_FORMAT_BAYER_RG_8, WS_SAMPLES_BAYER, 8, 0, 0 },
  { ARV_PIXEL_FORMAT_BAYER_GR_8, WS_SAMPLES_BAYER, 8, 1, 0 },
  { ARV_PIXEL_FORMAT_BAYER_GB_8, WS_SAMPLES_BAYER, 8, 0, 1 },
  { ARV_PIXEL_FORMAT_BAYER_BG_8, WS_SAMPLES_BAYER, 8, 1, 1 },
  { ARV_PIXEL_FORMAT_RGB_8_PACKED, WS_SAMPLES_RGB, 8, 0, 0 },
  { ARV_PIXEL_FORMAT_BGR_8_PACKED, WS_SAMPLES_BGR, 8, 0, 0 },
};

static gboolean
is_among (ArvPixelFormat format, const gint64 *formats_there, guint n)
{
  for (guint i = 0; i < n; i++)
    if (formats_there[i] == (gint64)format)
      return TRUE;
  return FALSE;
}

/* The first that the camera has. */
static gboolean
choose_format (ArvCamera *camera, gboolean colour, GError **error)
{
  guint n = 0;
  g_autofree gint64 *there = arv_camera_dup_available_pixel_formats (camera, &n, error);
  if (there == NULL)
    return FALSE;
  for (guint i = 0; i < G_N_ELEMENTS (formats); i++)
  {
    GError *cause = NULL;
    if ((colour && formats[i].layout == WS_SAMPLES_GREY) || !is_among (formats[i].format, there, n))
      continue;
    arv_camera_set_pixel_format (camera, formats[i].format, &cause);
    if (cause != NULL)
      g_propagate_error (error, cause);
    return cause == NULL;
  }
  g_set_error_literal (error, WS_ERROR, WS_ERROR_NO_INPUT,
                       colour ? "the camera gives no colour that is read; Bayer formats of 8 to "
                                "16 bits, RGB8 and BGR8 are; take its pictures in grey"
                              : "the camera has no pixel format that is read; Mono8 to Mono16, "
                                "Bayer formats of 8 to 16 bits, RGB8 and BGR8 are");
  return FALSE;
}

static gboolean
prepare (Genicam *self, GError **error)
{
  GError *cause = NULL;
  if (!choose_format (self->camera, self->colour, error))
    return FALSE;
  arv_camera_set_acquisition_mode (self->camera, ARV_ACQUISITION_MODE_CONTINUOUS, &cause);
  if (cause == NULL)
    arv_camera_clear_triggers (self->camera, &cause);
  if (cause == NULL)
    self->stream = arv_camera_create_stream (self->camera, NULL, NULL, &cause);
  if (cause != NULL)
  {
    g_propagate_error (error, cause);
    return FALSE;
  }
  return TRUE;
}

static gpointer
genicam_open (const char *place, gboolean colour, WsCameraIdentity *identity, GError **error)
{
  g_autofree char *shown = wsi_shown (place);
  GError *cause = NULL;
  if (!wsi_late_has_aravis (error))
    return NULL;
  Genicam *self = g_new0 (Genicam, 1);
  self->colour = colour;
  self->camera = arv_camera_new (*place != '\0' ? place : NULL, &cause);
  if (self->camera == NULL)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_NO_INPUT,
                 "genicam:%s: no such camera, or another program has it (%s)", shown,
                 cause != NULL ? cause->message : "none was found");
    g_clear_error (&cause);
    genicam_close (self);
    return NULL;
  }
  ArvDevice *device = arv_camera_get_device (self->camera);
  if (G_TYPE_CHECK_INSTANCE_TYPE (device, ARV_TYPE_GV_DEVICE) &&
      !arv_gv_device_is_controller ((ArvGvDevice *)device))
  {
    g_set_error (error, WS_ERROR, WS_ERROR_NO_INPUT,
                 "genicam:%s: another program has the camera; end that one first", shown);
    genicam_close (self);
    return NULL;
  }
  g_signal_connect (device, "control-lost", G_CALLBACK (on_control_lost), self);
  const char *vendor = arv_camera_get_vendor_name (self->camera, NULL);
  const char *model = arv_camera_get_model_name (self->camera, NULL);
  const char *serial = arv_camera_get_device_serial_number (self->camera, NULL);
  identity->name =
    g_strdup_printf ("%s %s", vendor != NULL ? vendor : "", model != NULL ? model : "");
  g_strstrip (identity->name);
  identity->serial = g_strdup (serial != NULL ? serial : "");
  if (prepare (self, &cause))
    return self;
  fail (NULL, cause, error);
  genicam_close (self);
  return NULL;
}

/* ---- Settings ---------------------------------------------------------------------------- */

/* A switch that a camera has under one of these names, and the word or number that turns it off. */
typedef struct
{
  const char *automatic; /* an enumeration: Off, Once, Continuous */
  const char *enable;    /* a boolean without which the number has no effect */
  const char *number;    /* float or integer */
} Control;

static const Control controls[WS_N_SETTINGS] = {
  [WS_SETTING_EXPOSURE] = { "ExposureAuto", NULL, NULL },
  [WS_SETTING_GAIN] = { "GainAuto", NULL, NULL },
  [WS_SETTING_WHITE_BALANCE] = { "BalanceWhiteAuto", NULL, NULL },
  [WS_SETTING_GAMMA] = { NULL, "GammaEnable", "Gamma" },
  [WS_SETTING_SHARPENING] = { "SharpnessAuto", "SharpnessEnable", "Sharpness" },
};

static gboolean
has (const Genicam *self, const char *feature)
{
  return feature != NULL && arv_camera_is_feature_available (self->camera, feature, NULL);
}

static gboolean
is_float (const Genicam *self, const char *feature)
{
  ArvGcNode *node = arv_device_get_feature (arv_camera_get_device (self->camera), feature);
  return G_TYPE_CHECK_INSTANCE_TYPE (node, ARV_TYPE_GC_FLOAT);
}

static gboolean
is_automatic (const Genicam *self, const Control *control, GError **error)
{
  if (!has (self, control->automatic))
    return FALSE;
  const char *word = arv_camera_get_string (self->camera, control->automatic, error);
  return word == NULL || !g_str_equal (word, "Off");
}

/* A camera's number, its unit as the naming convention has it. */
static gboolean
get_number (const Genicam *self, const char *feature, WsSetting *read, GError **error)
{
  if (is_float (self, feature))
  {
    read->value = arv_camera_get_float (self->camera, feature, error);
    arv_camera_get_float_bounds (self->camera, feature, &read->least, &read->most, NULL);
  }
  else
  {
    gint64 least = 0, most = 0;
    read->value = (double)arv_camera_get_integer (self->camera, feature, error);
    arv_camera_get_integer_bounds (self->camera, feature, &least, &most, NULL);
    read->least = (double)least;
    read->most = (double)most;
  }
  return TRUE;
}

static gboolean
is_there (const Genicam *self, WsSettingName name)
{
  const Control *control = &controls[name];
  switch (name)
  {
  case WS_SETTING_EXPOSURE:
    return arv_camera_is_exposure_time_available (self->camera, NULL);
  case WS_SETTING_GAIN:
    return arv_camera_is_gain_available (self->camera, NULL);
  default:
    return has (self, control->number != NULL ? control->number : control->automatic);
  }
}

static void
read_value (const Genicam *self, WsSettingName name, WsSetting *read, GError **error)
{
  switch (name)
  {
  case WS_SETTING_EXPOSURE:
    read->unit = "s";
    read->value = arv_camera_get_exposure_time (self->camera, error) / US_PER_S;
    arv_camera_get_exposure_time_bounds (self->camera, &read->least, &read->most, NULL);
    read->least /= US_PER_S;
    read->most /= US_PER_S;
    break;
  case WS_SETTING_GAIN:
    read->unit = "dB";
    read->value = arv_camera_get_gain (self->camera, error);
    arv_camera_get_gain_bounds (self->camera, &read->least, &read->most, NULL);
    break;
  case WS_SETTING_WHITE_BALANCE:
    read->value = 0.0;
    break;
  default:
    get_number (self, controls[name].number, read, error);
  }
}

static gboolean
genicam_get (gpointer data, WsSettingName name, WsSetting *read, GError **error)
{
  const Genicam *self = data;
  GError *cause = NULL;
  if (!is_there (self, name))
    return TRUE;
  const gboolean automatic = is_automatic (self, &controls[name], &cause);
  if (cause == NULL)
    read_value (self, name, read, &cause);
  if (cause != NULL)
    return fail (self, cause, error);
  read->state = automatic ? WS_SETTING_WANDERING : WS_SETTING_FIXED;
  if (automatic)
    read->value = NAN;
  return TRUE;
}

/* Buffers that were exposed by the old settings are of no use. */
static void
halt (Genicam *self, GError **error)
{
  if (!self->running)
    return;
  arv_camera_stop_acquisition (self->camera, error);
  self->running = FALSE;
}

static void
set_value (const Genicam *self, WsSettingName name, double value, GError **error)
{
  const char *number = controls[name].number;
  switch (name)
  {
  case WS_SETTING_EXPOSURE:
    arv_camera_set_exposure_time (self->camera, value * US_PER_S, error);
    break;
  case WS_SETTING_GAIN:
    arv_camera_set_gain (self->camera, value, error);
    break;
  case WS_SETTING_WHITE_BALANCE:
    break;
  default:
    if (is_float (self, number))
      arv_camera_set_float (self->camera, number, value, error);
    else
      arv_camera_set_integer (self->camera, number, (gint64)llround (value), error);
  }
}

/* What can't be taken from the camera's care stays there; reading back tells. */
static gboolean
genicam_set (gpointer data, WsSettingName name, double value, GError **error)
{
  Genicam *self = data;
  const Control *control = &controls[name];
  GError *cause = NULL;
  self->stale = self->stale || self->running;
  halt (self, &cause);
  if (cause == NULL && has (self, control->automatic))
    arv_camera_set_string (self->camera, control->automatic, "Off", NULL);
  if (cause == NULL && has (self, control->enable))
    arv_camera_set_boolean (self->camera, control->enable, TRUE, NULL);
  WsSetting now = { WS_SETTING_ABSENT, NAN, NAN, NAN, "" };
  if (cause == NULL && !isnan (value))
  {
    read_value (self, name, &now, &cause);
    if (cause == NULL)
      set_value (self, name, now.least <= now.most ? CLAMP (value, now.least, now.most) : value,
                 &cause);
  }
  return cause == NULL || fail (self, cause, error);
}

/* ---- Frames ------------------------------------------------------------------------------ */

static gboolean
start (Genicam *self, GError **error)
{
  GError *cause = NULL;
  if (self->running)
    return TRUE;
  ArvBuffer *buffer;
  while ((buffer = arv_stream_try_pop_buffer (self->stream)) != NULL)
    g_object_unref (buffer);
  gint n_waiting = 0;
  arv_stream_get_n_buffers (self->stream, &n_waiting, NULL);
  const guint payload = arv_camera_get_payload (self->camera, &cause);
  if (cause != NULL)
    return fail (self, cause, error);
  const gint n = (gint)CLAMP (BUFFER_BYTES / MAX (payload, 1), LEAST_BUFFERS, MOST_BUFFERS);
  for (gint i = n_waiting; i < n; i++)
    arv_stream_push_buffer (self->stream, arv_buffer_new_allocate (payload));
  arv_camera_start_acquisition (self->camera, &cause);
  if (cause != NULL)
    return fail (self, cause, error);
  self->running = TRUE;
  return TRUE;
}

static gboolean
describe (const Genicam *self, ArvBuffer *buffer, WsSamples *samples)
{
  const ArvPixelFormat format = arv_buffer_get_image_pixel_format (buffer);
  gsize n_bytes = 0;
  guint i = 0;
  while (i < G_N_ELEMENTS (formats) && formats[i].format != format)
    i++;
  if (i == G_N_ELEMENTS (formats))
    return FALSE;
  *samples = (WsSamples){ .bytes = arv_buffer_get_image_data (buffer, &n_bytes),
                          .width = (guint)arv_buffer_get_image_width (buffer),
                          .height = (guint)arv_buffer_get_image_height (buffer),
                          .bits = formats[i].bits,
                          .layout = formats[i].layout,
                          .red_x = formats[i].red_x,
                          .red_y = formats[i].red_y,
                          .colour = self->colour };
  samples->stride = wsi_samples_row_bytes (samples);
  return samples->bytes != NULL && samples->stride * samples->height <= n_bytes;
}

/* GigE Vision's older numbers have 16 bits and pass over 0. */
static guint64
count (const Genicam *self, guint64 id)
{
  const guint64 n = self->number;
  if (self->last == 0)
    return n;
  return id > self->last ? n + id - self->last : n + id + G_MAXUINT16 - self->last;
}

static gboolean
take (Genicam *self, ArvBuffer *buffer, WsFrame *frame, GError **error)
{
  WsSamples samples;
  const guint64 id = arv_buffer_get_frame_id (buffer);
  if (arv_buffer_get_status (buffer) != ARV_BUFFER_STATUS_SUCCESS)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_DATA,
                 "genicam: a part of picture %" G_GUINT64_FORMAT
                 " was lost on the way; look to the cable, or let the camera send slower",
                 id);
    return FALSE;
  }
  if (!describe (self, buffer, &samples))
  {
    g_set_error_literal (error, WS_ERROR, WS_ERROR_DATA,
                         "genicam: the picture isn't in the format that was set; begin again");
    return FALSE;
  }
  if (!wsi_samples_to_frame (&samples, frame, error))
    return FALSE;
  frame->number = self->number = count (self, id);
  self->last = id;
  frame->time_us = g_get_monotonic_time ();
  return TRUE;
}

/* Looks from time to time whether there is still somebody to wait for. */
#define PATIENCE_US 100000

static ArvBuffer *
wait_for_buffer (const Genicam *self, guint64 timeout_us)
{
  ArvBuffer *buffer = NULL;
  guint64 waited = 0;
  while (buffer == NULL && waited < timeout_us && !g_atomic_int_get (&self->gone))
  {
    const guint64 step = MIN (PATIENCE_US, timeout_us - waited);
    buffer = arv_stream_timeout_pop_buffer (self->stream, step);
    waited += step;
  }
  return buffer;
}

/* Who asks late has more than one frame lying there. */
static void
put_back_waiting (const Genicam *self)
{
  ArvBuffer *buffer;
  while ((buffer = arv_stream_try_pop_buffer (self->stream)) != NULL)
    arv_stream_push_buffer (self->stream, buffer);
}

static gboolean
genicam_grab (gpointer data, WsFrame *frame, guint timeout_ms, GError **error)
{
  Genicam *self = data;
  if (!start (self, error))
    return FALSE;
  const guint64 timeout_us = (guint64)timeout_ms * 1000;
  ArvBuffer *buffer = wait_for_buffer (self, timeout_us);
  if (buffer != NULL && self->stale)
  {
    arv_stream_push_buffer (self->stream, buffer);
    put_back_waiting (self);
    buffer = wait_for_buffer (self, timeout_us);
  }
  self->stale = FALSE;
  if (buffer == NULL && g_atomic_int_get (&self->gone))
    g_set_error_literal (
      error, WS_ERROR, WS_ERROR_NO_INPUT,
      "genicam: the camera was unplugged or taken over; plug it in and begin again");
  else if (buffer == NULL)
    g_set_error (error, WS_ERROR, WS_ERROR_NO_INPUT,
                 "genicam: no picture came from the camera within %u ms: is it plugged in, and is "
                 "the exposure shorter than that?",
                 timeout_ms);
  if (buffer == NULL)
    return FALSE;
  const gboolean taken = take (self, buffer, frame, error);
  arv_stream_push_buffer (self->stream, buffer);
  return taken;
}

const WsCameraKind wsi_camera_kind_genicam = {
  .name = "genicam",
  .open = genicam_open,
  .close = genicam_close,
  .get = genicam_get,
  .set = genicam_set,
  .grab = genicam_grab,
};

#else

const WsCameraKind wsi_camera_kind_genicam = {
  .name = "genicam",
  .missing = "Aravis (Debian's libaravis-dev)",
};

#endif
