/*
 * Verb `plant`: what many benches and grinders did.
 */
#include <math.h>
#include <string.h>

#include <whetsight/whetsight.h>

#include "base/language.h"
#include "cli/archive.h"
#include "cli/say.h"
#include "cli/verbs.h"
#include "report/plant.h"

enum
{
  EXIT_NOTHING = 0,
  EXIT_STANDS_OUT = 1,
  EXIT_CANT_TELL = 2
};

/* What isn't as it was written says more than what stands out. */
static int
tell_wrong (const WsArchive *archive, const WsPlantLeft *left, int status)
{
  if (left->wrong->len == 0)
    return status;
  return wsi_fail (g_error_new (WS_ERROR, WS_ERROR_DATA,
                                "archive %s: %u inspections left out, not as they were written; "
                                "whetsight archive verify tells more",
                                ws_archive_folder (archive), left->wrong->len));
}

static gboolean
print (char *text, gboolean json)
{
  const gboolean done = json ? wsi_say_json (text) : wsi_say ("%s", text);
  g_free (text);
  return done;
}

/* ---- Benches --------------------------------------------------------------------------------- */

typedef struct
{
  char *archive, *card;
  double reference, u_reference;
  gboolean json;
  WsFilterOptions filter;
} BenchOptions;

static gboolean
check_benches (const BenchOptions *options, char **words, GError **error)
{
  const WsFilterOptions *filter = &options->filter;
  const gboolean has_reference = !isnan (options->reference);
  if (options->archive == NULL || words[1] != NULL)
    return wsi_refuse_usage (error, "name the archive with --archive; see whetsight plant benches "
                                    "--help");
  if ((options->card != NULL) == (filter->tool != NULL))
    return wsi_refuse_usage (error, "name the master tool, either by its --card or by --tool");
  if (filter->tool != NULL && strpbrk (filter->tool, "*?") != NULL)
    return wsi_refuse_usage (error, "--tool %s: several tools are none to compare benches by",
                             filter->tool);
  if (has_reference != !isnan (options->u_reference))
    return wsi_refuse_usage (error, "--reference and --reference-u belong together");
  if (has_reference && (filter->quantity == NULL || options->card != NULL))
    return wsi_refuse_usage (error, "--reference is of one --quantity, and in place of a --card");
  return TRUE;
}

/* A card of what was typed. */
static WsToolCard *
card_of (const BenchOptions *options, GError **error)
{
  if (options->card != NULL)
  {
    g_autoptr (WsToolCard) card = ws_tool_card_load (options->card, error);
    if (card != NULL && !card->is_master)
    {
      wsi_refuse (error, WS_ERROR_DATA,
                  "%s: no master tool's card: it lacks the group [master]; name the tool with "
                  "--tool if it is one",
                  options->card);
      return NULL;
    }
    return g_steal_pointer (&card);
  }
  WsToolCard *card = ws_tool_card_new (WS_KIND_TWIST_DRILL);
  card->id = g_strdup (options->filter.tool);
  const WsMasterValue master = { g_strdup (options->filter.quantity), options->reference,
                                 options->u_reference };
  if (isnan (options->reference))
    g_free (master.quantity);
  else
    g_array_append_val (card->masters, master);
  return card;
}

static int
benches_status (const WsPlantBenches *benches)
{
  gboolean known = FALSE;
  for (guint i = 0; i < benches->quantities->len; i++)
  {
    const WsPlantQuantity *of = g_ptr_array_index (benches->quantities, i);
    known = known || of->has_biases;
    for (gsize k = 0; k < of->gauges.n; k++)
      if (wsi_gauge_is_apart (&of->gauges.gauges[k]) ||
          wsi_gauge_drifts_far (&of->gauges.gauges[k]))
        return EXIT_STANDS_OUT;
  }
  return known ? EXIT_NOTHING : EXIT_CANT_TELL;
}

static int
benches (gpointer data, char **words)
{
  const BenchOptions *options = data;
  GError *error = NULL;
  WsArchiveFilter filter;
  g_autoptr (WsArchive) archive = NULL;
  g_autoptr (WsToolCard) card = NULL;
  g_autoptr (WsPlantBenches) found = NULL;
  if (!check_benches (options, words, &error) || (card = card_of (options, &error)) == NULL ||
      !wsi_filter_options_read (&options->filter, &filter, &error))
    return wsi_fail (error);
  filter.tool = card->id;
  archive = ws_archive_open (options->archive, WS_ARCHIVE_READ, &error);
  found = archive != NULL ? wsi_plant_benches (archive, &filter, card, &error) : NULL;
  if (found == NULL)
    return wsi_fail (error);
  if (found->n == 0 && found->left.wrong->len == 0)
  {
    wsi_filter_options_suggest (&options->filter, archive);
    wsi_refuse (&error, WS_ERROR_NO_INPUT,
                "archive %s: no inspections of %s that say at which station; whetsight archive "
                "list shows what is there",
                options->archive, card->id);
    return wsi_fail (error);
  }
  print (options->json ? wsi_plant_benches_json (found) : wsi_plant_benches_text (found),
         options->json);
  return tell_wrong (archive, &found->left, benches_status (found));
}

