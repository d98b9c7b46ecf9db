#include "bench/eye.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <jansson.h>
#include <whetsight/calibration.h>
#include <whetsight/error.h>
#include <whetsight/live.h>

#include "bench/grey_jpeg.h"
#include "camera/bench.h"
#include "camera/camera.h"
#include "camera/shot_file.h"
#include "image/taken.h"
#include "report/live_words.h"

#define TIMEOUT_MS 2000
#define IDLE_S 3 /* nobody looked for so long: the camera is free */
#define OUTLINE_POINTS 500
#define MOST_LOST 4
#define US_PER_S 1e6
#define MEASURE_EVERY_US 120000 /* a word that is older than this is none to turn a drill by */

/* A measurement takes all of a processor; where it takes long, following goes first. */
#define REST_SHARE 1.0 /* of the time it took */

struct WsEye
{
  char *address, *bench; /* one of both */
  double rate;
  WsGreyTable table;

  GMutex lock; /* of all that follows */
  GCond news;
  GThread *thread;
  gboolean runs, stop, take;
  char *card, *calibration; /* what it is set up for */
  const WsView *view;
  gint64 asked_us; /* somebody looked */
  guint64 number;  /* of `newest`, from 1; 0: none yet */
  GBytes *newest;
  guint64 taken_number;
  GBytes *taken;
  GError *error; /* that it ended with */
};

/* ---- Measuring beside ------------------------------------------------------------------------
 */

/* Measuring takes longer than a camera waits: it is done of one frame after the other in a thread
 * of its own, while the others are followed. */
typedef struct
{
  const WsView *view;
  const WsToolCard *card;
  const WsOptics *optics;
  WsFrame frame; /* a copy */
  GThread *thread;
  gint done;        /* atomic: `result` is there */
  WsResult *result; /* of `frame` */
  gboolean moved;   /* the tool did, since */
  gint64 begun_us, ended_us;
} Beside;

static gpointer
measure_beside (gpointer data)
{
  Beside *beside = data;
  beside->result = ws_measure (beside->view, beside->frame.image, beside->card, beside->optics);
  beside->ended_us = g_get_monotonic_time ();
  g_atomic_int_set (&beside->done, 1);
  return NULL;
}

/* Light is all that a silhouette is measured by. */
static gboolean
copy_light (const WsImage *image, WsFrame *frame)
{
  WsImage *copy = wsi_frame_room (frame, image->width, image->height, FALSE, NULL);
  if (copy == NULL)
    return FALSE;
  guint16 *light = copy->linear;
  *copy = *image;
  copy->linear = light;
  copy->rgb = NULL;
  copy->taken = NULL;
  copy->file = NULL;
  memcpy (light, image->linear, (gsize)image->width * image->height * sizeof *light);
  return TRUE;
}

static void
begin_beside (Beside *beside, const WsImage *image)
{
  if (!copy_light (image, &beside->frame))
    return;
  g_atomic_int_set (&beside->done, 0);
  beside->begun_us = g_get_monotonic_time ();
  beside->moved = FALSE;
  beside->thread = g_thread_new ("measure", measure_beside, beside);
}

static void
beside_clear (Beside *beside)
{
  g_clear_pointer (&beside->thread, g_thread_join);
  g_clear_pointer (&beside->result, ws_result_free);
  wsi_frame_clear (&beside->frame);
}

/* ---- One frame ------------------------------------------------------------------------------ */

/* The thread's own. */
typedef struct
{
  Beside beside;
  WsResult *result;   /* the newest that is done, or NULL */
  gboolean has_moved; /* the tool did, since the frame that it is of */
  WsLiveSaid said;
  WsEye *eye;
  WsCamera *camera;
  WsCameraSettings settings;
  WsToolCard *card;
  WsCalibration *calibration;
  const WsView *view;
  WsOptics optics;
  WsFollow *follow;
  WsLive live;
  WsFrame frame;
  guint64 number;
} Look;

