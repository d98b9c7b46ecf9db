#include "cli/calibrate.h"

#include <stdio.h>

#include <whetsight/error.h>

#include "cli/suggest.h"
#include "cli/verbs.h"

typedef struct
{
  const char *name;
  const char *summary;
  int (*run) (char ***arguments);
} Method;

static const Method methods[] = {
  { "pin", "by gauge pins seen from the side", ws_calibrate_pin },
  { "disc", "by rings or discs seen face-on", ws_calibrate_disc },
  { "target", "by a chessboard seen from several sides", ws_calibrate_target },
};

static int
print_help (void)
{
  printf ("Usage: whetsight calibrate METHOD [OPTION…] …\n"
          "\n"
          "Finds a camera's scale from pictures of things of known size and keeps it in a file\n"
          "that whetsight measure --calib takes.\n"
          "\n"
          "Methods:\n");
  for (gsize i = 0; i < G_N_ELEMENTS (methods); i++)
    printf ("  %-10s %s\n", methods[i].name, methods[i].summary);
  printf ("\n"
          "whetsight calibrate METHOD --help tells a method's options.\n");
  return WS_EXIT_ACCEPT;
}

static int
refuse (const char *word)
{
  const char *names[G_N_ELEMENTS (methods) + 1] = { NULL };
  for (gsize i = 0; i < G_N_ELEMENTS (methods); i++)
    names[i] = methods[i].name;
  const char *meant = ws_suggest (word, names);
  if (meant != NULL)
    return ws_fail (g_error_new (WS_ERROR, WS_ERROR_USAGE,
                                 "no method \"%s\"; did you mean %s? See whetsight calibrate "
                                 "--help",
                                 word, meant));
  return ws_fail (g_error_new (WS_ERROR, WS_ERROR_USAGE,
                               "no method \"%s\"; see whetsight calibrate --help", word));
}

int
ws_verb_calibrate (char ***arguments)
{
  const char *word = (*arguments)[1];
  if (word == NULL)
    return ws_fail (g_error_new (WS_ERROR, WS_ERROR_USAGE,
                                 "name a method; whetsight calibrate --help lists them"));
  if (g_str_equal (word, "--help") || g_str_equal (word, "-h") || g_str_equal (word, "-?"))
    return print_help ();
  for (gsize i = 0; i < G_N_ELEMENTS (methods); i++)
    if (g_str_equal (word, methods[i].name))
    {
      g_auto (GStrv) rest = g_strdupv (*arguments + 1);
      g_autofree char *name = g_strdup_printf ("whetsight calibrate %s", word);
      g_set_prgname (name);
      return methods[i].run (&rest);
    }
  return refuse (word);
}
