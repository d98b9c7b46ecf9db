/* trial: puts the program to the proof on pictures at large.  See burr.h, hard.h,
 * regrind.h, shown.h and words.h. */
#include "burr.h"
#include "hard.h"
#include "regrind.h"
#include "shown.h"
#include "words.h"

#include <string.h>

int
main (int argc, char **argv)
{
  if (argc > 1 && strcmp (argv[1], "hard") == 0)
    return hard_main (argc - 1, argv + 1);
  if (argc > 1 && strcmp (argv[1], "shown") == 0)
    return shown_main (argc - 1, argv + 1);
  if (argc > 1 && strcmp (argv[1], "regrind") == 0)
    return regrind_main (argc - 1, argv + 1);
  if (argc > 1 && strcmp (argv[1], "burr") == 0)
    return burr_main (argc - 1, argv + 1);
  if (argc > 1 && strcmp (argv[1], "report") == 0)
    return report_main (argc - 1, argv + 1);
  if (argc > 1 && strcmp (argv[1], "words") == 0)
    return words_main (argc - 1, argv + 1);
  g_printerr ("trial: give burr, hard, regrind, shown, report or words, then --help\n");
  return 64;
}