static void
look_clear (Look *look)
{
  beside_clear (&look->beside);
  ws_result_free (look->result);
  wsi_frame_clear (&look->frame);
  ws_follow_free (look->follow);
  ws_tool_card_free (look->card);
  ws_calibration_free (look->calibration);
  if (look->camera != NULL)
    wsi_camera_close (look->camera);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Look, look_clear)

/* Every so many points, in tenths of a pixel. */
static json_t *
outline_json (const WsFollowed *followed)
{
  json_t *points = json_array ();
  const guint step = 1 + followed->n / OUTLINE_POINTS;
  for (guint i = 0; followed->how != WS_FOLLOW_LOST && i < followed->n; i += step)
  {
    json_array_append_new (points, json_integer ((json_int_t)(10 * followed->points[i].at.x)));
    json_array_append_new (points, json_integer ((json_int_t)(10 * followed->points[i].at.y)));
  }
  return points;
}

static char *
line_of (const Look *look, const WsFollowed *followed, const WsLiveSaid *said, double real_ms)
{
  g_autofree char *words = wsi_live_words (said);
  json_t *line = json_pack ("{s:s, s:I, s:i, s:i, s:s, s:s, s:s?, s:b, s:f, s:o}", "live",
                            "whetsight-live/1", "frame", (json_int_t)look->number, "width",
                            (int)look->frame.image->width, "height", (int)look->frame.image->height,
                            "word", ws_live_word_code (said->word), "text", words, "arrow",
                            ws_live_arrow_code (said->arrow), "taken", said->word == WS_LIVE_TAKE,
                            "grabbed_ms", real_ms, "outline", outline_json (followed));
  char *text = line != NULL ? json_dumps (line, JSON_COMPACT | JSON_REAL_PRECISION (15)) : NULL;
  json_decref (line);
  return text;
}

static void
take_result (Look *look)
{
  Beside *beside = &look->beside;
  g_clear_pointer (&beside->thread, g_thread_join);
  ws_result_free (look->result);
  look->result = g_steal_pointer (&beside->result);
  look->has_moved = beside->moved;
}

static gboolean
is_time_to_measure (const Beside *beside)
{
  const gint64 now = g_get_monotonic_time ();
  const double rest = REST_SHARE * (double)(beside->ended_us - beside->begun_us);
  return beside->thread == NULL && now - beside->begun_us > MEASURE_EVERY_US &&
         (double)(now - beside->ended_us) >= rest;
}

/* Takes over what is done, and goes on with this frame. */
static void
keep_measuring (Look *look, gboolean moves)
{
  Beside *beside = &look->beside;
  look->has_moved = look->has_moved || moves;
  beside->moved = beside->moved || moves;
  if (beside->thread != NULL && g_atomic_int_get (&beside->done))
    take_result (look);
  if (is_time_to_measure (beside))
    begin_beside (beside, look->frame.image);
}

/* Of what is no tool: what would spoil any picture. */
static WsLiveSaid
say_plainly (Look *look, const WsLiveSeen *seen)
{
  const WsLiveSaid said = ws_live_say (&look->live, seen);
  switch (said.word)
  {
  case WS_LIVE_NO_TOOL:
  case WS_LIVE_TOO_DARK:
  case WS_LIVE_TOO_BRIGHT:
  case WS_LIVE_OUT_OF_FOCUS:
  case WS_LIVE_HOLD_STILL:
    return said;
  default:
    return (WsLiveSaid){ .word = WS_LIVE_GOOD, .amount = NAN };
  }
}

