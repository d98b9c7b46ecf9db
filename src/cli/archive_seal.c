#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <unistd.h>

#include "archive/files.h"
#include "base/language.h"
#include "cli/archive.h"
#include "cli/fail.h"
#include "cli/say.h"

#define MODE_NEW_FILE 0666 /* less the umask */

/* ---- key ------------------------------------------------------------------------------- */

static int
make_key (gpointer data, char **words)
{
  GError *error = NULL;
  (void)data;
  if (g_strv_length (words) != 2)
  {
    wsi_refuse_usage (&error, "archive key: expected one file; see --help");
    return wsi_fail (error);
  }
  g_autofree char *public_hex = ws_seal_key_make (words[1], &error);
  if (public_hex == NULL)
    return wsi_fail (error);
  wsi_say ("key %s\n", public_hex);
  wsi_say_aside ("%s signs seals: keep it where nobody else reads it, and a copy on paper or a "
                 "stick\n%s.pub and the line above check them: give them to whoever shall\n",
                 words[1], words[1]);
  return WS_EXIT_ACCEPT;
}

const WsCommand wsi_archive_key = {
  .name = "key",
  .summary = "make a key that signs seals",
  .arguments = "FILE",
  .about = "Makes a key: its secret half in FILE, which only you can read, its public half in "
           "FILE.pub.\nFILE may not lie in an archive, and nothing is written over. archive seal "
           "--key FILE signs with it,\narchive verify --key FILE.pub takes what it signed.",
  .run = make_key,
};

/* ---- seal ------------------------------------------------------------------------------ */

gboolean
wsi_archive_sealing_check (const WsSealing *options, GError **error)
{
  if (options->stamp != NULL && !g_str_has_prefix (options->stamp, "http://"))
    return wsi_refuse_usage (error, "--stamp %s: expected http://HOST[:PORT]/PATH", options->stamp);
  if (options->output == NULL || !wsi_files_lies_in_archive (options->output))
    return TRUE;
  return wsi_refuse_usage (error,
                           "%s: lies in an archive, which the seal has to outlive; write it "
                           "elsewhere",
                           options->output);
}

/* Behind what is there, in one piece: several may seal into one file.  A piece that couldn't be
 * written whole is taken back. */
static gboolean
append (const char *path, const char *text, GError **error)
{
  const size_t n = strlen (text);
  const int fd = open (path, O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, MODE_NEW_FILE);
  const ssize_t written = fd >= 0 ? write (fd, text, n) : -1;
  const gboolean whole = written == (ssize_t)n && fsync (fd) == 0;
  const int cause = written >= 0 && written < (ssize_t)n ? ENOSPC : errno;
  if (!whole && written > 0)
  {
    const off_t end = lseek (fd, 0, SEEK_CUR);
    if (end < written || ftruncate (fd, end - written) != 0)
      wsi_say_aside ("%s: its end is a seal that isn't whole\n", path);
  }
  if (fd >= 0)
    close (fd);
  return whole ||
         wsi_refuse (error, WS_ERROR_CANT_WRITE, "%s: can't write: %s", path, g_strerror (cause));
}

/* Who seals has to be able to write; nothing is made where no archive is. */
static WsArchive *
open_to_seal (char **words, GError **error)
{
  g_autoptr (WsArchive) there =
    wsi_archive_command_open (words, 0, _ ("one folder"), WS_ARCHIVE_READ, error);
  return there != NULL ? ws_archive_open (words[1], WS_ARCHIVE_WRITE, error) : NULL;
}

static gboolean
write_out (const WsSealing *options, const char *text, GError **error)
{
  if (options->output != NULL)
    return append (options->output, text, error);
  return wsi_say ("%s", text) ||
         wsi_refuse (error, WS_ERROR_CANT_WRITE, "can't write to standard output");
}

/* A seal is worth something without its stamp, too. */
static int
deliver (const WsSealing *options, const char *text)
{
  GError *error = NULL, *cause = NULL;
  g_autofree char *stamped =
    options->stamp != NULL ? ws_seal_stamp (text, options->stamp, &cause) : NULL;
  if (!write_out (options, stamped != NULL ? stamped : text, &error))
  {
    g_clear_error (&cause);
    return wsi_fail (error);
  }
  if (cause == NULL)
    return WS_EXIT_ACCEPT;
  g_prefix_error (&cause, "sealed, but not stamped: ");
  return wsi_fail (cause);
}

int
wsi_archive_seal (WsArchive *archive, const WsSealing *options)
{
  GError *error = NULL;
  gboolean due = TRUE;
  if (options->every > 0 &&
      !ws_archive_seal_is_due (archive, (guint64)options->every, &due, &error))
    return wsi_fail (error);
  if (!due)
    return WS_EXIT_ACCEPT;
  g_autofree char *made = options->key != NULL
                            ? ws_archive_seal_signed (archive, options->key, &error)
                            : ws_archive_seal (archive, &error);
  if (made == NULL)
    return wsi_fail (error);
  g_autofree char *text =
    g_str_has_suffix (made, "\n") ? g_strdup (made) : g_strconcat (made, "\n", NULL);
  return deliver (options, text);
}

static int
seal (gpointer data, char **words)
{
  const WsSealing *options = data;
  GError *error = NULL;
  g_autoptr (WsArchive) archive = NULL;
  if (!wsi_archive_sealing_check (options, &error) ||
      (archive = open_to_seal (words, &error)) == NULL)
    return wsi_fail (error);
  return wsi_archive_seal (archive, options);
}

static const WsOptionCheck is_count = {
  .phrase = "expected a whole number, 1 or more", .least = 1.0, .most = G_MAXINT, .whole = TRUE
};

static const WsOption options[] = {
  { WS_OPTION_FILE, "key", 0, G_STRUCT_OFFSET (WsSealing, key), "FILE",
    "Sign it with this key of archive key", NULL },
  { WS_OPTION_FILE, "output", 'o', G_STRUCT_OFFSET (WsSealing, output), "FILE",
    "Write there, behind earlier seals; to standard output by default", NULL },
  { WS_OPTION_COUNT, "every", 0, G_STRUCT_OFFSET (WsSealing, every), "N",
    "Only when N rows or more came since the last seal", &is_count },
  { WS_OPTION_TEXT, "stamp", 0, G_STRUCT_OFFSET (WsSealing, stamp), "URL",
    "Have its hash stamped by this service (RFC 3161), http://…", NULL },
  WS_OPTIONS_END
};

const WsCommand wsi_archive_sealing = {
  .name = "seal",
  .summary = "say, signed, what the archive holds now",
  .arguments = "DIR",
  .about =
    "Tells time, number of rows and the hash of the last, which depends on all before it, "
    "and\nstores the same. Keep what it tells elsewhere: archive verify --seal FILE then finds "
    "even a change by\nsomebody who computed all hashes anew, rows cut off, and a folder put back "
    "to an older state. With\n--key it is signed, so that nobody else can make one.",
  .groups = { { options, 0 } },
  .size = sizeof (WsSealing),
  .run = seal,
};
