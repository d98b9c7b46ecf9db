#include <stdio.h>

#include <whetsight/error.h>
#include <whetsight/view.h>

#include "base/language.h"
#include "cli/verbs.h"

static void
print_kinds (guint kinds)
{
  printf (_ ("  for:"));
  for (guint kind = 0; kind < WS_N_KINDS; kind++)
    if (kinds & 1U << kind)
      printf (" %s", ws_tool_kind_name ((WsToolKind)kind));
  printf ("\n");
}

static void
print_quantity (const WsQuantityInfo *info)
{
  const char *unit = ws_unit_suffix (info->unit, TRUE);
  g_autofree char *name = g_strdup_printf ("%s_%s", info->stem, unit);
  printf ("  %-28s %-4s %s\n", name, info->symbol != NULL ? info->symbol : "", _ (info->meaning));
}

static void
print_view (const WsView *view)
{
  printf ("%s: %s\n", view->name, _ (view->summary));
  print_kinds (view->kinds);
  for (gsize i = 0; i < view->n_quantities; i++)
    print_quantity (&view->quantities[i]);
}

static int
run (gpointer options, char **words)
{
  (void)options;
  if (words[1] != NULL)
    return wsi_fail (g_error_new (WS_ERROR, WS_ERROR_USAGE, "views takes no arguments"));
  for (const WsView *const *view = ws_views (); *view != NULL; view++)
    print_view (*view);
  return WS_EXIT_ACCEPT;
}

const WsCommand wsi_verb_views = {
  .name = "views",
  .summary = "list the views and what each of them measures",
  .about = "Lists the views and what each of them measures. The names are those of tool cards and "
           "records;\nwithout a scale lengths end in _px. The second column is the ISO 13399 "
           "symbol.",
  .run = run,
};
