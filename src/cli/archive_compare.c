/*
 * What measuring again changed.
 */
#include <math.h>
#include <stdlib.h>

#include <jansson.h>
#include <whetsight/whetsight.h>

#include "base/language.h"
#include "cli/archive.h"
#include "cli/fail.h"
#include "cli/say.h"

/* Of compare. */
enum
{
  EXIT_AS_BEFORE = 0,
  EXIT_CHANGED = 1
};

typedef struct
{
  char *reason;
  gboolean json;
  WsFilterOptions filter;
} Options;

typedef struct
{
  const WsArchive *archive;
  int status;
} Telling;

static void
tell_wrong (const char *id, const char *wrong, gpointer data)
{
  Telling *telling = data;
  telling->status = wsi_archive_tell_wrong (telling->archive, id, wrong);
}

/* ---- For programs ------------------------------------------------------------------------- */

static json_t *
number (double value)
{
  return isfinite (value) ? json_real (value) : json_null ();
}

static json_t *
flips_of (const WsComparison *comparison)
{
  json_t *flips = json_array ();
  for (guint i = 0; i < comparison->flips->len; i++)
  {
    const WsFlip *flip = g_ptr_array_index (comparison->flips, i);
    json_array_append_new (flips, json_pack ("{s:s, s:s?, s:s, s:s?, s:s?, s:s}", "id", flip->id,
                                             "tool", flip->tool, "view", flip->view, "was",
                                             flip->was, "now", flip->now, "reason", flip->reason));
  }
  return flips;
}

static json_t *
shifts_of (const WsComparison *comparison)
{
  json_t *shifts = json_object ();
  for (guint i = 0; i < comparison->shifts->len; i++)
  {
    const WsShift *shift = g_ptr_array_index (comparison->shifts, i);
    json_object_set_new (
      shifts, shift->quantity,
      json_pack ("{s:i, s:o, s:o, s:o, s:o, s:s?, s:i, s:o, s:i, s:i}", "n", (int)shift->n,
                 "median", number (shift->median), "rms", number (shift->rms), "percentile_95",
                 number (shift->percentile_95), "largest", number (shift->largest), "largest_id",
                 shift->largest_id, "beyond_U", (int)shift->n_beyond, "median_U_ratio",
                 number (shift->median_U), "lost", (int)shift->n_lost, "gained",
                 (int)shift->n_gained));
  }
  return shifts;
}

static void
say_json (const WsComparison *comparison)
{
  json_t *all = json_pack (
    "{s:I, s:I, s:I, s:o, s:o}", "inspections", (json_int_t)comparison->n_inspections,
    "measured_again", (json_int_t)comparison->n_again, "left_out", (json_int_t)comparison->n_wrong,
    "changed", flips_of (comparison), "quantities", shifts_of (comparison));
  char *text = json_dumps (all, JSON_COMPACT | JSON_REAL_PRECISION (6));
  wsi_say_json (text);
  free (text);
  json_decref (all);
}

/* ---- For people ------------------------------------------------------------------------------ */

static void
say_flips (const WsComparison *comparison)
{
  const char *no_limits = _ ("no limits");
  for (guint i = 0; i < comparison->flips->len; i++)
  {
    const WsFlip *flip = g_ptr_array_index (comparison->flips, i);
    wsi_say ("%s  %-12s %-12s %s -> %s  (%s)\n", flip->id, flip->tool != NULL ? flip->tool : "-",
             flip->view, flip->was != NULL ? _ (flip->was) : no_limits,
             flip->now != NULL ? _ (flip->now) : no_limits, flip->reason);
  }
}

static void
say_shift (const WsShift *shift)
{
  if (shift->n > 0)
    wsi_say ("%-30s %7u %+8.2f %7.2f %7.2f %+8.2f %7u %7.2f", shift->quantity, shift->n,
             shift->median, shift->rms, shift->percentile_95, shift->largest, shift->n_beyond,
             shift->median_U);
  else
    wsi_say ("%-30s %7u %8s %7s %7s %8s %7u %7s", shift->quantity, 0U, "-", "-", "-", "-", 0U, "-");
  if (shift->n_lost > 0)
    wsi_say (_ ("  %u without a value now"), shift->n_lost);
  if (shift->n_gained > 0)
    wsi_say (_ ("  %u with a value for the first time"), shift->n_gained);
  wsi_say ("\n");
}

