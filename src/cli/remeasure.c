/*
 * Verb `remeasure`: archived pictures measured again, results beside the ones before.
 */
#include <stdio.h>
#include <string.h>

#include <whetsight/whetsight.h>

#include "archive/notes.h"
#include "base/language.h"
#include "base/told_text.h"
#include "cli/again.h"
#include "cli/archive.h"
#include "cli/progress.h"
#include "cli/say.h"
#include "cli/verbs.h"

/* Prepared at once: enough to keep workers busy, few enough to see soon what others did. */
#define AT_ONCE 64

#define MOST_SHARDS 100000

/* Of remeasure; errors are worse. */
#define EXIT_LACKING 1

typedef struct
{
  char *archive, *cards, *calibrations, *shard, *reason, *name;
  gboolean dry;
  int jobs;
  WsFilterOptions filter;
} Options;

typedef struct
{
  const Options *options;
  WsArchive *archive;
  WsAgainShelf *shelf;
  const char *reason, *name;
  guint shard, n_shards; /* 0 to n_shards - 1 */
  GPtrArray *ids;        /* of char *: those of the shard */
  GPtrArray *prepared;   /* of WsAgain */
  GHashTable *lacking;   /* what lacks -> of how many */
  guint n_new, n_done, n_changed, n_lacking, n_wrong, n_inexact;
  WsProgress progress;
  int status; /* of what was told */
} Remeasuring;

static void
remeasuring_clear (Remeasuring *run)
{
  g_clear_pointer (&run->ids, g_ptr_array_unref);
  g_clear_pointer (&run->prepared, g_ptr_array_unref);
  g_clear_pointer (&run->lacking, g_hash_table_unref);
  g_clear_pointer (&run->shelf, wsi_again_shelf_free);
  g_clear_pointer (&run->archive, ws_archive_free);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Remeasuring, remeasuring_clear)

/* ---- What is asked ------------------------------------------------------------------------ */

/* "3/8": from 1 on, as people count. */
static gboolean
read_shard (const char *text, Remeasuring *run, GError **error)
{
  char *end = NULL;
  guint64 i = 0, n = 0;
  run->n_shards = 1;
  if (text == NULL)
    return TRUE;
  if (g_ascii_isdigit (*text))
    i = g_ascii_strtoull (text, &end, 10);
  if (end != NULL && *end == '/' && g_ascii_isdigit (end[1]))
    n = g_ascii_strtoull (end + 1, &end, 10);
  if (i == 0 || i > n || n > MOST_SHARDS || *end != '\0')
    return wsi_refuse_usage (error, "--shard %s: expected which of how many, 1/8 to 8/8", text);
  run->shard = (guint)i - 1;
  run->n_shards = (guint)n;
  return TRUE;
}

/* A mistyped folder isn't made. */
static gboolean
open_archive (const Options *options, Remeasuring *run, GError **error)
{
  g_autoptr (WsArchive) there = ws_archive_open (options->archive, WS_ARCHIVE_READ, error);
  run->archive = there != NULL ? ws_archive_open (options->archive, WS_ARCHIVE_WRITE, error) : NULL;
  return run->archive != NULL;
}

static gboolean
prepare (const Options *options, char **words, Remeasuring *run, GError **error)
{
  run->options = options;
  run->reason = options->reason != NULL ? options->reason : "whetsight " WS_VERSION;
  run->name = options->name != NULL ? options->name : g_get_user_name ();
  run->ids = g_ptr_array_new_with_free_func (g_free);
  run->prepared = g_ptr_array_new_with_free_func ((GDestroyNotify)wsi_again_free);
  run->lacking = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL);
  if (options->archive == NULL || words[1] != NULL)
    return wsi_refuse_usage (error, "name the archive with --archive; see whetsight remeasure "
                                    "--help");
  const WsNoteWords words_of = { WS_NOTE_REMEASURED, run->name, run->reason, NULL };
  if (!read_shard (options->shard, run, error) || !wsi_notes_check_words (&words_of, error) ||
      !open_archive (options, run, error))
    return FALSE;
  run->shelf = wsi_again_shelf_new (run->archive, options->cards, options->calibrations, error);
  return run->shelf != NULL;
}

