#include "cli/deliver.h"

#include <stdio.h>
#include <string.h>

#include <whetsight/error.h>

#include "base/language.h"
#include "cli/archive.h"
#include "cli/fail.h"
#include "cli/progress.h"
#include "cli/say.h"
#include "cli/standing.h"

/* Fewer records than this need no summary; lines of words have one from two on. */
#define SUMMARY_FROM 5

/* ---- Names ------------------------------------------------------------------------- */

/* "drill" for "shelf/drill.png": what output files are named after.  Free with g_free(). */
static char *
stem_of (const char *image_path)
{
  char *stem = g_path_get_basename (image_path);
  char *dot = strrchr (stem, '.');
  if (dot != NULL && dot != stem)
    *dot = '\0';
  return stem;
}

static char *
output_path (const WsDelivery *delivery, const char *image_path, const char *suffix)
{
  g_autofree char *stem = stem_of (image_path);
  g_autofree char *name = g_strconcat (stem, suffix, NULL);
  return g_build_filename (delivery->out, name, NULL);
}

char *
wsi_delivery_picture_path (const WsDelivery *delivery, const char *image_path)
{
  return output_path (delivery, image_path, ".annotated.png");
}

char *
wsi_delivery_record_path (const WsDelivery *delivery, const char *image_path)
{
  return output_path (delivery, image_path, ".record.json");
}

/* ---- One picture ------------------------------------------------------------------- */

/* Without a verdict nothing is accepted. */
static int
exit_status (WsVerdict verdict)
{
  switch (verdict)
  {
  case WS_VERDICT_ACCEPT:
    return WS_EXIT_ACCEPT;
  case WS_VERDICT_REJECT:
    return WS_EXIT_REJECT;
  case WS_VERDICT_RETAKE:
    return WS_EXIT_RETAKE;
  default:
    return WS_EXIT_UNDECIDED;
  }
}

/* Of measuring alone. */
static int
measured_status (const WsOutcome *outcome)
{
  return outcome->error != NULL ? ws_error_exit_status (outcome->error)
                                : exit_status (outcome->verdict);
}

static int
print (const char *words)
{
  if (wsi_say ("%s\n", words) && fflush (stdout) == 0)
    return WS_EXIT_ACCEPT;
  return wsi_fail (
    g_error_new_literal (WS_ERROR, WS_ERROR_CANT_WRITE, "can't write to standard output"));
}

static int
save (const WsDelivery *delivery, const WsOutcome *outcome, const char *image_path)
{
  GError *error = NULL;
  if (delivery->out == NULL)
    return WS_EXIT_ACCEPT;
  if (delivery->plan->series_name != NULL)
    image_path = delivery->plan->series_name;
  g_autofree char *record_path = wsi_delivery_record_path (delivery, image_path);
  g_autofree char *picture_path = wsi_delivery_picture_path (delivery, image_path);
  g_autofree char *line = g_strconcat (outcome->record, "\n", NULL);
  if (!ws_report_save (record_path, line, strlen (line), &error) ||
      (outcome->annotated != NULL &&
       !ws_report_save (picture_path, g_bytes_get_data (outcome->annotated, NULL),
                        g_bytes_get_size (outcome->annotated), &error)))
    return wsi_fail (error);
  return WS_EXIT_ACCEPT;
}

/* Sets the number under which the outcome is archived. */
static int
archive (const WsDelivery *delivery, guint i, const WsOutcome *outcome, guint64 *number)
{
  GError *error = NULL;
  WsJobNotes notes = delivery->notes;
  notes.settings = wsi_plan_task (delivery->plan, i)->settings;
  if (delivery->archive == NULL)
    return WS_EXIT_ACCEPT;
  if (ws_job_store (delivery->archive, outcome, &notes, number, &error))
  {
    if (ws_archive_take_mended (delivery->archive))
      wsi_say_aside ("archive %s: its copy of %s was damaged; put back from this file\n",
                     ws_archive_folder (delivery->archive), delivery->plan->images[i]);
    if (ws_archive_take_clock (delivery->archive))
      wsi_say_aside ("archive %s: the clock of this computer was set back: there is a later "
                     "inspection already; this one is marked\n",
                     ws_archive_folder (delivery->archive));
    return WS_EXIT_ACCEPT;
  }
  g_prefix_error (&error, "not archived: ");
  return wsi_fail (error);
}

