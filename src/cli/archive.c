#include "cli/archive.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/number.h"
#include "cli/suggest.h"
#include "cli/verbs.h"

typedef struct
{
  const char *name;
  const char *summary;
  int (*run) (char ***arguments);
} Command;

static const Command commands[] = {
  { "list", "find inspections", ws_archive_verb_list },
  { "show", "print one inspection", ws_archive_verb_show },
  { "export", "write inspections for other programs", ws_archive_verb_export },
  { "import", "take in records, as export wrote them", ws_archive_verb_import },
  { "verify", "recompute every hash and tell what was changed", ws_archive_verb_verify },
  { "seal", "print a line that later proves what the archive holds now", ws_archive_verb_seal },
};

/* ---- Shared by the commands --------------------------------------------------------- */

void
ws_filter_options_clear (WsFilterOptions *options)
{
  char *const texts[] = { options->tool,    options->kind,    options->view,    options->verdict,
                          options->station, options->grinder, options->from,    options->to,
                          options->above,   options->below,   options->quantity };
  for (gsize i = 0; i < G_N_ELEMENTS (texts); i++)
    g_free (texts[i]);
}

void
ws_filter_options_add (WsFilterOptions *options, GOptionContext *context)
{
  const GOptionEntry entries[] = {
    { "tool", 't', 0, G_OPTION_ARG_STRING, &options->tool, "Of the tool with this id", "ID" },
    { "kind", 'k', 0, G_OPTION_ARG_STRING, &options->kind, "Of this kind of tool", "KIND" },
    { "view", 'v', 0, G_OPTION_ARG_STRING, &options->view, "In this view", "VIEW" },
    { "verdict", 0, 0, G_OPTION_ARG_STRING, &options->verdict,
      "accept, undecided, reject or retake", "VERDICT" },
    { "station", 0, 0, G_OPTION_ARG_STRING, &options->station, "Measured there", "NAME" },
    { "grinder", 0, 0, G_OPTION_ARG_STRING, &options->grinder, "Ground by", "NAME" },
    { "from", 0, 0, G_OPTION_ARG_STRING, &options->from,
      "Measured then or later, UTC: 2026-11-25, 2026-11-25T10:15", "TIME" },
    { "to", 0, 0, G_OPTION_ARG_STRING, &options->to,
      "Measured then or earlier; 2026-11 is all of November", "TIME" },
    { "quantity", 'q', 0, G_OPTION_ARG_STRING, &options->quantity,
      "With a value of this quantity, point_angle_deg say", "NAME" },
    { "above", 0, 0, G_OPTION_ARG_STRING, &options->above, "and it lies above", "VALUE" },
    { "below", 0, 0, G_OPTION_ARG_STRING, &options->below, "and it lies below", "VALUE" },
    { "last", 'n', 0, G_OPTION_ARG_INT, &options->last, "The newest so many", "N" },
    { NULL, 0, 0, G_OPTION_ARG_NONE, NULL, NULL, NULL },
  };
  g_option_context_add_main_entries (context, entries, NULL);
}

static gboolean
check_word (const char *option, const char *word, const char *(*name_of) (int), int from, int to,
            GError **error)
{
  const char *names[32] = { NULL };
  guint n = 0;
  for (int i = from; word != NULL && i < to && n + 1 < G_N_ELEMENTS (names); i++)
    names[n++] = name_of (i);
  if (word == NULL || g_strv_contains (names, word))
    return TRUE;
  g_autofree char *known = g_strjoinv (", ", (char **)names);
  g_set_error (error, WS_ERROR, WS_ERROR_USAGE, "%s: expected one of %s; found \"%s\"", option,
               known, word);
  return FALSE;
}

static const char *
kind_name (int kind)
{
  return ws_tool_kind_name ((WsToolKind)kind);
}

static const char *
verdict_name (int verdict)
{
  return ws_verdict_name ((WsVerdict)verdict);
}

static gboolean
read_bound (const char *option, const char *text, double *value, GError **error)
{
  *value = NAN;
  if (text == NULL || ws_number_parse (text, value))
    return TRUE;
  g_set_error (error, WS_ERROR, WS_ERROR_USAGE,
               "%s: expected a number with a decimal point, found \"%s\"", option, text);
  return FALSE;
}