/* ---- Which -------------------------------------------------------------------------------- */

static gboolean
note_id (const WsInspection *inspection, gpointer data, GError **error)
{
  Remeasuring *run = data;
  (void)error;
  if (inspection->id != NULL && ws_shard_of (inspection->id, run->n_shards) == run->shard)
    g_ptr_array_add (run->ids, g_strdup (inspection->id));
  return TRUE;
}

/* Two that run one shard by mistake begin at different places, and each finds done what the other
 * did. */
static void
begin_anywhere (GPtrArray *ids)
{
  if (ids->len < 2)
    return;
  const guint from = (guint)g_random_int_range (0, (gint32)ids->len);
  g_autofree gpointer *turned = g_new (gpointer, ids->len);
  for (guint i = 0; i < ids->len; i++)
    turned[i] = ids->pdata[(from + i) % ids->len];
  memcpy (ids->pdata, turned, ids->len * sizeof *turned);
}

static gboolean
choose (Remeasuring *run, GError **error)
{
  WsArchiveFilter filter;
  if (!wsi_filter_options_read (&run->options->filter, &filter, error) ||
      !ws_archive_each (run->archive, &filter, FALSE, note_id, run, error))
    return FALSE;
  if (run->ids->len == 0 && run->n_shards == 1)
    wsi_filter_options_suggest (&run->options->filter, run->archive);
  begin_anywhere (run->ids);
  return TRUE;
}

/* ---- What is left out --------------------------------------------------------------------- */

static void
note_status (Remeasuring *run, int status)
{
  run->status = MAX (run->status, status);
}

static void
tell_wrong (Remeasuring *run, const char *id, const char *wrong)
{
  wsi_progress_clear (&run->progress);
  run->n_wrong++;
  note_status (run, wsi_archive_tell_wrong (run->archive, id, wrong));
}

/* Told once for all that lack it, at the end. */
static void
note_lacking (Remeasuring *run, const char *what)
{
  const guint n = GPOINTER_TO_UINT (g_hash_table_lookup (run->lacking, what));
  g_hash_table_insert (run->lacking, g_strdup (what), GUINT_TO_POINTER (n + 1));
  run->n_lacking++;
}

static void
tell_lacking (Remeasuring *run)
{
  GHashTableIter iter;
  gpointer what, n;
  g_hash_table_iter_init (&iter, run->lacking);
  while (g_hash_table_iter_next (&iter, &what, &n))
  {
    g_autofree char *told = wsi_told_text (what);
    wsi_say_aside ("whetsight: %u left out: %s\n", GPOINTER_TO_UINT (n), told);
  }
  if (run->n_inexact > 0)
    wsi_say_aside ("whetsight: %u by what their records tell, which isn't every digit of what they "
                   "were measured by\n",
                   run->n_inexact);
}

/* ---- Preparing ------------------------------------------------------------------------------ */

/* FALSE when the archive can't be read. */
static gboolean
prepare_one (Remeasuring *run, const char *id, GError **error)
{
  g_autoptr (GError) cause = NULL;
  g_autofree char *altered = NULL;
  g_autoptr (WsInspection) inspection = ws_archive_find (run->archive, id, error);
  if (inspection == NULL)
    return FALSE;
  if (inspection->wrong != NULL)
  {
    tell_wrong (run, id, inspection->wrong);
    return TRUE;
  }
  g_autoptr (WsAgain) again = wsi_again_new (run->shelf, inspection, &cause);
  if (again != NULL && ws_inspection_remeasured (inspection, again->settings, run->reason) != NULL)
    run->n_done++;
  else if (again == NULL || !wsi_again_expect_pictures (run->shelf, inspection, &cause))
    note_lacking (run, cause->message);
  else if (run->options->dry)
    run->n_new++;
  else if ((altered = ws_archive_check_pictures (run->archive, inspection)) != NULL)
    tell_wrong (run, id, altered);
  else
  {
    wsi_again_take_pictures (again, run->shelf, inspection);
    run->n_inexact += again->is_exact ? 0 : 1;
    g_ptr_array_add (run->prepared, g_steal_pointer (&again));
  }
  return TRUE;
}

