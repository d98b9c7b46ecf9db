#include "cli/options.h"

#include <math.h>
#include <string.h>

#include <whetsight/card.h>
#include <whetsight/result.h>
#include <whetsight/view.h>

#include "base/language.h"
#include "base/number.h"
#include "base/size.h"
#include "cli/fail.h"

/* ---- Shared checks ---------------------------------------------------------------------- */

static const char *
view_name (guint i)
{
  const WsView *const *view = ws_views ();
  while (*view != NULL && i-- > 0)
    view++;
  return *view != NULL ? (*view)->name : NULL;
}

static const char *
kind_name (guint i)
{
  return i < WS_N_KINDS ? ws_tool_kind_name ((WsToolKind)i) : NULL;
}

static const char *
verdict_name (guint i)
{
  const guint n = WS_VERDICT_RETAKE - WS_VERDICT_ACCEPT + 1;
  return i < n ? ws_verdict_name ((WsVerdict)(WS_VERDICT_ACCEPT + i)) : NULL;
}

const WsOptionCheck wsi_check_above_zero = {
  .phrase = "expected a number above 0 with a decimal point", .most = INFINITY, .above = TRUE
};
const WsOptionCheck wsi_check_number = { .phrase = "expected a number with a decimal point",
                                         .least = -INFINITY,
                                         .most = INFINITY };
const WsOptionCheck wsi_check_view = { .word = view_name };
const WsOptionCheck wsi_check_kind = { .word = kind_name };
const WsOptionCheck wsi_check_verdict = { .word = verdict_name };

/* ---- Values ------------------------------------------------------------------------------ */

static gpointer
at (gpointer values, const WsOptionGroup *group, const WsOption *option)
{
  return (char *)values + group->offset + option->offset;
}

static gboolean
takes_text (const WsOption *option)
{
  return option->kind >= WS_OPTION_TEXT && option->kind <= WS_OPTION_TIME;
}

static gboolean
takes_number (const WsOption *option)
{
  return option->kind >= WS_OPTION_NUMBER && option->kind <= WS_OPTION_SIZE;
}

static gboolean
takes_rest (const WsOption *option)
{
  return option->kind == WS_OPTION_FILES || option->kind == WS_OPTION_WORDS;
}

void
wsi_options_clear (const WsOptionGroup *groups, gpointer values)
{
  for (const WsOptionGroup *group = groups; group->options != NULL; group++)
    for (const WsOption *option = group->options; option->kind != WS_OPTION_END; option++)
      if (takes_text (option))
        g_clear_pointer ((char **)at (values, group, option), g_free);
      else if (takes_rest (option))
        g_clear_pointer ((char ***)at (values, group, option), g_strfreev);
}

guint
wsi_option_word_index (const WsOptionCheck *check, const char *word, guint otherwise)
{
  for (guint i = 0; word != NULL && check->word (i) != NULL; i++)
    if (g_str_equal (word, check->word (i)))
      return i;
  return otherwise;
}

double
wsi_option_number (double value, double otherwise)
{
  return isnan (value) ? otherwise : value;
}

/* ---- Checking ---------------------------------------------------------------------------- */

/* "one of accept, reject"; free with g_free(). */
static char *
words_of (const WsOptionCheck *check)
{
  g_autoptr (GPtrArray) words = g_ptr_array_new ();
  for (guint i = 0; check->word (i) != NULL; i++)
    g_ptr_array_add (words, (gpointer)check->word (i));
  g_ptr_array_add (words, NULL);
  g_autofree char *joined = g_strjoinv (", ", (char **)words->pdata);
  return g_strconcat (_ ("expected one of "), joined, NULL);
}

/* What of a length may be typed beside millimetres. */
static const char *
or_inches (const WsOption *option)
{
  if (option->kind == WS_OPTION_LENGTH)
    return _ (", or inches such as 1/4 or \"0.25 in\"");
  return option->kind == WS_OPTION_SIZE
           ? _ (", or inches such as 1/4 or \"0.25 in\", or a drill such as #7 or F")
           : "";
}

/* `text`: what was typed, NULL for nothing. */
static gboolean
refuse (const WsOption *option, const char *text, GError **error)
{
  const gboolean is_word = option->kind == WS_OPTION_WORD;
  g_autofree char *phrase = is_word
                              ? words_of (option->check)
                              : g_strconcat (_ (option->check->phrase), or_inches (option), NULL);
  if (text == NULL)
    return wsi_refuse_usage (error, "--%s: %s", option->name, phrase);
  return wsi_refuse_usage (error, "--%s: %s%s found \"%s\"", option->name, phrase,
                           is_word ? ";" : ",", text);
}

static gboolean
holds (const WsOptionCheck *check, double value)
{
  return value >= check->least && value <= check->most &&
         !(check->above && value <= check->least) &&
         !(check->whole && fabs (value - round (value)) > 0);
}

/* The first part of YYYY-MM-DDThh:mm:ssZ. */
static gboolean
is_time (const char *text)
{
  static const char form[] = "dddd-dd-ddTdd:dd:ddZ";
  const gsize n = strlen (text);
  gboolean good = n >= 4 && n < sizeof form;
  for (gsize i = 0; good && i < n; i++)
    good = form[i] == 'd' ? g_ascii_isdigit (text[i]) : text[i] == form[i];
  return good;
}

static gboolean
check_time (const WsOption *option, const char *text, GError **error)
{
  return text == NULL || is_time (text) ||
         wsi_refuse_usage (
           error,
           "--%s: expected a time such as 2026-11, 2026-11-25 or 2026-11-25T10:15, found \"%s\"",
           option->name, text);
}