/* Until the first result is there it stays at what was said. */
static WsLiveSaid
say (Look *look, const WsFollowed *followed)
{
  const double rate = look->eye->rate;
  const double time_s =
    isnan (rate) ? (double)look->frame.time_us / US_PER_S : (double)look->frame.number / rate;
  WsLiveSeen seen = ws_live_look (followed, NULL, time_s);
  if (look->view == NULL)
    return say_plainly (look, &seen);
  if (ws_live_wants_measuring (&seen))
  {
    keep_measuring (look, !(seen.moved_px <= seen.still_px));
    if (look->result == NULL)
      return look->said;
    seen = ws_live_look (followed, look->result, time_s);
    /* What was measured stands for this frame only while nothing moves. */
    if (look->has_moved)
      seen.moved_px = INFINITY;
  }
  look->said = ws_live_say (&look->live, &seen);
  return look->said;
}

static GBytes *
file_of (const Look *look, GError **error)
{
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();
  g_autofree char *time = g_date_time_format (now, "%Y-%m-%dT%H:%M:%SZ");
  g_autoptr (WsTaken) taken =
    wsi_shot_taken (wsi_camera_identity (look->camera), &look->settings, look->frame.image);
  const WsShotNotes notes = { .taken = taken, .n_frames = 1, .shift_px = NAN, .time = time };
  return wsi_shot_encode (&look->frame, &notes, error);
}

/* Takes both over; the older ones are gone. */
static void
publish (Look *look, GBytes *frame, GBytes *file)
{
  WsEye *eye = look->eye;
  g_mutex_lock (&eye->lock);
  g_clear_pointer (&eye->newest, g_bytes_unref);
  eye->newest = frame;
  eye->number = look->number;
  if (file != NULL)
  {
    g_clear_pointer (&eye->taken, g_bytes_unref);
    eye->taken = file;
    eye->taken_number = look->number;
    eye->take = FALSE;
  }
  g_cond_broadcast (&eye->news);
  g_mutex_unlock (&eye->lock);
}

static gboolean
show (Look *look, gboolean take, GError **error)
{
  const double real_ms = 1e-3 * (double)g_get_real_time ();
  GByteArray *bytes = g_byte_array_new ();
  const WsFollowed *followed = ws_follow_frame (look->follow, look->frame.image);
  look->number++;
  const WsLiveSaid said = say (look, followed);
  char *line = line_of (look, followed, &said, real_ms);
  g_byte_array_append (bytes, (const guint8 *)line, (guint)strlen (line));
  g_byte_array_append (bytes, (const guint8 *)"\n", 1);
  free (line);
  GBytes *file = NULL;
  const gboolean done =
    wsi_grey_jpeg (look->frame.image, &look->eye->table, bytes) &&
    ((!take && said.word != WS_LIVE_TAKE) || (file = file_of (look, error)) != NULL);
  GBytes *frame = g_byte_array_free_to_bytes (bytes);
  if (done)
    publish (look, frame, file);
  else
    g_bytes_unref (frame);
  return done;
}

/* ---- The thread ----------------------------------------------------------------------------- */

/* A bench's camera has to be as it was kept; another one's settings stay as they are found. */
static gboolean
open_camera (Look *look, GError **error)
{
  g_auto (WsBench) bench = { 0 };
  const WsEye *eye = look->eye;
  if (eye->bench != NULL)
  {
    look->camera = wsi_bench_load (eye->bench, &bench, error)
                     ? wsi_bench_open (&bench, &look->settings, error)
                     : NULL;
    return look->camera != NULL;
  }
  look->camera = wsi_camera_open (eye->address, FALSE, error);
  return look->camera != NULL && wsi_camera_fix (look->camera, NAN, NAN, &look->settings, error);
}

static gboolean
prepare (Look *look, GError **error)
{
  WsEye *eye = look->eye;
  look->card = eye->card != NULL ? ws_tool_card_load (eye->card, error) : NULL;
  if (eye->card != NULL && look->card == NULL)
    return FALSE;
  look->beside.card = look->card;
  if (eye->calibration != NULL)
  {
    look->calibration = ws_calibration_load (eye->calibration, error);
    if (look->calibration == NULL)
      return FALSE;
    look->optics = ws_optics_of_lens (ws_calibration_lens (look->calibration));
  }
  return open_camera (look, error);
}

