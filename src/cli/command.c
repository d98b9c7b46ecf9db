#include "cli/command.h"

#include <stdio.h>

#include "cli/fail.h"
#include "cli/suggest.h"

/* ---- A choice of commands ----------------------------------------------------------------- */

static int
print_list (const WsCommand *command, const char *path)
{
  g_autofree char *upper = g_ascii_strup (command->choice, -1);
  const char *more = command->arguments != NULL ? command->arguments : "…";
  printf ("Usage: %s %s [OPTION…] %s\n\n%s\n\n%c%ss:\n", path, upper, more, command->about,
          upper[0], command->choice + 1);
  for (const WsCommand *const *other = command->commands; *other != NULL; other++)
    printf ("  %-13s %s\n", (*other)->name, (*other)->summary);
  printf ("\n%s %s --help tells a %s's options%s%s.\n", path, upper, command->choice,
          command->notes != NULL ? "; " : "", command->notes != NULL ? command->notes : "");
  if (command->exits != NULL)
    printf ("\n%s\n", command->exits);
  return WS_EXIT_ACCEPT;
}

static int
refuse (const WsCommand *command, const char *path, const char *word)
{
  g_autoptr (GPtrArray) names = g_ptr_array_new ();
  for (const WsCommand *const *other = command->commands; *other != NULL; other++)
    g_ptr_array_add (names, (gpointer)(*other)->name);
  g_ptr_array_add (names, NULL);
  const char *meant = wsi_suggest (word, (const char *const *)names->pdata);
  if (meant != NULL)
    return wsi_fail (g_error_new (WS_ERROR, WS_ERROR_USAGE,
                                  "no %s \"%s\"; did you mean %s? See %s --help", command->choice,
                                  word, meant, path));
  return wsi_fail (g_error_new (WS_ERROR, WS_ERROR_USAGE, "no %s \"%s\"; see %s --help",
                                command->choice, word, path));
}

static int
choose (const WsCommand *command, const char *path, char **arguments)
{
  const char *word = arguments[1];
  if (word == NULL)
    return wsi_fail (g_error_new (WS_ERROR, WS_ERROR_USAGE, "name a %s; %s --help lists them",
                                  command->choice, path));
  if (g_str_equal (word, "--help") || g_str_equal (word, "-h") || g_str_equal (word, "-?"))
    return print_list (command, path);
  for (const WsCommand *const *other = command->commands; *other != NULL; other++)
    if (g_str_equal (word, (*other)->name))
    {
      g_autofree char *longer = g_strdup_printf ("%s %s", path, word);
      return wsi_command_run (*other, longer, arguments + 1);
    }
  return refuse (command, path, word);
}

/* ---- Something to do ----------------------------------------------------------------------- */

/* Free with g_option_context_free(). */
static GOptionContext *
context_of (const WsCommand *command)
{
  GOptionContext *context = g_option_context_new (command->arguments);
  g_option_context_set_summary (context, command->about);
  g_autofree char *both = command->notes != NULL && command->exits != NULL
                            ? g_strconcat (command->notes, "\n", command->exits, NULL)
                            : NULL;
  g_option_context_set_description (context, both != NULL             ? both
                                             : command->notes != NULL ? command->notes
                                                                      : command->exits);
  return context;
}

int
wsi_command_run (const WsCommand *command, const char *path, char **arguments)
{
  if (command->commands != NULL)
    return choose (command, path, arguments);
  g_set_prgname (path);
  GError *error = NULL;
  g_auto (GStrv) words = g_strdupv (arguments);
  g_autofree void *options = g_malloc0 (MAX (command->size, 1));
  g_autoptr (GOptionContext) context = context_of (command);
  const int status = wsi_options_read (command->groups, context, &words, options, &error)
                       ? command->run (options, words)
                       : wsi_fail (error);
  wsi_options_clear (command->groups, options);
  return status;
}
