/*
 * Verb `explain`: what a setting does, in numbers, without a picture.
 */
#include <math.h>
#include <stdio.h>

#include <whetsight/error.h>

#include "base/geometry.h"
#include "base/number.h"
#include "cli/suggest.h"
#include "cli/verbs.h"
#include "tool/centre_height.h"

/* Rows of the table on either side of centre. */
#define ROWS 5

/* Width of the plot's bars. */
#define PLOT_CHARS 40

typedef struct
{
  double diameter, error; /* mm */
  double rake_deg, relief_deg;
} CentreHeight;

static const char *const topics[] = { "centre-height", NULL };

static gboolean
refuse (GError **error, const char *option, const char *expected, const char *found)
{
  g_set_error (error, WS_ERROR, WS_ERROR_USAGE, "--%s: expected %s, found \"%s\"", option, expected,
               found);
  return FALSE;
}

/* `text` NULL: the option wasn't given, `value` stays. */
static gboolean
read_number (const char *option, const char *text, double low, double high, const char *expected,
             double *value, GError **error)
{
  double number;
  if (text == NULL)
    return TRUE;
  if (!ws_number_parse (text, &number) || number < low || number > high)
    return refuse (error, option, expected, text);
  *value = number;
  return TRUE;
}

static gboolean
check (const CentreHeight *asked, const char *diameter, const char *height, GError **error)
{
  if (diameter == NULL || height == NULL)
  {
    g_set_error_literal (error, WS_ERROR, WS_ERROR_USAGE,
                         "centre-height needs --diameter and --error, both in millimetres");
    return FALSE;
  }
  if (2 * fabs (asked->error) < asked->diameter)
    return TRUE;
  g_set_error (error, WS_ERROR, WS_ERROR_USAGE,
               "--error: an edge %s mm off centre misses work of %s mm; give less than half of "
               "the diameter",
               height, diameter);
  return FALSE;
}

static gboolean
check_topic (char **words, GError **error)
{
  if (words == NULL || words[1] != NULL)
  {
    g_set_error_literal (error, WS_ERROR, WS_ERROR_USAGE,
                         "name one thing to explain: centre-height");
    return FALSE;
  }
  if (g_str_equal (words[0], topics[0]))
    return TRUE;
  const char *meant = ws_suggest (words[0], topics);
  g_set_error (error, WS_ERROR, WS_ERROR_USAGE, "nothing to explain under \"%s\"; %s %s%s",
               words[0], meant != NULL ? "did you mean" : "there is", topics[0],
               meant != NULL ? "?" : "");
  return FALSE;
}

static gboolean
parse (char ***arguments, CentreHeight *asked, GError **error)
{
  g_autofree char *diameter = NULL, *height = NULL, *rake = NULL, *relief = NULL;
  g_auto (GStrv) words = NULL;
  const GOptionEntry entries[] = {
    { "diameter", 'd', 0, G_OPTION_ARG_STRING, &diameter, "Diameter of the work at the edge",
      "MM" },
    { "error", 'e', 0, G_OPTION_ARG_STRING, &height,
      "Height of the edge above centre; below centre negative", "MM" },
    { "rake", 0, 0, G_OPTION_ARG_STRING, &rake, "Top rake as ground, 0 by default", "DEG" },
    { "relief", 0, 0, G_OPTION_ARG_STRING, &relief, "Front relief as ground, 10 by default",
      "DEG" },
    { G_OPTION_REMAINING, 0, 0, G_OPTION_ARG_STRING_ARRAY, &words, NULL, "centre-height" },
    { NULL, 0, 0, G_OPTION_ARG_NONE, NULL, NULL, NULL },
  };
  g_autoptr (GOptionContext) context = g_option_context_new (NULL);
  g_option_context_set_summary (context, "Says what a tool off centre height does to its effective "
                                         "rake and relief.");
  g_option_context_add_main_entries (context, entries, NULL);
  if (!g_option_context_parse_strv (context, arguments, error))
    return FALSE;
  const char *mm = "millimetres above 0, at most 10000, with a decimal point";
  return check_topic (words, error) &&
         read_number ("diameter", diameter, 1e-3, 1e4, mm, &asked->diameter, error) &&
         read_number ("error", height, -1e4, 1e4, "millimetres with a decimal point", &asked->error,
                      error) &&
         read_number ("rake", rake, -45, 60, "degrees, -45 to 60", &asked->rake_deg, error) &&
         read_number ("relief", relief, 0.1, 60, "degrees, 0.1 to 60", &asked->relief_deg, error) &&
         check (asked, diameter, height, error);
}