/* Is somebody still looking?  Sets whether the next frame is to be taken. */
static gboolean
goes_on (WsEye *eye, gboolean *take)
{
  g_mutex_lock (&eye->lock);
  const gboolean on =
    !eye->stop && g_get_monotonic_time () - eye->asked_us < IDLE_S * G_USEC_PER_SEC;
  *take = eye->take;
  g_mutex_unlock (&eye->lock);
  return on;
}

/* A folder's pictures come as fast as a camera's would. */
static void
keep_pace (const WsEye *eye, gint64 *due_us)
{
  if (isnan (eye->rate))
    return;
  const gint64 now = g_get_monotonic_time ();
  if (*due_us > now)
    g_usleep ((gulong)(*due_us - now));
  *due_us = MAX (*due_us, now) + (gint64)(US_PER_S / eye->rate);
}

static gboolean
look_on (Look *look, GError **error)
{
  guint lost = 0;
  gint64 due_us = 0;
  for (gboolean take = FALSE; goes_on (look->eye, &take);)
  {
    GError *cause = NULL;
    keep_pace (look->eye, &due_us);
    if (!wsi_camera_grab (look->camera, &look->frame, TIMEOUT_MS, &cause))
    {
      const gboolean again =
        g_error_matches (cause, WS_ERROR, WS_ERROR_DATA) && ++lost <= MOST_LOST;
      if (!again)
      {
        g_propagate_error (error, cause);
        return FALSE;
      }
      g_error_free (cause);
      continue;
    }
    lost = 0;
    if (!show (look, take, error))
      return FALSE;
  }
  return TRUE;
}

static gpointer
run (gpointer data)
{
  WsEye *eye = data;
  GError *error = NULL;
  g_auto (Look) look = { .eye = eye,
                         .view = eye->view,
                         .optics = WS_OPTICS_UNKNOWN,
                         .follow = ws_follow_new (),
                         .live = WS_LIVE_INIT,
                         .number = eye->number };
  look.said = (WsLiveSaid){ .word = WS_LIVE_HOLD_STILL, .amount = NAN };
  look.beside.view = look.view;
  look.beside.optics = &look.optics;
  if (prepare (&look, &error))
    look_on (&look, &error);
  g_mutex_lock (&eye->lock);
  eye->error = error;
  eye->runs = FALSE;
  g_cond_broadcast (&eye->news);
  g_mutex_unlock (&eye->lock);
  return NULL;
}

/* ---- Those who look ------------------------------------------------------------------------- */

WsEye *
wsi_eye_new (const char *address, const char *bench, double rate)
{
  WsEye *eye = g_new0 (WsEye, 1);
  eye->address = g_strdup (address);
  eye->bench = g_strdup (bench);
  eye->rate = rate;
  wsi_grey_table_fill (&eye->table);
  g_mutex_init (&eye->lock);
  g_cond_init (&eye->news);
  return eye;
}

/* With the lock held, which it gives up meanwhile. */
static void
end_thread (WsEye *eye)
{
  GThread *thread = g_steal_pointer (&eye->thread);
  eye->stop = TRUE;
  if (thread != NULL)
  {
    g_mutex_unlock (&eye->lock);
    g_thread_join (thread);
    g_mutex_lock (&eye->lock);
  }
  g_clear_error (&eye->error);
  g_clear_pointer (&eye->newest, g_bytes_unref);
  g_clear_pointer (&eye->taken, g_bytes_unref);
  eye->stop = FALSE;
}

void
wsi_eye_free (WsEye *eye)
{
  if (eye == NULL)
    return;
  g_mutex_lock (&eye->lock);
  end_thread (eye);
  g_mutex_unlock (&eye->lock);
  g_mutex_clear (&eye->lock);
  g_cond_clear (&eye->news);
  g_free (eye->address);
  g_free (eye->bench);
  g_free (eye->card);
  g_free (eye->calibration);
  g_free (eye);
}

