/*
 * aim: while the drill is turned in its block, tells from each new picture which way to go.
 */
#include <stdio.h>
#include <string.h>

#include <glib/gstdio.h>
#include <whetsight/whetsight.h>

#include "base/language.h"
#include "base/told_text.h"
#include "cli/live.h"
#include "cli/say.h"
#include "cli/verbs.h"
#include "image/room.h"
#include "tool/drill/view_turn.h"

#define POLL_US 200000

/* The scale shown: one place a degree. */
#define BAR_DEG 6
#define NEAR_ENOUGH_DEG 1.0

typedef struct
{
  const WsView *view;
  WsToolCard *card;
  WsOptics optics;
  WsCalibration *calibration;
  gboolean once;
  WsFollow *follow; /* from picture to picture */
  WsLive live;
} Aim;

static void
aim_clear (Aim *aim)
{
  ws_tool_card_free (aim->card);
  ws_calibration_free (aim->calibration);
  ws_follow_free (aim->follow);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Aim, aim_clear)

/* "[· · · · · · | · · # · · · ]" */
static char *
bar_of (double degrees)
{
  GString *bar = g_string_new ("[");
  const int at = (int)CLAMP (degrees + (degrees < 0 ? -0.5 : 0.5), -BAR_DEG, BAR_DEG);
  for (int place = -BAR_DEG; place <= BAR_DEG; place++)
    g_string_append_c (bar, place == at ? '#' : place == 0 ? '|' : '.');
  g_string_append_c (bar, ']');
  return g_string_free (bar, FALSE);
}

/* Single pictures, each taken by hand: whether it stands still is no matter. */
static void
tell_what_is_next (Aim *aim, const WsImage *image, const WsResult *result)
{
  const WsFollowed *followed = ws_follow_frame (aim->follow, image);
  const WsLiveSeen seen = ws_live_look (followed, result, 0);
  const WsLiveSaid said = ws_live_say (&aim->live, &seen);
  g_autofree char *line = wsi_live_line (&said);
  g_autofree char *detail = said.word == WS_LIVE_TURNED ? NULL : wsi_told_text (result->detail);
  /* How far a measured drill is turned is told with its U. */
  if (said.word < WS_LIVE_HOLD_STILL &&
      (said.word != WS_LIVE_TURNED || result->reason != WS_RETAKE_NONE))
    wsi_say ("  %s%s%s\n", line, detail != NULL ? "  " : "", detail != NULL ? detail : "");
}

static void
tell (Aim *aim, const WsImage *image, const WsResult *result)
{
  tell_what_is_next (aim, image, result);
  const WsQuantity *turn = ws_result_quantity (result, "view_turn");
  if (turn == NULL)
    return;
  g_autofree char *bar = bar_of (turn->value);
  const char *hint = turn->value > NEAR_ENOUGH_DEG    ? WS_TURN_CLOCKWISE
                     : turn->value < -NEAR_ENOUGH_DEG ? WS_TURN_COUNTERCLOCKWISE
                                                      : N_ ("near enough");
  wsi_say ("  %s %+.1f deg (+- %.1f)  %s\n", bar, turn->value, turn->U, _ (hint));
}

static gboolean
look_at (Aim *aim, const char *path, GError **error)
{
  const WsImageLimits limits = WS_IMAGE_LIMITS_DEFAULT;
  g_autoptr (WsImage) image = ws_image_load (path, &limits, aim->view->needs, error);
  if (image == NULL || !wsi_image_check_room (image, path, error))
    return FALSE;
  if (aim->calibration != NULL && !ws_calibration_fits_picture (aim->calibration, image, error))
    return FALSE;
  g_autoptr (WsResult) result = ws_measure (aim->view, image, aim->card, &aim->optics);
  g_autofree char *name = g_path_get_basename (path);
  wsi_say ("%s\n", name);
  tell (aim, image, result);
  fflush (stdout);
  return TRUE;
}

/* A file's time and size: what tells a new picture from the last one. */
typedef struct
{
  char *path;
  gint64 time, size;
} Shot;

static void
shot_clear (Shot *shot)
{
  g_clear_pointer (&shot->path, g_free);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Shot, shot_clear)

static void
take_newer (Shot *newest, const char *path)
{
  GStatBuf status;
  if (g_stat (path, &status) != 0 || !g_file_test (path, G_FILE_TEST_IS_REGULAR) ||
      (newest->path != NULL && status.st_mtime < newest->time))
    return;
  shot_clear (newest);
  *newest = (Shot){ g_strdup (path), status.st_mtime, status.st_size };
}

/* The newest file in a folder, or the file itself; path NULL when there is none. */
static Shot
newest_in (const char *place)
{
  Shot newest = { 0 };
  g_autoptr (GDir) folder = g_dir_open (place, 0, NULL);
  if (folder == NULL)
  {
    take_newer (&newest, place);
    return newest;
  }
  for (const char *name = g_dir_read_name (folder); name != NULL; name = g_dir_read_name (folder))
  {
    g_autofree char *path = g_build_filename (place, name, NULL);
    if (name[0] != '.')
      take_newer (&newest, path);
  }
  return newest;
}

