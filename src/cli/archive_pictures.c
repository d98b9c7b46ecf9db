#include <whetsight/whetsight.h>

#include "archive/pictures.h"
#include "archive/pictures_move.h"
#include "base/language.h"
#include "cli/archive.h"
#include "cli/fail.h"
#include "cli/say.h"

typedef struct
{
  char *move_to;
} Options;

static void
say_where (const WsArchive *archive)
{
  const char *store = wsi_pictures_store (archive);
  if (store != NULL)
    wsi_say (_ ("Pictures lie in the store %s.\n"), store);
  else
    wsi_say (_ ("Pictures lie in the folder %s.\n"), archive->engine->pictures);
}

/* What is wrong with the store's settings is told by the first who needs one. */
static gboolean
expect_settings (const WsArchive *archive, GError **error)
{
  if (archive->trouble == NULL)
    return TRUE;
  g_propagate_error (error, g_error_copy (archive->trouble));
  return FALSE;
}

static int
pictures (gpointer data, char **words)
{
  const Options *options = data;
  guint n = 0;
  GError *error = NULL;
  g_autoptr (WsArchive) archive = wsi_archive_command_open (
    words, 0, _ ("a folder"), options->move_to != NULL ? WS_ARCHIVE_WRITE : WS_ARCHIVE_READ,
    &error);
  if (archive == NULL ||
      (options->move_to != NULL && !wsi_pictures_move (archive, options->move_to, &n, &error)))
    return wsi_fail (error);
  if (options->move_to != NULL)
  {
    wsi_pictures_close (archive);
    wsi_pictures_open (archive);
    wsi_say (_ ("%u pictures copied and read back; what is left in the folder may be removed.\n"),
             n);
  }
  if (!expect_settings (archive, &error))
    return wsi_fail (error);
  say_where (archive);
  return WS_EXIT_ACCEPT;
}

static const WsOption options[] = { { WS_OPTION_FILE, "move-to", 0,
                                      G_STRUCT_OFFSET (Options, move_to), "FILE",
                                      "Copy all to the store that FILE names, and keep them there "
                                      "from now on",
                                      NULL },
                                    WS_OPTIONS_END };

const WsCommand wsi_archive_pictures = {
  .name = "pictures",
  .summary = "say where pictures lie, or move them to an object store",
  .arguments = "DIR",
  .about = "Says where an archive's pictures lie: in its folder, or in an object store that speaks "
           "S3.",
  .notes =
    "FILE:\n  [pictures]\n  store = https://store.local:9000/bucket/shop\n  region = "
    "eu-central-1\n  keys = /etc/whetsight/s3.keys\n\nkeys has the form of AWS's credentials "
    "file and belongs to you alone (chmod 600); without it they are\nAWS_ACCESS_KEY_ID and "
    "AWS_SECRET_ACCESS_KEY of the environment.",
  .groups = { { options, 0 } },
  .size = sizeof (Options),
  .run = pictures,
};
