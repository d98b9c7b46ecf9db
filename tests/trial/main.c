/* trial: puts the program to the proof on pictures at large.  See hard.h. */
#include "hard.h"

#include <string.h>

int
main (int argc, char **argv)
{
  if (argc > 1 && strcmp (argv[1], "hard") == 0)
    return hard_main (argc - 1, argv + 1);
  g_printerr ("trial: give hard, then --help\n");
  return 64;
}
