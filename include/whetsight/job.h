/*
 * Measuring pictures from file to record: one card, one view, one camera, any number of pictures.
 *
 *   g_autoptr (WsToolCard) card = ws_tool_card_load ("drill.tool", &error);
 *   const WsJob job = { .card = card,
 *                       .view = ws_view_for_kind (card->kind),
 *                       .optics = WS_OPTICS_UNKNOWN,
 *                       .limits = WS_IMAGE_LIMITS_DEFAULT,
 *                       .wants = WS_JOB_TEXT };
 *   g_autoptr (WsOutcome) outcome = ws_job_measure (&job, "drill.png");
 */
#ifndef WHETSIGHT_JOB_H
#define WHETSIGHT_JOB_H

#include <whetsight/archive.h>
#include <whetsight/report.h>
#include <whetsight/set_out.h>
#include <whetsight/view.h>

G_BEGIN_DECLS

/* What is made beside the record. */
typedef enum
{
  WS_JOB_RECORD_ONLY = 0,
  WS_JOB_TEXT = 1 << 0,     /* the report in words, a screen of it */
  WS_JOB_PICTURE = 1 << 1,  /* the annotated picture */
  WS_JOB_ORIGINAL = 1 << 2, /* the file's bytes, for an archive */
  WS_JOB_DETAILS = 1 << 3,  /* the report in words, all of it, in place of a screen */
  WS_JOB_LINE = 1 << 4,     /* a line of words in place of both */
} WsJobWants;

/* The tool's picture before its regrind: what that took off is then told among the advice. */
typedef struct
{
  const char *path;
  const char *since; /* when it was taken, for people */
  WsOptics optics;
  WsReference reference;
} WsJobBefore;

/* The same for all pictures; all borrowed.  Used from several threads at once, so it stays as it is
 * while pictures are measured. */
typedef struct
{
  const WsToolCard *card;
  const WsView *view;   /* one that shows the card's kind */
  WsOptics optics;      /* of the calibration, or a scale, or WS_OPTICS_UNKNOWN */
  WsCalibrationUse use; /* its calibration NULL without one */
  const WsTaken *taken; /* how the bench takes pictures, which these have to be taken by; or NULL */
  WsImageLimits limits;
  WsImageFlags told; /* of the pictures' tones: WS_IMAGE_TOLD_…, or 0 */
  gboolean confined; /* pictures come from elsewhere: WS_IMAGE_CONFINED */
  WsJobWants wants;
  WsUnits units;                 /* of texts and pictures */
  double length_mm, u_length_mm; /* of the tool, measured by hand, for the record; or 0 */
  const char *machine;           /* that the tool works on, for the record; or NULL */
  const char *measured_by;       /* who measures, for the record; or NULL */
  const WsJobBefore *before;     /* or NULL */
  const char *const *names; /* what the pictures are called in the record, in their order, where
                               that isn't the files' names; or NULL */
  GHashTable *stored;       /* ws_job_stored(): pictures to skip; or NULL */
} WsJob;

/* What came of one picture. */
typedef struct
{
  WsVerdict verdict;  /* of the tool; NONE without limits, and where there is an error */
  const char *reason; /* ws_result_reason(); static */
  GError *error;      /* what comes from outside and can't be used; or NULL.  There may be a record
                         all the same */
  char *record;       /* "whetsight/1", one line; NULL when the picture was skipped or there is no
                         such file */
  char *text;         /* with WS_JOB_TEXT, _DETAILS or _LINE, when there was a picture; or NULL */
  GBytes *annotated;  /* with WS_JOB_PICTURE, when there was a picture: PNG; or NULL */
  GBytes *original;   /* with WS_JOB_ORIGINAL; NULL when it can't be read */
  GPtrArray *others;  /* of a series: of GBytes, the originals but that one; else NULL */
  char *skipped;      /* id of the inspection that the archive has already, or NULL */
} WsOutcome;

/* Lets the job rest on a calibration that was loaded from `path`, with its optics and its standing:
 * whether it has expired, and its last check, from the file beside it.  Neither is refused here,
 * but with a failed check nothing is accepted unless `use.check_ignored` is set.  Errors: those of
 * ws_checks_load(). */
gboolean ws_job_use_calibration (WsJob *job, WsCalibration *calibration, const char *path,
                                 GError **error);

/* The check of the job's calibration is due: nothing is judged by it. */
void ws_job_hold_until_checked (WsJob *job);

/* Measures the picture in a file; from any thread.  Never fails as a whole: see `error`.  Free with
 * ws_outcome_free(). */
WsOutcome *ws_job_measure (const WsJob *job, const char *path);

/* The same for a series, `paths` ending in NULL, by a view that has one.  One outcome for all: its
 * pictures are that which the marks are on, and in `others` the rest. */
WsOutcome *ws_job_measure_series (const WsJob *job, char *const *paths);
void ws_outcome_free (WsOutcome *outcome);

/* ---- With an archive ---------------------------------------------------------------------- */

/* A hash of what a measurement depends on beside the picture: program, view, the card's file (or
 * NULL), scale, calibration: 64 hex digits.  Free with g_free(). */
char *ws_job_settings (const WsJob *job, const char *card_path);

/* The same as a record tells it: measured by that version of the program, "0.1.0", and the card of
 * that SHA-256, or NULL. */
char *ws_job_settings_by (const WsJob *job, const char *version, const char *card_sha256);

/* What the archive is told of the pictures of a job; borrowed. */
typedef struct
{
  const char *settings; /* ws_job_settings() */
  const char *station;  /* where it was measured, or NULL */
  const char *grinder;  /* who or what ground the tool, or NULL */
  gboolean reground;    /* since it was last measured */
} WsJobNotes;

/* Stores an outcome that has a record; when this returns TRUE it is on disk.  `number` (optional)
 * is that of the inspection.  Errors: as of ws_archive_store(). */
gboolean ws_job_store (WsArchive *archive, const WsOutcome *outcome, const WsJobNotes *notes,
                       guint64 *number, GError **error);

/* Pictures that the archive holds as measured by these settings: SHA-256 to id of the inspection.
 * Errors: WS_ERROR_DATA.  Free with g_hash_table_unref(). */
GHashTable *ws_job_stored (WsArchive *archive, const char *settings, GError **error);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsOutcome, ws_outcome_free)

G_END_DECLS

#endif
