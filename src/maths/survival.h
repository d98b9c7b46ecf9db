/*
 * How long things last when not all of them have ended yet.
 *
 * The share S (t) that lasts beyond t by Kaplan and Meier, its standard deviation by Greenwood, an
 * interval of log S, and from it that of the median (E. L. Kaplan and P. Meier, J. Am. Stat. Assoc.
 * 53 (1958) 457-481; R. Brookmeyer and J. Crowley, Biometrics 38 (1982) 29-41; recalled from
 * memory, held against published results in the test).  Two groups by the log-rank test (N. Mantel,
 * Cancer Chemother. Rep. 50 (1966) 163-170, likewise).
 */
#ifndef WS_MATHS_SURVIVAL_H
#define WS_MATHS_SURVIVAL_H

#include <glib.h>

G_BEGIN_DECLS

typedef struct
{
  double length;
  gboolean ended; /* FALSE: it lasted so long at least, and wasn't watched any longer */
} WsLife;

/* At a length at which some ended. */
typedef struct
{
  double length;
  guint at_risk, ended;
  double share, s;  /* that lasts longer, and its standard deviation */
  double low, high; /* 95 % interval; NAN once none is left */
} WsSurvivalStep;

typedef struct
{
  guint n, n_ended;
  GArray *steps;    /* of WsSurvivalStep */
  double median;    /* NAN: half haven't ended */
  double low, high; /* 95 % interval of it; NAN: open */
  double longest;   /* of all; 0 of none */
} WsSurvival;

/* End with wsi_survival_clear(). */
void wsi_survival_find (const WsLife *lives, gsize n, WsSurvival *survival);
void wsi_survival_clear (WsSurvival *survival);

/* Do those of a group last as long as the others?  How probable a difference as great is by
 * chance; NAN where it can't be told: none ended, or a group is empty.  `expected` (or NULL): how
 * many of the group would have ended if it were like the others. */
double wsi_survival_compare (const WsLife *group, gsize n, const WsLife *others, gsize n_others,
                             double *expected, double *chi_square);

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (WsSurvival, wsi_survival_clear)

G_END_DECLS

#endif
