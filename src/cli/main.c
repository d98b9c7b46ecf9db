#include <locale.h>
#include <stdio.h>

#include <whetsight/version.h>

#include "base/language.h"
#include "cli/verbs.h"

/* What a variable says, or NULL. */
static const char *
said_by (const char *variable)
{
  const char *value = g_getenv (variable);
  return value != NULL && *value != '\0' ? value : NULL;
}

/* Messages' languages as gettext reads them (GNU gettext manual, "Locale Environment Variables"
 * and "The LANGUAGE variable"), whether that locale is installed or not; free with g_free(). */
static char *
wanted_languages (void)
{
  static const char *const variables[] = { "LC_ALL", "LC_MESSAGES", "LANG" };
  const char *locale = NULL;
  for (gsize i = 0; i < G_N_ELEMENTS (variables) && locale == NULL; i++)
    locale = said_by (variables[i]);
  if (locale == NULL || g_str_equal (locale, "C") || g_str_equal (locale, "POSIX") ||
      g_str_has_prefix (locale, "C."))
    return NULL;
  const char *languages = said_by ("LANGUAGE");
  return languages != NULL ? g_strdelimit (g_strdup (languages), ":", ',') : g_strdup (locale);
}

int
main (int argc, char **argv)
{
  /* File names and messages follow the user's encoding; numbers stay as they are. */
  setlocale (LC_CTYPE, "");
  g_autofree char *languages = wanted_languages ();
  wsi_language_use (languages);
  int status = WS_EXIT_ACCEPT;
  if (argc > 1 && g_str_equal (argv[1], "--version"))
    printf ("whetsight %s\n", ws_version ());
  else
    status = wsi_command_run (&wsi_program, wsi_program.name, argv);
  if (fflush (stdout) != 0)
    status = MAX (status, WS_ERROR_CANT_WRITE);
  return status;
}
