/*
 * Several views of one tool make one verdict.
 */
#ifndef WS_JUDGE_JOIN_H
#define WS_JUDGE_JOIN_H

#include <whetsight/result.h>

G_BEGIN_DECLS

typedef enum
{
  WS_TOOL_INCOMPLETE, /* a view is missing, or couldn't be decided */
  WS_TOOL_FIT,
  WS_TOOL_NOT_FIT
} WsToolStanding;

/* "incomplete", "fit", "not fit"; static. */
const char *wsi_tool_standing_name (WsToolStanding standing);

/* One measurement of the tool; borrowed. */
typedef struct
{
  const char *view;
  WsVerdict verdict;
  gboolean reground; /* the first since the tool was reground: what was seen before is of another */
  gboolean of_work;  /* it shows what the tool made, which says nothing of the tool's standing */
} WsViewResult;

/* What the newest measurement of a view says. */
typedef struct
{
  char *view;
  WsVerdict verdict; /* WS_VERDICT_RETAKE: the view is missing, or must be photographed again */
} WsViewState;

typedef struct
{
  WsToolStanding standing;
  GArray *views;   /* of WsViewState, in the order they are required in */
  guint n_altered; /* measurements that are not as they were written */
} WsToolState;

/*
 * Joins `results`, the oldest first.  `required`: views that must be good, ending in NULL, or NULL
 * for all that were looked at since the last regrind; a view that isn't asked for joins them where
 * it rejects the tool.  Of each view the newest result counts: a retake undoes an accept before
 * it, and nothing else.  One rejection makes the tool not fit; else one view that is missing,
 * undecided or without limits makes it incomplete.  Free with wsi_tool_state_free().
 */
WsToolState *wsi_tool_state_join (const char *const *required, const WsViewResult *results,
                                  gsize n);

/* So many of the measurements can't be trusted, not even in what view they were made: so the
 * tool isn't called fit. */
void wsi_tool_state_doubt (WsToolState *state, guint n_altered);

void wsi_tool_state_free (WsToolState *state);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsToolState, wsi_tool_state_free)

G_END_DECLS

#endif