/* Less is written as 0.00. */
#define LEAST_SAID 0.005

static gboolean
has_moved (const WsShift *shift)
{
  return fabs (shift->largest) >= LEAST_SAID || fabs (shift->median_U - 1) >= LEAST_SAID ||
         shift->n_lost > 0 || shift->n_gained > 0;
}

static void
say_shifts (const WsComparison *comparison)
{
  guint n_still = 0;
  for (guint i = 0; i < comparison->shifts->len; i++)
    n_still += has_moved (g_ptr_array_index (comparison->shifts, i)) ? 0 : 1;
  if (n_still < comparison->shifts->len)
  {
    wsi_say ("\nBy how much values moved, in units of the U that was stated before\n");
    wsi_say ("%-30s %7s %8s %7s %7s %8s %7s %7s\n", _ ("quantity"), "n", _ ("median"), _ ("rms"),
             "95 %", _ ("largest"), "> U", _ ("new U"));
  }
  for (guint i = 0; i < comparison->shifts->len; i++)
    if (has_moved (g_ptr_array_index (comparison->shifts, i)))
      say_shift (g_ptr_array_index (comparison->shifts, i));
  if (n_still > 0)
    wsi_say ("%u quantities moved by less than 0.005 U.\n", n_still);
}

static void
say_words (const WsComparison *comparison)
{
  const guint n = (guint)comparison->n_again;
  wsi_say ("%u inspections, %u of them measured again; verdicts changed: %u\n",
           (guint)comparison->n_inspections, n, comparison->flips->len);
  say_flips (comparison);
  say_shifts (comparison);
}

static int
compare (gpointer data, char **words)
{
  const Options *options = data;
  GError *error = NULL;
  WsArchiveFilter filter;
  if (!wsi_filter_options_read (&options->filter, &filter, &error))
    return wsi_fail (error);
  g_autoptr (WsArchive) archive =
    wsi_archive_command_open (words, 0, _ ("one folder"), WS_ARCHIVE_READ, &error);
  Telling telling = { archive, EXIT_AS_BEFORE };
  g_autoptr (WsComparison) comparison =
    archive != NULL
      ? ws_archive_compare (archive, &filter, options->reason, tell_wrong, &telling, &error)
      : NULL;
  if (comparison == NULL)
    return wsi_fail (error);
  if (options->json)
    say_json (comparison);
  else
    say_words (comparison);
  if (comparison->n_inspections == 0)
    wsi_filter_options_suggest (&options->filter, archive);
  return telling.status == EXIT_AS_BEFORE && comparison->flips->len > 0 ? EXIT_CHANGED
                                                                        : telling.status;
}

static const WsOption options[] = {
  { WS_OPTION_TEXT, "reason", 0, G_STRUCT_OFFSET (Options, reason), "TEXT",
    "What was measured again for that reason; by default the newest result of each", NULL },
  { WS_OPTION_FLAG, "json", 'j', G_STRUCT_OFFSET (Options, json), NULL, "As one line of JSON",
    NULL },
  WS_OPTIONS_END
};

const WsCommand wsi_archive_compare = {
  .name = "compare",
  .summary = "tell what measuring again changed: verdicts, and how far values moved",
  .arguments = "DIR",
  .about = "Holds inspections against what came of measuring their pictures again (whetsight "
           "remeasure): verdicts\nthat changed, and for each quantity the differences, new less "
           "old, in units of the U stated before:\nmedian, root mean square, what 95 of 100 stay "
           "below, the largest, and how many are larger than U.",
  .exits = "Exit status: 0 all verdicts are as before, 1 some changed; 64 wrong call, 65 something "
           "isn't as it\nwas written, 66 no archive.",
  .groups = { { options, 0 }, { wsi_filter_options, G_STRUCT_OFFSET (Options, filter) } },
  .size = sizeof (Options),
  .run = compare,
};
