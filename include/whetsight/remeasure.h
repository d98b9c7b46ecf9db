/*
 * Pictures that were measured again: results beside the ones before, and what changed.
 */
#ifndef WHETSIGHT_REMEASURE_H
#define WHETSIGHT_REMEASURE_H

#include <whetsight/archive.h>

G_BEGIN_DECLS

/* What came of measuring an inspection's picture again; borrowed. */
typedef struct
{
  const char *record;   /* as ws_job_measure() made it */
  const char *settings; /* ws_job_settings(): of program, card and optics */
  const char *by;       /* who had it measured again */
  const char *text;     /* why */
  const char *account;  /* whose login it was, or NULL */
} WsRemeasured;

/* The inspection's result by these settings and for this reason that is there already, or NULL. */
const WsNote *ws_inspection_remeasured (const WsInspection *inspection, const char *settings,
                                        const char *text);

/*
 * Adds a result beside the inspection of that id: a row of the chain that names it, holds the whole
 * record, and leaves inspection and notes as they are.  `added` becomes FALSE where there is one by
 * the same settings and for the same reason already, also when others add one at the same time.
 * Errors: WS_ERROR_NO_INPUT; WS_ERROR_USAGE without a name or a reason; WS_ERROR_DATA for an
 * inspection that isn't as it was written and for a record of another picture, view or tool;
 * WS_ERROR_CANT_WRITE.
 */
gboolean ws_archive_add_remeasured (WsArchive *archive, const char *id, const WsRemeasured *again,
                                    gboolean *added, GError **error);

/* Which of `n` shards an inspection belongs to, 0 to n - 1: the first 32 bits of its id's SHA-256,
 * divided by n, leave that. */
guint ws_shard_of (const char *id, guint n);

/* ---- What changed --------------------------------------------------------------------------- */

/* A verdict that isn't what it was; verdicts are NULL without limits. */
typedef struct
{
  char *id, *tool, *view, *was, *now, *reason;
} WsFlip;

/* How far a quantity's values moved, in units of the U that was stated before. */
typedef struct
{
  char *quantity;
  guint n;                       /* pictures with a value before and after */
  double median, rms;            /* of the difference, new less old */
  double percentile_95, largest; /* of its size */
  char *largest_id;              /* of the inspection that moved most */
  guint n_beyond;                /* moved by more than U */
  double median_U;               /* of the new U over the old */
  guint n_lost, n_gained;        /* had a value before only, after only */
} WsShift;

typedef struct
{
  guint64 n_inspections; /* that were chosen */
  guint64 n_again;       /* of them measured again */
  guint64 n_wrong;       /* not as they were written: told, and left out */
  GPtrArray *flips;      /* of WsFlip, in the order of storing */
  GPtrArray *shifts;     /* of WsShift, by name */
} WsComparison;

typedef void (*WsWrongVisit) (const char *id, const char *wrong, gpointer data);

/*
 * Holds inspections against the newest result that each was given since: by `reason` when it isn't
 * NULL.  Keeps 16 bytes a value.  Errors: WS_ERROR_DATA.  Free with ws_comparison_free().
 */
WsComparison *ws_archive_compare (WsArchive *archive, const WsArchiveFilter *filter,
                                  const char *reason, WsWrongVisit tell, gpointer data,
                                  GError **error);
void ws_comparison_free (WsComparison *comparison);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsComparison, ws_comparison_free)

G_END_DECLS

#endif