static gboolean
prepare_some (Remeasuring *run, guint from, guint to, GError **error)
{
  g_ptr_array_set_size (run->prepared, 0);
  for (guint i = from; i < to; i++)
    if (!prepare_one (run, g_ptr_array_index (run->ids, i), error))
      return FALSE;
  return TRUE;
}

/* ---- Measuring ------------------------------------------------------------------------------ */

static void
tell_change (const WsAgain *again, const char *now)
{
  const char *no_limits = _ ("no limits");
  wsi_say ("%s  %-12s %-12s %s -> %s\n", again->id, again->tool != NULL ? again->tool : "-",
           again->job.view->name, again->was != NULL ? _ (again->was) : no_limits,
           now != NULL ? _ (now) : no_limits);
}

static gboolean
keep (Remeasuring *run, const WsAgain *again, const WsOutcome *outcome, GError **error)
{
  const char *now = ws_verdict_name (outcome->verdict);
  const WsRemeasured words = { outcome->record, again->settings, run->name, run->reason,
                               g_get_user_name () };
  gboolean added;
  if (outcome->error != NULL) /* the record of what is no picture says so */
    now = ws_verdict_name (WS_VERDICT_RETAKE);
  if (!ws_archive_add_remeasured (run->archive, again->id, &words, &added, error))
    return FALSE;
  run->n_new += added ? 1 : 0;
  run->n_done += added ? 0 : 1;
  if (!added || g_strcmp0 (again->was, now) == 0)
    return TRUE;
  run->n_changed++;
  wsi_progress_clear (&run->progress);
  tell_change (again, now);
  return TRUE;
}

/* FALSE when the archive can't be written. */
static gboolean
deliver (Remeasuring *run, const WsAgain *again, WsOutcome *outcome)
{
  GError *error = NULL;
  /* What was a picture still is one: a decoder that breaks off for want of memory or time says
   * nothing of the tool. */
  if (outcome->record == NULL || (outcome->error != NULL && !again->was_no_picture))
  {
    note_lacking (run, outcome->error->message);
    return TRUE;
  }
  if (keep (run, again, outcome, &error))
    return TRUE;
  if (g_error_matches (error, WS_ERROR, WS_ERROR_DATA))
  {
    tell_wrong (run, again->id, error->message);
    g_error_free (error);
    return TRUE;
  }
  wsi_progress_clear (&run->progress);
  note_status (run, wsi_fail (error));
  return FALSE;
}

typedef struct
{
  Remeasuring *run;
  GPtrArray *again; /* of WsAgain, borrowed */
  guint done;       /* before these */
} Batch;

static gboolean
deliver_next (guint i, WsOutcome *outcome, gpointer data)
{
  const Batch *batch = data;
  const gboolean kept = deliver (batch->run, g_ptr_array_index (batch->again, i), outcome);
  wsi_progress_show (&batch->run->progress, batch->done + i + 1);
  return kept;
}

static gboolean
measure_singles (Remeasuring *run, GPtrArray *singles, guint done)
{
  g_autoptr (GPtrArray) paths = g_ptr_array_new ();
  g_autofree const WsJob **jobs = g_new (const WsJob *, singles->len + 1);
  Batch batch = { run, singles, done };
  for (guint i = 0; i < singles->len; i++)
  {
    const WsAgain *again = g_ptr_array_index (singles, i);
    jobs[i] = &again->job;
    g_ptr_array_add (paths, again->paths[0]);
  }
  g_ptr_array_add (paths, NULL);
  return singles->len == 0 || ws_batch_run_each (jobs, (char *const *)(void *)paths->pdata,
                                                 (guint)run->options->jobs, deliver_next, &batch);
}

static gboolean
measure_prepared (Remeasuring *run, guint done)
{
  g_autoptr (GPtrArray) singles = g_ptr_array_new ();
  for (guint i = 0; i < run->prepared->len; i++)
  {
    const WsAgain *again = g_ptr_array_index (run->prepared, i);
    if (!again->is_series)
    {
      g_ptr_array_add (singles, (gpointer)again);
      continue;
    }
    g_autoptr (WsOutcome) outcome = ws_job_measure_series (&again->job, again->paths);
    if (!deliver (run, again, outcome))
      return FALSE;
  }
  return measure_singles (run, singles, done);
}

