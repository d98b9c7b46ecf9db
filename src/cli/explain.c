/*
 * Verb `explain`: what a setting does, in numbers.
 */
#include "cli/explain.h"

#include "base/language.h"
#include "cli/verbs.h"
#include "report/text_table.h"

#define INDENT 4

void
wsi_explain_add (GString *text, const char *format, ...)
{
  va_list arguments;
  va_start (arguments, format);
  g_autofree char *words = g_strdup_vprintf (_ (format), arguments);
  va_end (arguments);
  wsi_text_wrap (text, "  - ", words, INDENT);
}

static const WsCommand *const commands[] = { &wsi_explain_centre_height, &wsi_explain_clearance,
                                             &wsi_explain_set_out, NULL };

const WsCommand wsi_verb_explain = {
  .name = "explain",
  .summary = "say what a setting does: centre-height, clearance, set-out",
  .about = "Says in numbers what a tool's place on the machine does to its work, and how far to "
           "set it out\nafter a regrind.",
  .choice = "command",
  .commands = commands,
};