static gboolean
is_for (const WsEye *eye, const WsEyeTask *task)
{
  return g_strcmp0 (eye->card, task->card) == 0 && eye->view == task->view &&
         g_strcmp0 (eye->calibration, task->calibration) == 0;
}

/* With the lock held.  Numbers go on from one tool to the next. */
static gboolean
begin (WsEye *eye, const WsEyeTask *task, GError **error)
{
  if (eye->runs && is_for (eye, task))
    return TRUE;
  if (eye->runs)
  {
    g_set_error_literal (
      error, WS_ERROR, WS_ERROR_CANCELLED,
      "the camera is set up for another tool or view; try again in a few seconds");
    return FALSE;
  }
  end_thread (eye);
  g_free (eye->card);
  g_free (eye->calibration);
  eye->card = g_strdup (task->card);
  eye->calibration = g_strdup (task->calibration);
  eye->view = task->view;
  eye->runs = TRUE;
  eye->thread = g_thread_new ("eye", run, eye);
  return TRUE;
}

typedef gboolean (*Here) (const WsEye *eye, guint64 number);

static gboolean
newer_is_here (const WsEye *eye, guint64 after)
{
  return eye->newest != NULL && eye->number > after;
}

static gboolean
taken_is_here (const WsEye *eye, guint64 number)
{
  return eye->taken != NULL && !eye->take && (number == 0 || eye->taken_number == number);
}

/* With the lock held. */
static gboolean
wait_until (WsEye *eye, const WsEyeTask *task, Here here, guint64 number, GError **error)
{
  const gint64 until = g_get_monotonic_time () + WSI_EYE_WAIT_S * G_USEC_PER_SEC;
  /* Who asks for another tool doesn't hold the camera for this one. */
  if (!eye->runs || is_for (eye, task))
    eye->asked_us = g_get_monotonic_time ();
  /* A camera that ended is opened again by who asks next, once its end was told. */
  if (!eye->runs && eye->error != NULL)
  {
    g_propagate_error (error, g_steal_pointer (&eye->error));
    return FALSE;
  }
  if (!begin (eye, task, error))
    return FALSE;
  while (!here (eye, number) && eye->runs)
    if (!g_cond_wait_until (&eye->news, &eye->lock, until))
      break;
  if (here (eye, number))
    return TRUE;
  if (eye->error != NULL)
    g_propagate_error (error, g_steal_pointer (&eye->error));
  else
    g_set_error_literal (error, WS_ERROR, WS_ERROR_CANCELLED, "the camera sent nothing");
  return FALSE;
}

GBytes *
wsi_eye_next (WsEye *eye, const WsEyeTask *task, guint64 after, GError **error)
{
  g_mutex_lock (&eye->lock);
  GBytes *frame =
    wait_until (eye, task, newer_is_here, after, error) ? g_bytes_ref (eye->newest) : NULL;
  if (frame != NULL)
    eye->asked_us = g_get_monotonic_time ();
  g_mutex_unlock (&eye->lock);
  return frame;
}

GBytes *
wsi_eye_take (WsEye *eye, const WsEyeTask *task, guint64 number, GError **error)
{
  GBytes *file = NULL;
  g_mutex_lock (&eye->lock);
  eye->take = eye->take || number == 0;
  if (number != 0 && (!is_for (eye, task) || !taken_is_here (eye, number)))
    g_set_error_literal (error, WS_ERROR, WS_ERROR_NO_INPUT,
                         "that frame wasn't taken; look through the camera again");
  else if (number != 0 || wait_until (eye, task, taken_is_here, number, error))
    file = g_bytes_ref (eye->taken);
  g_mutex_unlock (&eye->lock);
  return file;
}