static void
drop_pictures (Remeasuring *run)
{
  for (guint i = 0; i < run->prepared->len; i++)
    wsi_again_drop_pictures (g_ptr_array_index (run->prepared, i), run->shelf);
}

static gboolean
measure_all (Remeasuring *run, GError **error)
{
  wsi_progress_start (&run->progress, _ ("measured"), "", run->ids->len);
  for (guint from = 0; from < run->ids->len; from += AT_ONCE)
  {
    const guint to = MIN (from + AT_ONCE, run->ids->len);
    if (!prepare_some (run, from, to, error))
      return FALSE;
    const gboolean kept = measure_prepared (run, from);
    drop_pictures (run);
    if (!kept)
      break;
    wsi_progress_show (&run->progress, to);
  }
  wsi_progress_clear (&run->progress);
  return TRUE;
}

static void
summarize (const Remeasuring *run)
{
  if (run->options->dry)
    wsi_say ("%u would be measured again, %u are already", run->n_new, run->n_done);
  else
    wsi_say ("%u measured again, %u were already; verdicts changed: %u", run->n_new, run->n_done,
             run->n_changed);
  if (run->n_lacking + run->n_wrong > 0)
    wsi_say ("; left out: %u", run->n_lacking + run->n_wrong);
  wsi_say ("\n");
}

static int
remeasure (gpointer data, char **words)
{
  g_auto (Remeasuring) run = { 0 };
  GError *error = NULL;
  if (!prepare (data, words, &run, &error) || !choose (&run, &error) || !measure_all (&run, &error))
    return wsi_fail (error);
  tell_lacking (&run);
  summarize (&run);
  return run.n_lacking > 0 ? MAX (run.status, EXIT_LACKING) : run.status;
}

static const WsOptionCheck is_jobs = { .phrase = "expected a number above 0", .most = G_MAXINT };

static const WsOption options[] = {
  { WS_OPTION_FILE, "archive", 'a', G_STRUCT_OFFSET (Options, archive), "DIR", "The archive",
    NULL },
  { WS_OPTION_TEXT, "shard", 0, G_STRUCT_OFFSET (Options, shard), "I/N",
    "Only those that belong to part I of N; each belongs to one part for good", NULL },
  { WS_OPTION_TEXT, "reason", 0, G_STRUCT_OFFSET (Options, reason), "TEXT",
    "Why, by default the program's version; what was measured again for it isn't once more", NULL },
  { WS_OPTION_TEXT, "as", 0, G_STRUCT_OFFSET (Options, name), "NAME",
    "Who has it measured again, by default who is logged in", NULL },
  { WS_OPTION_FILE, "cards", 0, G_STRUCT_OFFSET (Options, cards), "PATH",
    "The tool card to measure by, or a folder of cards (NAME.tool); by default each tool's newest "
    "that the archive holds",
    NULL },
  { WS_OPTION_FILE, "calibs", 0, G_STRUCT_OFFSET (Options, calibrations), "PATH",
    "The calibration that pictures were measured by, or a folder of them (NAME.calib)", NULL },
  { WS_OPTION_COUNT, "jobs", 0, G_STRUCT_OFFSET (Options, jobs), "N",
    "Measure N pictures at once, by default as many as there are processors", &is_jobs },
  { WS_OPTION_FLAG, "dry-run", 0, G_STRUCT_OFFSET (Options, dry), NULL,
    "Only say how many would be measured, and what lacks", NULL },
  WS_OPTIONS_END
};

const WsCommand wsi_verb_remeasure = {
  .name = "remeasure",
  .summary = "measure an archive's pictures again, by new limits or a new program",
  .about = "Measures pictures of an archive again, those that the options choose: by the program "
           "as it is now, and\ntool cards as they are now.  What comes of it is added beside the "
           "result before, with the reason;\nwhetsight archive compare tells what changed.  Ended "
           "in between, the same call goes on.",
  .exits = "Exit status: 0 all is measured again, 1 something was left out since something lacks; "
           "64 wrong\ncall, 65 something isn't as it was written, 66 no archive, 73 can't write.",
  .groups = { { options, 0 }, { wsi_filter_options, G_STRUCT_OFFSET (Options, filter) } },
  .size = sizeof (Options),
  .run = remeasure,
};