static const WsOption bench_options[] = {
  { WS_OPTION_FILE, "archive", 'a', G_STRUCT_OFFSET (BenchOptions, archive), "DIR", "The archive",
    NULL },
  { WS_OPTION_FILE, "card", 'c', G_STRUCT_OFFSET (BenchOptions, card), "FILE",
    "The master tool's card, with what is known of it in its group [master]", NULL },
  { WS_OPTION_NUMBER, "reference", 0, G_STRUCT_OFFSET (BenchOptions, reference), "VALUE",
    "Without a card: what the --quantity of the --tool is known to be", &wsi_check_number },
  { WS_OPTION_NUMBER, "reference-u", 0, G_STRUCT_OFFSET (BenchOptions, u_reference), "U",
    "and its U, k = 2", &wsi_check_above_zero },
  { WS_OPTION_FLAG, "json", 'j', G_STRUCT_OFFSET (BenchOptions, json), NULL,
    "Print JSON instead of text", NULL },
  WS_OPTIONS_END
};

static const WsCommand verb_benches = {
  .name = "benches",
  .summary = "compare benches by a master tool that all of them measure",
  .about = "Compares benches (stations) by a master tool that each of them measures every week: "
           "bias against\nits reference or the weighted mean of all, spread, U, E_n of each and "
           "of pairs, and who drifts.",
  .exits = "Exit status: 0 all agree, 1 a bench stands apart or drifts, 2 there is nothing to "
           "compare with; 64 wrong\ncall, 65 something isn't as it was written, 66 no such "
           "inspections.",
  .groups = { { bench_options, 0 },
              { wsi_filter_options, G_STRUCT_OFFSET (BenchOptions, filter) } },
  .size = sizeof (BenchOptions),
  .run = benches,
};

/* ---- Lives ----------------------------------------------------------------------------------- */

typedef struct
{
  char *archive, *by;
  gboolean json;
  WsFilterOptions filter;
} LifeOptions;

static const char *
by_word (guint i)
{
  static const char *const words[] = { "grinder", "station", "kind", NULL };
  return words[i];
}

static const WsOptionCheck is_by = { .word = by_word };

static int
lives_status (const WsPlantLives *lives)
{
  for (guint i = 0; i < lives->groups->len; i++)
    if (wsi_plant_ends_early (lives, g_ptr_array_index (lives->groups, i)))
      return EXIT_STANDS_OUT;
  return lives->groups->len > 0 ? EXIT_NOTHING : EXIT_CANT_TELL;
}

static int
lives (gpointer data, char **words)
{
  const LifeOptions *options = data;
  GError *error = NULL;
  WsArchiveFilter filter;
  g_autoptr (WsArchive) archive = NULL;
  g_autoptr (WsPlantLives) found = NULL;
  if (options->archive == NULL || words[1] != NULL)
  {
    wsi_refuse_usage (&error, "name the archive with --archive; see whetsight plant lives --help");
    return wsi_fail (error);
  }
  const guint by = wsi_option_word_index (&is_by, options->by, WS_PLANT_BY_GRINDER);
  if (!wsi_filter_options_read (&options->filter, &filter, &error) ||
      (archive = ws_archive_open (options->archive, WS_ARCHIVE_READ, &error)) == NULL ||
      (found = wsi_plant_lives (archive, &filter, (WsPlantBy)by, &error)) == NULL)
    return wsi_fail (error);
  print (options->json ? wsi_plant_lives_json (found) : wsi_plant_lives_text (found),
         options->json);
  return tell_wrong (archive, &found->left, lives_status (found));
}

static const WsOption life_options[] = {
  { WS_OPTION_FILE, "archive", 'a', G_STRUCT_OFFSET (LifeOptions, archive), "DIR", "The archive",
    NULL },
  { WS_OPTION_WORD, "by", 'b', G_STRUCT_OFFSET (LifeOptions, by), "WHAT",
    "Compare grinders (who or what ground the edge), stations or kinds: grinder, station or kind",
    &is_by },
  { WS_OPTION_FLAG, "json", 'j', G_STRUCT_OFFSET (LifeOptions, json), NULL,
    "Print JSON instead of text", NULL },
  WS_OPTIONS_END
};

static const WsCommand verb_lives = {
  .name = "lives",
  .summary = "tell how long edges last between regrinds, and whose end early",
  .about = "Tells how long ground edges last until their first reject, per grinder, station or "
           "kind of tool, and\nwhose end earlier than the others'.",
  .exits =
    "Exit status: 0 none ends early, 1 some do, 2 there are no edges whose regrind is known; "
    "64 wrong call, 65\nsomething isn't as it was written.",
  .groups = { { life_options, 0 }, { wsi_filter_options, G_STRUCT_OFFSET (LifeOptions, filter) } },
  .size = sizeof (LifeOptions),
  .run = lives,
};

/* ---- The verb -------------------------------------------------------------------------------- */

static const WsCommand *const commands[] = { &verb_benches, &verb_lives, NULL };

const WsCommand wsi_verb_plant = {
  .name = "plant",
  .summary = "compare benches and grinders",
  .about = "Compares what many benches measured of one master tool, and how long edges lasted that "
           "many ground.",
  .choice = "command",
  .commands = commands,
};
