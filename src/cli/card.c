/*
 * Verb `card`: writes a tool card to begin with.
 */
#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include <glib/gstdio.h>
#include <whetsight/error.h>

#include "base/language.h"
#include "base/size.h"
#include "cli/verbs.h"
#include "report/starter_card.h"

#define ENDING ".tool"
#define MOST_MM 10000.0
#define MOST_ID_CHARS 64

typedef struct
{
  char *kind, *size, *id, *purpose, *hand, *hole, *profile;
  double point_angle;
  char **files;
} Options;

static const char *
hand_name (guint i)
{
  return i < WS_HAND_LEFT ? ws_hand_name ((WsHand)(WS_HAND_RIGHT + i)) : NULL;
}

static const char *
answer (guint i)
{
  static const char *const words[] = { "no", "yes" };
  return i < G_N_ELEMENTS (words) ? words[i] : NULL;
}

static const WsOptionCheck is_hand = { .word = hand_name };
static const WsOptionCheck is_answer = { .word = answer };
static const WsOptionCheck is_point_angle = { .phrase = "expected degrees, 60 to 180",
                                              .least = 60,
                                              .most = 180 };

static const WsOption options[] = {
  { WS_OPTION_WORD, "kind", 'k', G_STRUCT_OFFSET (Options, kind), "KIND", "Kind of tool",
    &wsi_check_kind },
  { WS_OPTION_TEXT, "size", 's', G_STRUCT_OFFSET (Options, size), "SIZE",
    "Diameter of a drill, width of a blade: 6.5, 1/4, \"0.25 in\", #7 or F; bare numbers are mm",
    NULL },
  { WS_OPTION_TEXT, "id", 0, G_STRUCT_OFFSET (Options, id), "ID",
    "The tool's name; that of the file by default", NULL },
  { WS_OPTION_TEXT, "purpose", 'p', G_STRUCT_OFFSET (Options, purpose), "TEXT",
    "What the tool is for", NULL },
  { WS_OPTION_NUMBER, "point-angle", 0, G_STRUCT_OFFSET (Options, point_angle), "DEG",
    "Of a drill: 118 for a twist drill and 90 for a spot drill by default", &is_point_angle },
  { WS_OPTION_WORD, "hand", 0, G_STRUCT_OFFSET (Options, hand), "HAND",
    "Of the flutes or the blade: right or left", &is_hand },
  { WS_OPTION_WORD, "centre-hole", 0, G_STRUCT_OFFSET (Options, hole), "ANSWER",
    "Has the part that a cutoff blade cuts off a hole in its centre: yes or no", &is_answer },
  { WS_OPTION_FILE, "profile", 0, G_STRUCT_OFFSET (Options, profile), "NAME.dxf",
    "Of a form tool: the drawing of its profile", NULL },
  { WS_OPTION_FILES, NULL, 0, G_STRUCT_OFFSET (Options, files), "NAME.tool", NULL, NULL },
  WS_OPTIONS_END
};

/* ---- What is typed --------------------------------------------------------------------------- */

static gboolean
check_size (const Options *asked, WsToolKind kind, GError **error)
{
  double mm;
  if (asked->size == NULL && kind == WS_KIND_FORM_TOOL)
    return TRUE;
  if (wsi_size_parse (asked->size, &mm) && mm > 0 && mm <= MOST_MM)
    return TRUE;
  return wsi_refuse_usage (error,
                           "--size: expected a size above 0 such as 6.5, 1/4, \"0.25 in\", #7 or "
                           "F%s%s%s",
                           asked->size != NULL ? _ (", found \"") : "",
                           asked->size != NULL ? asked->size : "", asked->size != NULL ? "\"" : "");
}

/* What doesn't belong to the kind would be lost in silence. */
static gboolean
check_kind (const Options *asked, WsToolKind kind, GError **error)
{
  const gboolean is_drill = kind == WS_KIND_TWIST_DRILL || kind == WS_KIND_SPOT_DRILL;
  const char *stray = NULL;
  if (!isnan (asked->point_angle) && !is_drill)
    stray = "point-angle";
  else if (asked->hole != NULL && kind != WS_KIND_CUTOFF_BLADE)
    stray = "centre-hole";
  else if (asked->profile != NULL && kind != WS_KIND_FORM_TOOL)
    stray = "profile";
  else if (asked->hand != NULL && kind == WS_KIND_FORM_TOOL)
    stray = "hand";
  return stray == NULL || wsi_refuse_usage (error, "--%s: a %s has none", stray, asked->kind);
}

