/*
 * `explain centre-height`: what a tool off centre does to its angles, without a picture.
 */
#include <math.h>
#include <stdio.h>

#include <whetsight/error.h>

#include "base/geometry.h"
#include "base/language.h"
#include "base/size.h"
#include "cli/config.h"
#include "cli/explain.h"
#include "cli/fail.h"
#include "tool/centre_height.h"

/* Rows of the table on either side of centre. */
#define ROWS 5

/* Front relief where none is given (common practice, no source). */
#define USUAL_RELIEF_DEG 10.0

/* Width of the plot's bars. */
#define PLOT_CHARS 40

typedef struct
{
  double diameter, error; /* mm */
  double rake_deg, relief_deg;
  char *units_word;
  WsUnits units;
} CentreHeight;

/* A length in the unit of tables, inches where nothing but inches is wanted. */
static double
in_table (const CentreHeight *asked, double mm)
{
  return asked->units == WS_UNITS_IN ? mm / WS_MM_PER_INCH : mm;
}

/* "0.254 mm", "0.01 in", "0.254 mm (0.01 in)".  Free with g_free(). */
static char *
length_words (const CentreHeight *asked, double mm)
{
  if (asked->units == WS_UNITS_BOTH)
    return g_strdup_printf ("%g mm (%.5g in)", mm, mm / WS_MM_PER_INCH);
  return asked->units == WS_UNITS_IN ? g_strdup_printf ("%.5g in", mm / WS_MM_PER_INCH)
                                     : g_strdup_printf ("%g mm", mm);
}

static gboolean
check (const CentreHeight *asked, GError **error)
{
  if (isnan (asked->diameter) || isnan (asked->error))
    return wsi_refuse_usage (error,
                             "centre-height needs --diameter and --error, both in millimetres");
  if (2 * fabs (asked->error) < asked->diameter)
    return TRUE;
  return wsi_refuse_usage (error,
                           "--error: an edge %g mm off centre misses work of %g mm; give less than "
                           "half of the diameter",
                           asked->error, asked->diameter);
}

/* Less effective relief than this soon rubs when the edge wears (common practice, no source). */
#define LITTLE_RELIEF_DEG 3.0

static const char *
remark (double relief_deg)
{
  if (relief_deg <= 0)
    return _ ("rubs, does not cut");
  return relief_deg < LITTLE_RELIEF_DEG ? _ ("hardly any relief left") : "";
}

static void
print_row (const CentreHeight *asked, double error)
{
  const double turn = wsi_degrees (wsi_centre_height_turn (asked->diameter, error));
  const double rake = asked->rake_deg + turn, relief = asked->relief_deg - turn;
  const char *mark = fabs (error - asked->error) < 1e-12 ? "->" : "  ";
  printf ("%s %9.*f  %9.3f  %9.3f  %9.3f  %s\n", mark, asked->units == WS_UNITS_IN ? 5 : 3,
          in_table (asked, error), turn, rake, relief, remark (relief));
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
  printf (_ ("\n     error %s   turn deg   rake deg  relief deg\n"),
          asked->units == WS_UNITS_IN ? "in" : "mm");
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
      most = MAX (most, asked->relief_deg - wsi_degrees (wsi_centre_height_turn (
                                              asked->diameter, row_error (asked, row))));
  printf (_ ("\nEffective relief, 0 at the bar, %.1f deg at the right end\n"), most);
  for (int row = ROWS; row >= -ROWS; row--)
  {
    if (!row_shown (asked, row))
      continue;
    const double error = row_error (asked, row);
    const double relief =
      asked->relief_deg - wsi_degrees (wsi_centre_height_turn (asked->diameter, error));
    const int length = (int)lround (MAX (relief, 0) / most * PLOT_CHARS);
    printf ("%9.*f |%.*s%s\n", asked->units == WS_UNITS_IN ? 5 : 3, in_table (asked, error), length,
            "########################################", relief <= 0 ? _ (" rubs") : "");
  }
}

static void
print_meaning (const CentreHeight *asked)
{
  const double turn = wsi_degrees (wsi_centre_height_turn (asked->diameter, asked->error));
  g_autofree char *work = length_words (asked, asked->diameter);
  g_autofree char *height = length_words (asked, fabs (asked->error));
  printf (_ ("Turning outside, work diameter %s, edge %s %s centre.\n"), work, height,
          asked->error < 0 ? _ ("below") : _ ("above"));
  printf (_ ("The angles turn by asin (2 h / D) = %.3f deg.\n\n"), turn);
  printf (_ ("  rake    %.3f deg as ground, %.3f deg as it cuts\n"), asked->rake_deg,
          asked->rake_deg + turn);
  printf (_ ("  relief  %.3f deg as ground, %.3f deg as it cuts\n"), asked->relief_deg,
          asked->relief_deg - turn);
}

