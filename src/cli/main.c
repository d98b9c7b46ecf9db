#include <locale.h>
#include <stdio.h>
#include <string.h>

#include <whetsight/error.h>

#include "cli/suggest.h"
#include "cli/verbs.h"

typedef struct
{
  const char *name;
  const char *summary;
  int (*run) (char ***arguments);
} Verb;

static const Verb verbs[] = {
  { "measure", "measure tools in pictures, judge them, say what to grind", ws_verb_measure },
  { "calibrate", "find a camera's scale from things of known size", ws_verb_calibrate },
  { "verify", "check a calibration against things of known size", ws_verb_verify },
  { "explain", "say what a setting does: centre-height", ws_verb_explain },
  { "aim", "tell which way to turn a drill while it is set up", ws_verb_aim },
  { "archive", "keep inspections, find, check and export them", ws_verb_archive },
  { "report", "print inspections of an archive as PDF", ws_verb_report },
  { "trend", "show a quantity in time, with control limits", ws_verb_trend },
  { "study", "say how much of the spread of values comes from the gauge", ws_verb_study },
  { "views", "list the views and what each of them measures", ws_verb_views },
};

static const char usage[] = "Usage: whetsight VERB [OPTION…] …\n"
                            "\n"
                            "Measures ground tools in photographs.\n"
                            "\n"
                            "Verbs:\n";

static const char more[] = "\n"
                           "whetsight VERB --help tells a verb's options; whetsight --version the "
                           "program's version.\n"
                           "\n"
                           "Exit status: 0 accept, 1 reject, 2 undecided, 3 retake the picture; 64 "
                           "wrong call,\n65 damaged input, 66 no such input, 70 internal error, 73 "
                           "can't write.\n";

static int
print_help (void)
{
  fputs (usage, stdout);
  for (gsize i = 0; i < G_N_ELEMENTS (verbs); i++)
    printf ("  %-10s %s\n", verbs[i].name, verbs[i].summary);
  fputs (more, stdout);
  return WS_EXIT_ACCEPT;
}

static int
print_version (void)
{
  printf ("whetsight %s\n", WS_VERSION);
  return WS_EXIT_ACCEPT;
}

static int
refuse (const char *word)
{
  const char *names[G_N_ELEMENTS (verbs) + 1] = { NULL };
  for (gsize i = 0; i < G_N_ELEMENTS (verbs); i++)
    names[i] = verbs[i].name;
  const char *meant = ws_suggest (word, names);
  if (meant != NULL)
    return ws_fail (g_error_new (WS_ERROR, WS_ERROR_USAGE,
                                 "no verb \"%s\"; did you mean %s? See whetsight --help", word,
                                 meant));
  return ws_fail (
    g_error_new (WS_ERROR, WS_ERROR_USAGE, "no verb \"%s\"; see whetsight --help", word));
}

static int
run (char **arguments)
{
  const char *word = arguments[1];
  if (word == NULL)
    return ws_fail (
      g_error_new (WS_ERROR, WS_ERROR_USAGE, "name a verb; whetsight --help lists them"));
  if (g_str_equal (word, "--help") || g_str_equal (word, "-h") || g_str_equal (word, "-?"))
    return print_help ();
  if (g_str_equal (word, "--version"))
    return print_version ();

  for (gsize i = 0; i < G_N_ELEMENTS (verbs); i++)
    if (g_str_equal (word, verbs[i].name))
    {
      g_auto (GStrv) rest = g_strdupv (arguments + 1);
      g_autofree char *name = g_strdup_printf ("whetsight %s", word);
      g_set_prgname (name);
      return verbs[i].run (&rest);
    }
  return refuse (word);
}

int
main (int argc, char **argv)
{
  (void)argc;
  /* File names and messages follow the user's encoding; numbers stay as they are. */
  setlocale (LC_CTYPE, "");
  int status = run (argv);
  if (fflush (stdout) != 0)
    status = MAX (status, WS_ERROR_CANT_WRITE);
  return status;
}
