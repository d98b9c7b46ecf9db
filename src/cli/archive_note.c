#include "base/language.h"
#include "cli/archive.h"
#include "cli/fail.h"
#include "cli/say.h"

typedef struct
{
  char *name, *reason;
} Options;

static int
add (const Options *options, char **words, WsNoteKind kind)
{
  GError *error = NULL;
  const WsNoteWords note = { kind, options->name, options->reason, g_get_user_name () };
  if (options->name == NULL || options->reason == NULL)
  {
    wsi_refuse_usage (&error, "archive %s: say who, with --as NAME, and why, with --reason TEXT",
                      words[0]);
    return wsi_fail (error);
  }
  /* A mistyped folder isn't made. */
  g_autoptr (WsArchive) there =
    wsi_archive_command_open (words, 1, _ ("a folder and an id"), WS_ARCHIVE_READ, &error);
  if (there == NULL)
    return wsi_fail (error);
  g_autoptr (WsArchive) archive =
    wsi_archive_command_open (words, 1, _ ("a folder and an id"), WS_ARCHIVE_WRITE, &error);
  g_autofree char *id = NULL;
  if (archive == NULL || !ws_archive_add_note (archive, words[2], &note, &id, &error))
    return wsi_fail (error);
  wsi_say ("%s of %s by %s: %s\n", _ (ws_note_kind_name (kind)), words[2], options->name, id);
  if (ws_archive_take_clock (archive))
    wsi_say_aside ("archive %s: the clock of this computer was set back: there is a later "
                   "inspection; the note is marked\n",
                   words[1]);
  return WS_EXIT_ACCEPT;
}

static int
sign_off (gpointer data, char **words)
{
  return add (data, words, WS_NOTE_SIGN_OFF);
}

static int
release (gpointer data, char **words)
{
  return add (data, words, WS_NOTE_RELEASE);
}

static int
comment (gpointer data, char **words)
{
  return add (data, words, WS_NOTE_COMMENT);
}

static const WsOption options[] = {
  { WS_OPTION_TEXT, "as", 0, G_STRUCT_OFFSET (Options, name), "NAME", "Who says so", NULL },
  { WS_OPTION_TEXT, "reason", 0, G_STRUCT_OFFSET (Options, reason), "TEXT", "Why, or what is said",
    NULL },
  WS_OPTIONS_END
};

const WsCommand wsi_archive_sign = {
  .name = "sign",
  .summary = "sign an inspection off: answer for its verdict as it stands",
  .arguments = "DIR ID",
  .about = "Adds a sign-off to the chain of hashes, with name, reason, time and login.  A retake "
           "can't be\nsigned off.",
  .groups = { { options, 0 } },
  .size = sizeof (Options),
  .run = sign_off,
};

const WsCommand wsi_archive_release = {
  .name = "release",
  .summary = "release a tool against the verdict, with the reason",
  .arguments = "DIR ID",
  .about = "Adds a release to the chain of hashes.  The verdict stays as it is; the release stands "
           "beside it\nwherever it is shown.",
  .groups = { { options, 0 } },
  .size = sizeof (Options),
  .run = release,
};

const WsCommand wsi_archive_comment = {
  .name = "comment",
  .summary = "add a comment to an inspection",
  .arguments = "DIR ID",
  .groups = { { options, 0 } },
  .size = sizeof (Options),
  .run = comment,
};