static void
print_advice (const CentreHeight *asked)
{
  printf (
    _ ("\nWhich way is which\n"
       "  - Above centre: more rake, less relief; the flank rubs first.\n"
       "  - Below centre: less rake, more relief; the work tends to climb over the tool.\n"
       "  - Boring is the other way round.\n"
       "  - The smaller the work diameter, the more an error turns: a cutoff blade meets its\n"
       "    worst just before the part drops.\n"));
  if (fabs (asked->error) > 0.0)
  {
    g_autofree char *pip = length_words (asked, 2.0 * fabs (asked->error));
    printf (_ ("  - A cutoff blade this far off centre leaves a pip of 2 h = %s in diameter.\n"),
            pip);
  }
  const double rubs = wsi_centre_height_rubs_below (asked->error, wsi_radians (asked->relief_deg));
  if (rubs > 0)
  {
    g_autofree char *from = length_words (asked, rubs);
    printf (_ ("  - So high above centre, this relief is used up at %s: below that it rubs.\n"),
            from);
  }
  printf (_ ("\nTake care\n"
             "  - Local safety rules and trained people come first.\n"
             "  - Lock the machine out and let everything come to rest before you touch tool or\n"
             "    work; follow your shop's rules.\n"
             "  - Edges cut: wear what your shop's rules ask for when you set a tool.\n"));
}

static int
explain (gpointer data, char **words)
{
  CentreHeight *asked = data;
  GError *error = NULL;
  (void)words;
  if (!check (asked, &error) ||
      !wsi_config_units (asked->units_word, WS_UNITS_MM, &asked->units, &error))
    return wsi_fail (error);
  asked->rake_deg = wsi_option_number (asked->rake_deg, 0);
  asked->relief_deg = wsi_option_number (asked->relief_deg, USUAL_RELIEF_DEG);
  print_meaning (asked);
  print_table (asked);
  print_plot (asked);
  print_advice (asked);
  return WS_EXIT_ACCEPT;
}

static const WsOptionCheck is_diameter = {
  .phrase = "expected millimetres above 0, at most 10000, with a decimal point",
  .least = 1e-3,
  .most = 1e4
};
static const WsOptionCheck is_height = { .phrase = "expected millimetres with a decimal point",
                                         .least = -1e4,
                                         .most = 1e4 };
static const WsOptionCheck is_rake = { .phrase = "expected degrees, -45 to 60",
                                       .least = -45,
                                       .most = 60 };
static const WsOptionCheck is_relief = { .phrase = "expected degrees, 0.1 to 60",
                                         .least = 0.1,
                                         .most = 60 };

static const WsOption options[] = {
  { WS_OPTION_LENGTH, "diameter", 'd', G_STRUCT_OFFSET (CentreHeight, diameter), "MM",
    "Work diameter at the edge", &is_diameter },
  { WS_OPTION_LENGTH, "error", 'e', G_STRUCT_OFFSET (CentreHeight, error), "MM",
    "Height of the edge above centre; below centre negative", &is_height },
  { WS_OPTION_NUMBER, "rake", 0, G_STRUCT_OFFSET (CentreHeight, rake_deg), "DEG",
    "Top rake as ground, 0 by default", &is_rake },
  { WS_OPTION_NUMBER, "relief", 0, G_STRUCT_OFFSET (CentreHeight, relief_deg), "DEG",
    "Front relief as ground, 10 by default", &is_relief },
  { WS_OPTION_WORD, "units", 'u', G_STRUCT_OFFSET (CentreHeight, units_word), "UNITS",
    "mm, in or both; by default as whetsight.conf says, else mm", &wsi_check_units },
  WS_OPTIONS_END
};

const WsCommand wsi_explain_centre_height = {
  .name = "centre-height",
  .summary = "what a tool off centre height does to its angles",
  .about = "Says what a tool off centre height does to its effective rake and relief.",
  .groups = { { options, 0 } },
  .size = sizeof (CentreHeight),
  .run = explain,
};
