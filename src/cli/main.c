#include <locale.h>
#include <stdio.h>

#include <whetsight/version.h>

#include "cli/verbs.h"

int
main (int argc, char **argv)
{
  /* File names and messages follow the user's encoding; numbers stay as they are. */
  setlocale (LC_CTYPE, "");
  int status = WS_EXIT_ACCEPT;
  if (argc > 1 && g_str_equal (argv[1], "--version"))
    printf ("whetsight %s\n", ws_version ());
  else
    status = wsi_command_run (&wsi_program, wsi_program.name, argv);
  if (fflush (stdout) != 0)
    status = MAX (status, WS_ERROR_CANT_WRITE);
  return status;
}