/* The first part of YYYY-MM-DDThh:mm:ssZ. */
static gboolean
check_time (const char *option, const char *text, GError **error)
{
  static const char form[] = "dddd-dd-ddTdd:dd:ddZ";
  const gsize n = text != NULL ? strlen (text) : 0;
  gboolean good = text == NULL || (n >= 4 && n < sizeof form);
  for (gsize i = 0; good && i < n; i++)
    good = form[i] == 'd' ? g_ascii_isdigit (text[i]) : text[i] == form[i];
  if (!good)
    g_set_error (
      error, WS_ERROR, WS_ERROR_USAGE,
      "%s: expected a time such as 2026-11, 2026-11-25 or 2026-11-25T10:15, found \"%s\"", option,
      text);
  return good;
}

gboolean
ws_filter_options_read (const WsFilterOptions *options, WsArchiveFilter *filter, GError **error)
{
  *filter = (WsArchiveFilter){ .tool = options->tool,
                               .kind = options->kind,
                               .view = options->view,
                               .verdict = options->verdict,
                               .station = options->station,
                               .grinder = options->grinder,
                               .from = options->from,
                               .to = options->to,
                               .quantity = options->quantity,
                               .last = (guint64)MAX (options->last, 0) };
  if ((options->above != NULL || options->below != NULL) && options->quantity == NULL)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_USAGE,
                 "--above and --below make sense with --quantity only");
    return FALSE;
  }
  return check_word ("--kind", options->kind, kind_name, 0, WS_N_KINDS, error) &&
         check_word ("--verdict", options->verdict, verdict_name, WS_VERDICT_ACCEPT,
                     WS_VERDICT_RETAKE + 1, error) &&
         check_time ("--from", options->from, error) && check_time ("--to", options->to, error) &&
         read_bound ("--above", options->above, &filter->above, error) &&
         read_bound ("--below", options->below, &filter->below, error);
}

WsArchive *
ws_archive_verb_open (char **arguments, guint n_more, const char *what, WsArchiveMode mode,
                      GError **error)
{
  if (g_strv_length (arguments) == 2 + n_more)
    return ws_archive_open (arguments[1], mode, error);
  g_set_error (error, WS_ERROR, WS_ERROR_USAGE, "archive %s: expected %s; see --help", arguments[0],
               what);
  return NULL;
}

/* ---- The verb ----------------------------------------------------------------------- */

static int
print_help (void)
{
  printf ("Usage: whetsight archive COMMAND [OPTION…] DIR …\n"
          "\n"
          "Keeps inspections so that a change to them is noticed; whetsight measure --archive DIR\n"
          "fills it.\n"
          "\n"
          "Commands:\n");
  for (gsize i = 0; i < G_N_ELEMENTS (commands); i++)
    printf ("  %-10s %s\n", commands[i].name, commands[i].summary);
  printf ("\n"
          "whetsight archive COMMAND --help tells a command's options.\n");
  return WS_EXIT_ACCEPT;
}

static int
refuse (const char *word)
{
  const char *names[G_N_ELEMENTS (commands) + 1] = { NULL };
  for (gsize i = 0; i < G_N_ELEMENTS (commands); i++)
    names[i] = commands[i].name;
  const char *meant = ws_suggest (word, names);
  return ws_fail (g_error_new (
    WS_ERROR, WS_ERROR_USAGE, "no command \"%s\"%s%s%s; see whetsight archive --help", word,
    meant != NULL ? "; did you mean " : "", meant != NULL ? meant : "", meant != NULL ? "?" : ""));
}

int
ws_verb_archive (char ***arguments)
{
  const char *word = (*arguments)[1];
  if (word == NULL)
    return ws_fail (g_error_new (WS_ERROR, WS_ERROR_USAGE,
                                 "name a command; whetsight archive --help lists them"));
  if (g_str_equal (word, "--help") || g_str_equal (word, "-h") || g_str_equal (word, "-?"))
    return print_help ();
  for (gsize i = 0; i < G_N_ELEMENTS (commands); i++)
    if (g_str_equal (word, commands[i].name))
    {
      g_auto (GStrv) rest = g_strdupv (*arguments + 1);
      g_autofree char *name = g_strdup_printf ("whetsight archive %s", word);
      g_set_prgname (name);
      return commands[i].run (&rest);
    }
  return refuse (word);
}