/* `number`: where it was archived, 0 when it wasn't. */
static int
print_outcome (const WsDelivery *delivery, const WsOutcome *outcome, guint64 number)
{
  if (delivery->json)
    return print (outcome->record);
  if (outcome->text == NULL)
    return WS_EXIT_ACCEPT;
  GString *words = g_string_new (outcome->text);
  const gboolean is_line = !g_str_has_suffix (outcome->text, "\n");
  if (number > 0 && is_line)
    g_string_append_printf (words, _ (" (archived, number %u)"), (guint)number);
  else if (number > 0)
    g_string_append_printf (words, _ ("Archived  number %u in %s\n"), (guint)number,
                            ws_archive_folder (delivery->archive));
  /* A screen holds a text and the prompt below; several texts stand apart. */
  if (!is_line && !delivery->details)
    g_string_truncate (words, words->len - 1);
  const int printed = print (words->str);
  g_string_free (words, TRUE);
  return printed;
}

static int
status_of (const char *verdict)
{
  for (int i = WS_VERDICT_NONE; i <= WS_VERDICT_RETAKE; i++)
    if (g_strcmp0 (verdict, ws_verdict_name ((WsVerdict)i)) == 0)
      return exit_status ((WsVerdict)i);
  return exit_status (WS_VERDICT_NONE);
}

static int
deliver_skipped (const WsDelivery *delivery, const char *image_path, const WsOutcome *outcome)
{
  GError *error = NULL;
  g_autoptr (WsInspection) inspection =
    ws_archive_find (delivery->archive, outcome->skipped, &error);
  if (inspection == NULL)
    return wsi_fail (error);
  if (inspection->wrong != NULL)
    return wsi_archive_tell_wrong (delivery->archive, inspection->id, inspection->wrong);
  g_autofree char *words =
    delivery->json
      ? g_strdup (inspection->record)
      : g_strdup_printf (_ ("%s: measured already, %s (%s)"), image_path,
                         inspection->verdict != NULL ? _ (inspection->verdict) : _ ("no limits"),
                         inspection->id);
  const int printed = print (words);
  return printed != WS_EXIT_ACCEPT ? printed : status_of (inspection->verdict);
}

/* Returns the exit status; what went wrong was told. */
static int
deliver (const WsDelivery *delivery, guint i, WsOutcome *outcome)
{
  const char *image_path = delivery->plan->images[i];
  guint64 number = 0;
  const int measured = measured_status (outcome);
  if (outcome->skipped != NULL)
    return deliver_skipped (delivery, image_path, outcome);
  if (outcome->error != NULL)
    wsi_fail (g_steal_pointer (&outcome->error));
  if (outcome->record == NULL)
    return measured;
  /* Before anything is printed, so that what was printed as archived is. */
  const int archived = archive (delivery, i, outcome, &number);
  const int printed = print_outcome (delivery, outcome, number);
  const int saved = save (delivery, outcome, image_path);
  /* Errors outrank verdicts, and both statuses are ordered within. */
  const int delivered = MAX (MAX (archived, printed), saved);
  return delivered != WS_EXIT_ACCEPT ? MAX (delivered, measured) : measured;
}

/* ---- All pictures ------------------------------------------------------------------ */

/* How bad a status is: accept, undecided, reject, retake, then the errors. */
static int
badness (int status)
{
  switch (status)
  {
  case WS_EXIT_UNDECIDED:
    return 1;
  case WS_EXIT_REJECT:
    return 2;
  default:
    return status;
  }
}

static int
worse (int a, int b)
{
  return badness (a) >= badness (b) ? a : b;
}

typedef struct
{
  guint counts[WS_EXIT_RETAKE + 1]; /* by status */
  guint errors, skipped, mismatches;
  guint unjudged; /* of the undecided: what is required wasn't seen, or there was nothing to judge
                     it by */
  int worst;
} Tally;

