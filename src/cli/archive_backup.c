#include "base/language.h"
#include "cli/archive.h"
#include "cli/fail.h"
#include "cli/progress.h"
#include "cli/say.h"

#define BYTES_PER_MB 1e6

#define EXITS                                                                                      \
  "Exit status: 0 done, all is as written; 1 done, but something isn't, and was named; 64 wrong "  \
  "call, 65\na folder holds something else, or rows that were changed, 66 no archive there, 73 "   \
  "can't write."

typedef gboolean (*Copy) (const char *from, const char *to, const WsVerifier *verifier,
                          WsBackup *done, GError **error);

static void
print_summary (const WsBackup *done)
{
  if (done->mended > 0)
    wsi_say ("%u pictures of the copy were damaged, and were mended\n", (guint)done->mended);
  wsi_say ("%u rows, %u pictures, %.1f MB; %u pictures copied: ", (guint)done->rows,
           (guint)done->pictures, (double)done->bytes / BYTES_PER_MB, (guint)done->copied);
  if (done->wrong == 0)
    wsi_say ("all as written\n");
  else
    wsi_say ("%u things WRONG\n", (guint)done->wrong);
}

static int
run (char **words, const char *what, Copy copy)
{
  GError *error = NULL;
  WsProgress progress;
  WsBackup done;
  if (g_strv_length (words) != 3)
  {
    wsi_refuse_usage (&error, "archive %s: expected %s; see --help", words[0], what);
    return wsi_fail (error);
  }
  wsi_progress_start (&progress, _ ("copied"), "MB", 0.0);
  const WsVerifier verifier = { wsi_archive_tell, wsi_archive_show_bytes, &progress };
  const gboolean copied = copy (words[1], words[2], &verifier, &done, &error);
  wsi_progress_clear (&progress);
  if (!copied)
    return wsi_fail (error);
  print_summary (&done);
  return done.wrong == 0 ? 0 : 1;
}

static int
backup (gpointer data, char **words)
{
  (void)data;
  return run (words, _ ("an archive and a folder to copy it to"), ws_archive_backup);
}

const WsCommand wsi_archive_backup = {
  .name = "backup",
  .summary = "copy the archive, or what is new of it, while others write",
  .arguments = "DIR TO",
  .about = "Brings the folder TO up to what the archive holds now: a new folder, or an earlier "
           "copy, of which\nonly what is missing is copied. Stopped at any moment it leaves the "
           "earlier copy whole; the same\ncall goes on. Rows that an earlier copy holds otherwise "
           "are refused, so that it stays a witness.",
  .exits = EXITS,
  .run = backup,
};

static int
restore (gpointer data, char **words)
{
  (void)data;
  return run (words, _ ("a copy and a new folder"), ws_archive_restore);
}

const WsCommand wsi_archive_restore = {
  .name = "restore",
  .summary = "make an archive of a copy, checking all of it",
  .arguments = "FROM DIR",
  .about = "Makes an archive in the new folder DIR of a copy by archive backup. Stopped at any "
           "moment it leaves\nno archive there; the same call goes on.",
  .exits = EXITS,
  .run = restore,
};