/* One line of a key file, which begins with no blank. */
static gboolean
check_line (const char *option, const char *text, glong most, GError **error)
{
  gboolean good =
    text == NULL || (*text != '\0' && !g_ascii_isspace (*text) && g_utf8_strlen (text, -1) <= most);
  for (const char *c = text; good && c != NULL && *c != '\0'; c = g_utf8_next_char (c))
    good = g_unichar_isprint (g_utf8_get_char (c)) && *c != '\\';
  return good || wsi_refuse_usage (error, "--%s: expected a line of 1 to %ld printable characters",
                                   option, most);
}

static gboolean
check (const Options *asked, WsToolKind kind, GError **error)
{
  if (asked->files != NULL && asked->files[1] != NULL)
    return wsi_refuse_usage (error, "name one file to write, NAME" ENDING);
  return check_size (asked, kind, error) && check_kind (asked, kind, error) &&
         check_line ("id", asked->id, MOST_ID_CHARS, error) &&
         check_line ("purpose", asked->purpose, 200, error);
}

/* ---- Writing --------------------------------------------------------------------------------- */

/* The file's name without its ending.  Free with g_free(). */
static char *
id_of (const Options *asked)
{
  if (asked->id != NULL)
    return g_strdup (asked->id);
  if (asked->files == NULL)
    return g_strdup ("unnamed");
  g_autofree char *name = g_path_get_basename (asked->files[0]);
  char *id = g_utf8_make_valid (name, -1);
  if (g_str_has_suffix (id, ENDING) && strlen (id) > strlen (ENDING))
    id[strlen (id) - strlen (ENDING)] = '\0';
  return id;
}

/* Never over a card that is there. */
static gboolean
save_new (const char *path, const char *text, GError **error)
{
  const gsize n = strlen (text);
  const int file = g_open (path, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
  if (file < 0 && errno == EEXIST)
    return wsi_refuse (error, WS_ERROR_CANT_WRITE,
                       "%s: is there already; choose another name, or remove it first", path);
  const gboolean written = file >= 0 && write (file, text, n) == (gssize)n && fsync (file) == 0;
  if (file >= 0 && close (file) == 0 && written)
    return TRUE;
  const int cause = errno;
  if (file >= 0)
    g_unlink (path);
  return wsi_refuse (error, WS_ERROR_CANT_WRITE, "%s: can't be written: %s", path,
                     g_strerror (cause));
}

static int
run (gpointer data, char **words)
{
  const Options *asked = data;
  GError *error = NULL;
  (void)words;
  const WsToolKind kind =
    (WsToolKind)wsi_option_word_index (&wsi_check_kind, asked->kind, WS_KIND_TWIST_DRILL);
  if (!wsi_options_require (options, "kind", asked, &error) || !check (asked, kind, &error))
    return wsi_fail (error);
  g_autofree char *id = id_of (asked);
  const WsStarter starter = {
    .kind = kind,
    .id = id,
    .purpose = asked->purpose,
    .size = asked->size,
    .hand = asked->hand,
    .point_angle = asked->point_angle,
    .hole = asked->hole == NULL
              ? WS_ANSWER_UNKNOWN
              : (WsAnswer)(WS_ANSWER_NO + wsi_option_word_index (&is_answer, asked->hole, 0)),
    .profile = asked->profile,
  };
  g_autofree char *text = wsi_starter_card (&starter);
  if (asked->files == NULL)
    printf ("%s", text);
  else if (!save_new (asked->files[0], text, &error))
    return wsi_fail (error);
  return WS_EXIT_ACCEPT;
}

const WsCommand wsi_verb_card = {
  .name = "card",
  .summary = "write a tool card to begin with",
  .about =
    "Writes a tool card to begin with: the kind's built-in limits for that size, each with its "
    "source as\na comment, and what may be added. To a new file, or to standard output "
    "without one.",
  .notes =
    "whetsight card --kind twist-drill --size 6.5 --purpose \"brass fittings\" QT-D-0118.tool",
  .groups = { { options, 0 } },
  .size = sizeof (Options),
  .run = run,
};