static void
count (Tally *tally, const WsOutcome *outcome, int status)
{
  tally->worst = worse (tally->worst, status);
  if (status <= WS_EXIT_RETAKE)
    tally->counts[status]++;
  else
    tally->errors++;
  if (outcome->skipped != NULL)
    tally->skipped++;
  tally->unjudged +=
    g_strcmp0 (outcome->reason, "not-judged") == 0 || g_strcmp0 (outcome->reason, "not-seen") == 0;
  tally->mismatches += g_strcmp0 (outcome->reason, "card-mismatch") == 0;
}

static void
print_summary (guint n, const Tally *tally, double seconds)
{
  fprintf (stderr, _ ("%u pictures: %u accept, %u reject, %u undecided, %u retake, %u with errors"),
           n, tally->counts[WS_EXIT_ACCEPT], tally->counts[WS_EXIT_REJECT],
           tally->counts[WS_EXIT_UNDECIDED], tally->counts[WS_EXIT_RETAKE], tally->errors);
  if (tally->unjudged > 0)
    fprintf (stderr, _ ("; %u measured, but not judged"), tally->unjudged);
  if (tally->skipped > 0)
    fprintf (stderr, _ ("; %u of them measured already"), tally->skipped);
  fprintf (stderr, _ ("; %.1f s, %.1f a second\n"), seconds, n / MAX (seconds, 1e-3));
  if (tally->mismatches > 0)
    fprintf (stderr,
             _ ("%u of them show another tool than the card's; a plan says which card each picture "
                "belongs to (--plan)\n"),
             tally->mismatches);
}

typedef struct
{
  const WsDelivery *delivery;
  WsStandings *standings;
  WsProgress progress;
  Tally tally;
} Run;

static gboolean
deliver_next (guint i, WsOutcome *outcome, gpointer data)
{
  Run *run = data;
  const WsJob *job = &wsi_plan_task (run->delivery->plan, i)->job;
  wsi_progress_clear (&run->progress);
  if (outcome->error == NULL)
    wsi_standings_note (run->standings, job->card, job->view->name, outcome->verdict);
  count (&run->tally, outcome, deliver (run->delivery, i, outcome));
  wsi_progress_show (&run->progress, i + 1);
  return TRUE;
}

/* All pictures are one tool's: one outcome, under the first one's name. */
static int
deliver_series (const WsDelivery *delivery)
{
  const WsJob *job = &wsi_plan_task (delivery->plan, 0)->job;
  g_autoptr (WsStandings) standings = wsi_standings_new ();
  g_autoptr (WsOutcome) outcome = ws_job_measure_series (job, delivery->plan->images);
  if (outcome->error == NULL)
    wsi_standings_note (standings, job->card, job->view->name, outcome->verdict);
  const int status = deliver (delivery, 0, outcome);
  return worse (status, wsi_standings_tell (standings, delivery->archive, delivery->json));
}

int
wsi_deliver_all (const WsDelivery *delivery, guint n_workers, gboolean summary)
{
  const WsPlan *plan = delivery->plan;
  if (plan->is_series)
    return deliver_series (delivery);
  const guint n = plan->tasks->len;
  g_autoptr (WsStandings) standings = wsi_standings_new ();
  Run run = { .delivery = delivery, .standings = standings };
  g_autofree const WsJob **jobs = g_new (const WsJob *, n);
  for (guint i = 0; i < n; i++)
    jobs[i] = &wsi_plan_task (plan, i)->job;
  wsi_progress_start (&run.progress, _ ("measured"), "", n);
  ws_batch_run_each (jobs, plan->images, n_workers, deliver_next, &run);
  wsi_progress_clear (&run.progress);
  run.tally.worst =
    worse (run.tally.worst, wsi_standings_tell (standings, delivery->archive, delivery->json));
  if (summary || n >= (delivery->json ? SUMMARY_FROM : 2))
    print_summary (n, &run.tally, wsi_progress_seconds (&run.progress));
  return run.tally.worst;
}