static gboolean
same (const Shot *a, const Shot *b)
{
  return a->time == b->time && a->size == b->size && g_strcmp0 (a->path, b->path) == 0;
}

/* A picture counts once it has stopped growing.  Runs until it is interrupted. */
static void
watch (Aim *aim, const char *place)
{
  g_auto (Shot) before = { 0 };
  g_auto (Shot) done = { 0 };
  for (;;)
  {
    g_auto (Shot) now = newest_in (place);
    if (now.path != NULL && same (&now, &before) && !same (&now, &done))
    {
      g_autoptr (GError) error = NULL;
      if (!look_at (aim, now.path, &error))
        wsi_say_aside ("whetsight: %s\n", error->message);
      shot_clear (&done);
      done = (Shot){ g_strdup (now.path), now.time, now.size };
    }
    shot_clear (&before);
    before = (Shot){ g_steal_pointer (&now.path), now.time, now.size };
    g_usleep (POLL_US);
  }
}

static gboolean
prepare (Aim *aim, const char *tool, const char *calib, GError **error)
{
  aim->view = ws_view_find ("drill-side");
  aim->optics = (WsOptics)WS_OPTICS_UNKNOWN;
  aim->card =
    tool != NULL ? ws_tool_card_load (tool, error) : ws_tool_card_new (WS_KIND_TWIST_DRILL);
  if (aim->card == NULL)
    return FALSE;
  if (!(aim->view->kinds & 1U << aim->card->kind))
  {
    g_set_error (error, WS_ERROR, WS_ERROR_USAGE, "--tool: %s is no drill; aim is for drills",
                 ws_tool_kind_name (aim->card->kind));
    return FALSE;
  }
  if (calib == NULL)
    return TRUE;
  aim->calibration = ws_calibration_load (calib, error);
  if (aim->calibration == NULL)
    return FALSE;
  aim->optics = ws_optics_of_lens (ws_calibration_lens (aim->calibration));
  return TRUE;
}

static int
run (Aim *aim, const char *place)
{
  GError *error = NULL;
  if (!g_file_test (place, G_FILE_TEST_EXISTS))
    return wsi_fail (
      g_error_new (WS_ERROR, WS_ERROR_NO_INPUT, "%s: no such picture or folder", place));
  if (!aim->once)
    watch (aim, place);
  g_auto (Shot) newest = newest_in (place);
  if (newest.path == NULL)
    return wsi_fail (g_error_new (WS_ERROR, WS_ERROR_NO_INPUT, "%s: no picture there", place));
  return look_at (aim, newest.path, &error) ? WS_EXIT_ACCEPT : wsi_fail (error);
}

/* As typed. */
typedef struct
{
  char *tool, *calib;
  gboolean once;
  char **places;
} Options;

static int
aim (gpointer data, char **words)
{
  const Options *options = data;
  g_auto (Aim) aim = { .once = options->once, .follow = ws_follow_new (), .live = WS_LIVE_INIT };
  GError *error = NULL;
  (void)words;
  if (options->places == NULL || g_strv_length (options->places) != 1)
    return wsi_fail (g_error_new (WS_ERROR, WS_ERROR_USAGE, "aim: name one folder or picture"));
  if (!prepare (&aim, options->tool, options->calib, &error))
    return wsi_fail (error);
  return run (&aim, options->places[0]);
}

static const WsOption options[] = {
  { WS_OPTION_FILE, "tool", 't', G_STRUCT_OFFSET (Options, tool), "CARD",
    "Tool card; its web_mm makes the hint sharper", NULL },
  { WS_OPTION_FILE, "calib", 'c', G_STRUCT_OFFSET (Options, calib), "NAME.calib",
    "Calibration of the camera", NULL },
  { WS_OPTION_FLAG, "once", 0, G_STRUCT_OFFSET (Options, once), NULL,
    "Look at the newest picture only", NULL },
  { WS_OPTION_FILES, NULL, 0, G_STRUCT_OFFSET (Options, places), "FOLDER|PICTURE", NULL, NULL },
  WS_OPTIONS_END
};

const WsCommand wsi_verb_aim = {
  .name = "aim",
  .summary = "tell which way to turn a drill while it is set up",
  .about =
    "Waits for pictures of a drill in a folder (or for one picture to change) and tells from "
    "each\nwhat comes next (light, focus, place, lean), how far the lips are turned out of the "
    "picture's plane\nand which way to turn the drill.  End it with Ctrl-C.  With a camera, "
    "capture --live does the same\nand takes the picture.",
  .groups = { { options, 0 } },
  .size = sizeof (Options),
  .run = aim,
};
