#include "cli/command.h"

#include <stdio.h>

#include "base/language.h"
#include "cli/fail.h"
#include "cli/suggest.h"

/* ---- A choice of commands ----------------------------------------------------------------- */

static int
print_list (const WsCommand *command, const char *path)
{
  g_autofree char *upper = g_ascii_strup (command->choice, -1);
  g_autofree char *title = g_strdup_printf ("%c%ss", upper[0], command->choice + 1);
  const char *more = command->arguments != NULL ? command->arguments : "…";
  printf (_ ("Usage: %s %s [OPTION…] %s\n\n%s\n\n%s:\n"), path, upper, more, _ (command->about),
          _ (title));
  for (const WsCommand *const *other = command->commands; *other != NULL; other++)
    printf ("  %-13s %s\n", (*other)->name, _ ((*other)->summary));
  printf (_ ("\n%s %s --help tells a %s's options%s%s.\n"), path, upper, _ (command->choice),
          command->notes != NULL ? "; " : "", command->notes != NULL ? _ (command->notes) : "");
  if (command->exits != NULL)
    printf ("\n%s\n", _ (command->exits));
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

static const char *
translate (const char *english, gpointer data)
{
  (void)data;
  return _ (english);
}

/* Stops reading; help is then printed in place of an error. */
static gboolean
ask_for_help (const char *name, const char *value, gpointer data, GError **error)
{
  gboolean *is_asked = data;
  (void)name;
  (void)value;
  *is_asked = TRUE;
  return wsi_refuse_usage (error, "--help");
}

static const GOptionEntry help_entries[] = {
  { "help", 'h', G_OPTION_FLAG_HIDDEN | G_OPTION_FLAG_NO_ARG, G_OPTION_ARG_CALLBACK,
    (gpointer)ask_for_help, NULL, NULL },
  { "?", '?', G_OPTION_FLAG_HIDDEN | G_OPTION_FLAG_NO_ARG, G_OPTION_ARG_CALLBACK,
    (gpointer)ask_for_help, NULL, NULL },
  G_OPTION_ENTRY_NULL,
};

/* `is_asked`: becomes TRUE where --help stands, which isn't read then; NULL to be described.  Free
 * with g_option_context_free(). */
static GOptionContext *
context_of (const WsCommand *command, gboolean *is_asked)
{
  GOptionContext *context = g_option_context_new (_ (command->arguments));
  GOptionGroup *group = g_option_group_new (NULL, NULL, NULL, is_asked, NULL);
  g_option_context_set_main_group (context, group);
  g_option_context_set_help_enabled (context, is_asked == NULL);
  if (is_asked != NULL)
    g_option_context_add_main_entries (context, help_entries, NULL);
  g_option_context_set_summary (context, _ (command->about));
  const char *notes = _ (command->notes), *exits = _ (command->exits);
  g_autofree char *both =
    notes != NULL && exits != NULL ? g_strconcat (notes, "\n", exits, NULL) : NULL;
  g_option_context_set_description (context, both != NULL ? both : notes != NULL ? notes : exits);
  return context;
}

/* GLib's own words in it follow the system's locales, which needn't have the language. */
static void
print_context (GOptionContext *context)
{
  static const char *const words[] = {
    N_ ("Usage:\n"),
    N_ (" [OPTION…]"),
    N_ ("\nHelp Options:\n"),
    N_ (" Show help options\n"),
    N_ ("\nApplication Options:\n"),
  };
  /* Adding entries sets one of its own. */
  g_option_group_set_translate_func (g_option_context_get_main_group (context), translate, NULL,
                                     NULL);
  g_autofree char *help = g_option_context_get_help (context, TRUE, NULL);
  GString *text = g_string_new (help);
  for (gsize i = 0; i < G_N_ELEMENTS (words); i++)
    g_string_replace (text, words[i], _ (words[i]), 1);
  printf ("%s", text->str);
  g_string_free (text, TRUE);
}

/* Without reading any, the options are only described. */
static int
print_help (const WsCommand *command)
{
  char *const none[] = { (char *)command->name, NULL };
  GError *error = NULL;
  g_auto (GStrv) words = g_strdupv ((char **)none);
  g_autofree void *options = g_malloc0 (MAX (command->size, 1));
  g_autoptr (GOptionContext) context = context_of (command, NULL);
  const gboolean described = wsi_options_read (command->groups, context, &words, options, &error);
  if (described)
    print_context (context);
  wsi_options_clear (command->groups, options);
  return described ? WS_EXIT_ACCEPT : wsi_fail (error);
}

int
wsi_command_run (const WsCommand *command, const char *path, char **arguments)
{
  if (command->commands != NULL)
    return choose (command, path, arguments);
  g_set_prgname (path);
  GError *error = NULL;
  gboolean is_asked = FALSE;
  g_auto (GStrv) words = g_strdupv (arguments);
  g_autofree void *options = g_malloc0 (MAX (command->size, 1));
  g_autoptr (GOptionContext) context = context_of (command, &is_asked);
  int status = WS_EXIT_ACCEPT;
  if (wsi_options_read (command->groups, context, &words, options, &error))
    status = command->run (options, words);
  else if (!is_asked)
    status = wsi_fail (error);
  wsi_options_clear (command->groups, options);
  if (!is_asked)
    return status;
  g_clear_error (&error);
  return print_help (command);
}
