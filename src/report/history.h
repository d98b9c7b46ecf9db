/*
 * A tool's life out of its inspections: regrinds, what they took and what is left, what wears it.
 */
#ifndef WS_REPORT_HISTORY_H
#define WS_REPORT_HISTORY_H

#include <whetsight/archive.h>
#include <whetsight/trend.h>

G_BEGIN_DECLS

typedef struct
{
  const char *time;    /* of the first picture after it; borrowed */
  const char *grinder; /* or NULL; borrowed */
  double took;         /* of the tool's length, mm; NAN when it wasn't measured before and after */
} WsRegrind;

/* A quantity with limits. */
typedef struct
{
  char *name;
  double use;    /* of its limits now: 0 in their middle, or at nothing, 1 at one of them */
  double growth; /* of that from picture to picture of one edge, in the mean; NAN: never two */
  guint n_pictures, n_rejected;
} WsWear;

typedef struct
{
  guint n;          /* inspections */
  GArray *regrinds; /* of WsRegrind, in time */
  GArray *wear;     /* of WsWear; what grows fastest first */

  double length, u_length; /* the last one known, mm; NAN: none */
  double least;            /* that must be left; NAN when the card doesn't say */
  double took, u_took;     /* by a regrind in the mean, mm; NAN */
  double left, u_left;     /* regrinds; NAN */
} WsHistory;

/* Of WsInspection with records, in time, of one tool; what is wrong is passed by.  Both must stay.
 * Free with wsi_history_free(). */
WsHistory *wsi_history_new (const GPtrArray *inspections);
void wsi_history_free (WsHistory *history);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsHistory, wsi_history_free)

/* "61.2 ± 0.06 mm long, …" and what wears it, each a sentence; NULL where nothing is known.  Free
 * with g_free(). */
char *wsi_history_length_words (const WsHistory *history);
char *wsi_history_wear_words (const WsWear *wear, const char *label);

/* One quantity of these inspections in time, limits found.  Free with g_array_unref(); of
 * WsTrendPoint, which `trend` points to. */
GArray *wsi_history_trend (const GPtrArray *inspections, const char *quantity, WsTrend *trend);

G_END_DECLS

#endif
