#include "archive/engines.h"
#include "base/language.h"
#include "cli/archive.h"
#include "cli/fail.h"
#include "cli/say.h"

typedef struct
{
  char *pictures;
} Options;

static int
make (gpointer data, char **words)
{
  const Options *options = data;
  GError *error = NULL;
  if (g_strv_length (words) != 2 || !wsi_engine_is_address (words[1]))
  {
    wsi_refuse_usage (&error,
                      "archive make: expected the address of a database, postgresql://…; an "
                      "archive in a folder is made by measure");
    return wsi_fail (error);
  }
  if (options->pictures == NULL)
  {
    wsi_refuse_usage (&error, "archive make: say with --pictures where all benches find them");
    return wsi_fail (error);
  }
  if (!wsi_engine_make (words[1], options->pictures, &error))
    return wsi_fail (error);
  wsi_say ("%s", _ ("made; a bench's login needs the role whetsight_bench, a reader's "
                    "whetsight_reader:\n  CREATE ROLE bench1 LOGIN IN ROLE whetsight_bench;\n"));
  return WS_EXIT_ACCEPT;
}

static const WsOption options[] = { { WS_OPTION_FILE, "pictures", 0,
                                      G_STRUCT_OFFSET (Options, pictures), "FOLDER",
                                      "Where pictures lie, for all benches under this path", NULL },
                                    WS_OPTIONS_END };

const WsCommand wsi_archive_make = {
  .name = "make",
  .summary = "make an archive that many benches share, in PostgreSQL",
  .arguments = "ADDRESS",
  .about =
    "Makes tables and roles in the database at postgresql://…, once, by who owns it. Benches write "
    "to it\nwith logins of their own, which may add and read, and change nothing.",
  .exits = "Exit status: 0 made; 64 wrong call, 65 there is one, 73 can't be reached or written.",
  .groups = { { options, 0 } },
  .size = sizeof (Options),
  .run = make,
};