/* Less effective relief than this soon rubs when the edge wears (common practice, no source). */
#define LITTLE_RELIEF_DEG 3.0

static const char *
remark (double relief_deg)
{
  if (relief_deg <= 0)
    return "rubs, does not cut";
  return relief_deg < LITTLE_RELIEF_DEG ? "hardly any relief left" : "";
}

static void
print_row (const CentreHeight *asked, double error)
{
  const double turn = ws_degrees (ws_centre_height_turn (asked->diameter, error));
  const double rake = asked->rake_deg + turn, relief = asked->relief_deg - turn;
  const char *mark = fabs (error - asked->error) < 1e-12 ? "->" : "  ";
  printf ("%s %9.3f  %9.3f  %9.3f  %9.3f  %s\n", mark, error, turn, rake, relief, remark (relief));
}

/* Every row has its error, less those that would miss the work. */
static double
row_error (const CentreHeight *asked, int row)
{
  const double step = asked->error != 0.0 ? fabs (asked->error) : 0.01 * asked->diameter;
  return step * row;
}

static gboolean
row_shown (const CentreHeight *asked, int row)
{
  return 2 * fabs (row_error (asked, row)) < asked->diameter;
}

static void
print_table (const CentreHeight *asked)
{
  printf ("\n     error mm   turn deg   rake deg  relief deg\n");
  for (int row = ROWS; row >= -ROWS; row--)
    if (row_shown (asked, row))
      print_row (asked, row_error (asked, row));
}

/* Relief from 0 at the left. */
static void
print_plot (const CentreHeight *asked)
{
  double most = asked->relief_deg;
  for (int row = -ROWS; row < 0; row++)
    if (row_shown (asked, row))
      most =
        MAX (most, asked->relief_deg -
                     ws_degrees (ws_centre_height_turn (asked->diameter, row_error (asked, row))));
  printf ("\nEffective relief, 0 at the bar, %.1f deg at the right end\n", most);
  for (int row = ROWS; row >= -ROWS; row--)
  {
    if (!row_shown (asked, row))
      continue;
    const double error = row_error (asked, row);
    const double relief =
      asked->relief_deg - ws_degrees (ws_centre_height_turn (asked->diameter, error));
    const int length = (int)lround (MAX (relief, 0) / most * PLOT_CHARS);
    printf ("%9.3f |%.*s%s\n", error, length, "########################################",
            relief <= 0 ? " rubs" : "");
  }
}

static void
print_meaning (const CentreHeight *asked)
{
  const double turn = ws_degrees (ws_centre_height_turn (asked->diameter, asked->error));
  printf ("Turning outside, work of %g mm, edge %g mm %s centre.\n", asked->diameter,
          fabs (asked->error), asked->error < 0 ? "below" : "above");
  printf ("The angles turn by asin (2 h / D) = %.3f deg.\n\n", turn);
  printf ("  rake    %.3f deg as ground, %.3f deg as it cuts\n", asked->rake_deg,
          asked->rake_deg + turn);
  printf ("  relief  %.3f deg as ground, %.3f deg as it cuts\n", asked->relief_deg,
          asked->relief_deg - turn);
}

static void
print_advice (const CentreHeight *asked)
{
  printf ("\nWhich way is which\n"
          "  - Above centre: more rake, less relief; the flank rubs first.\n"
          "  - Below centre: less rake, more relief; the work tends to climb over the tool.\n"
          "  - Boring is the other way round.\n"
          "  - The smaller the work, the more an error turns: a cutoff blade meets its worst\n"
          "    just before the part drops.\n");
  const double rubs = ws_centre_height_rubs_below (asked->error, ws_radians (asked->relief_deg));
  if (rubs > 0)
    printf ("  - So high above centre, this relief is used up at %.3f mm: below that it rubs.\n",
            rubs);
  printf ("\nTake care\n"
          "  - Lock the machine out and let everything come to rest before you touch tool or\n"
          "    work; follow your shop's rules.\n"
          "  - Edges cut: wear what your shop's rules ask for when you set a tool.\n");
}

int
ws_verb_explain (char ***arguments)
{
  CentreHeight asked = { .relief_deg = 10 };
  GError *error = NULL;
  if (!parse (arguments, &asked, &error))
    return ws_fail (error);
  print_meaning (&asked);
  print_table (&asked);
  print_plot (&asked);
  print_advice (&asked);
  return WS_EXIT_ACCEPT;
}