static gboolean
check_word (const WsOption *option, const char *text, GError **error)
{
  const guint none = G_MAXUINT;
  return text == NULL || wsi_option_word_index (option->check, text, none) != none ||
         refuse (option, text, error);
}

/* 0 is what stands there when the option wasn't given. */
static gboolean
check_count (const WsOption *option, int count, GError **error)
{
  return option->check == NULL || count == 0 || holds (option->check, count) ||
         wsi_refuse_usage (error, "--%s: %s, found %d", option->name, _ (option->check->phrase),
                           count);
}

static gboolean
parse (const WsOption *option, const char *text, double *number)
{
  if (option->kind == WS_OPTION_LENGTH)
    return wsi_length_parse (text, number);
  return option->kind == WS_OPTION_SIZE ? wsi_size_parse (text, number)
                                        : wsi_number_parse (text, number);
}

static gboolean
read_number (const WsOption *option, const char *text, double *value, GError **error)
{
  double number;
  *value = NAN;
  if (text == NULL)
    return TRUE;
  if (!parse (option, text, &number) || !holds (option->check, number))
    return refuse (option, text, error);
  *value = number;
  return TRUE;
}

/* `text`: of a number as typed; `value`: of what else was typed, or where the number goes. */
static gboolean
finish (const WsOption *option, const char *text, gpointer value, GError **error)
{
  switch (option->kind)
  {
  case WS_OPTION_NUMBER:
  case WS_OPTION_LENGTH:
  case WS_OPTION_SIZE:
    return read_number (option, text, value, error);
  case WS_OPTION_COUNT:
    return check_count (option, *(int *)value, error);
  case WS_OPTION_WORD:
    return check_word (option, *(char **)value, error);
  case WS_OPTION_TIME:
    return check_time (option, *(char **)value, error);
  default:
    return TRUE;
  }
}

gboolean
wsi_options_require (const WsOption *options, const char *name, gconstpointer values,
                     GError **error)
{
  const WsOption *option = options;
  while (g_strcmp0 (option->name, name) != 0)
    option++;
  const void *value = (const char *)values + option->offset;
  const gboolean given =
    takes_number (option) ? !isnan (*(const double *)value) : *(char *const *)value != NULL;
  return given || refuse (option, NULL, error);
}

/* ---- Reading ------------------------------------------------------------------------------ */

static GOptionArg
arg_of (const WsOption *option)
{
  switch (option->kind)
  {
  case WS_OPTION_FLAG:
    return G_OPTION_ARG_NONE;
  case WS_OPTION_FILE:
    return G_OPTION_ARG_FILENAME;
  case WS_OPTION_COUNT:
    return G_OPTION_ARG_INT;
  case WS_OPTION_FILES:
    return G_OPTION_ARG_FILENAME_ARRAY;
  case WS_OPTION_WORDS:
    return G_OPTION_ARG_STRING_ARRAY;
  default:
    return G_OPTION_ARG_STRING;
  }
}

/* Numbers are read as texts first, into `texts`, a place an option. */
static void
add_entries (const WsOptionGroup *group, GOptionContext *context, char **texts, gpointer values)
{
  g_autoptr (GArray) entries = g_array_new (TRUE, TRUE, sizeof (GOptionEntry));
  for (const WsOption *option = group->options; option->kind != WS_OPTION_END; option++, texts++)
  {
    const GOptionEntry entry = {
      .long_name = option->name != NULL ? option->name : G_OPTION_REMAINING,
      .short_name = option->letter,
      .arg = arg_of (option),
      .arg_data = takes_number (option) ? (gpointer)texts : at (values, group, option),
      .description = option->help,
      .arg_description = option->argument,
    };
    g_array_append_val (entries, entry);
  }
  g_option_context_add_main_entries (context, (const GOptionEntry *)(void *)entries->data, NULL);
}

static guint
count (const WsOptionGroup *group)
{
  guint n = 0;
  while (group->options[n].kind != WS_OPTION_END)
    n++;
  return n;
}

/* GOption has an error of its own for a text that is no UTF-8, which isn't our fault. */
static gboolean
parse_arguments (GOptionContext *context, char ***arguments, GError **error)
{
  GError *cause = NULL;
  if (g_option_context_parse_strv (context, arguments, &cause))
    return TRUE;
  if (cause->domain == G_CONVERT_ERROR)
  {
    g_clear_error (&cause);
    return wsi_refuse_usage (error, "an option's text is no UTF-8; type it in a UTF-8 terminal");
  }
  g_propagate_error (error, cause);
  return FALSE;
}

gboolean
wsi_options_read (const WsOptionGroup *groups, GOptionContext *context, char ***arguments,
                  gpointer values, GError **error)
{
  guint n = 0;
  for (const WsOptionGroup *group = groups; group->options != NULL; group++)
    n += count (group);
  g_autofree char **texts = g_new0 (char *, n + 1);
  char **next = texts;
  for (const WsOptionGroup *group = groups; group->options != NULL; next += count (group), group++)
    add_entries (group, context, next, values);
  gboolean done = parse_arguments (context, arguments, error);
  next = texts;
  for (const WsOptionGroup *group = groups; group->options != NULL; group++)
    for (const WsOption *option = group->options; option->kind != WS_OPTION_END; option++, next++)
    {
      done = done && finish (option, *next, at (values, group, option), error);
      g_free (*next);
    }
  return done;
}
