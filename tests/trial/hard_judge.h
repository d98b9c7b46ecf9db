/* A record of the campaign beside the truth. */
#ifndef TRIAL_HARD_JUDGE_H
#define TRIAL_HARD_JUDGE_H

#include "hard.h"
#include "trial.h"

G_BEGIN_DECLS

typedef enum
{
  HARD_JUDGED,    /* accepted or rejected, and rightly; or numbers that hold */
  HARD_UNDECIDED, /* no verdict */
  HARD_DOUBTFUL,  /* no verdict, beside a number that is wrong */
  HARD_REFUSED,   /* a retake, or a file that isn't taken */
  HARD_WRONG,     /* with confidence */
  HARD_FAILED,    /* no record and no reason */
  HARD_N_SORTS
} HardSort;

typedef struct
{
  HardSort sort;
  gboolean held;      /* no verdict because something is doubted, not for want of limits */
  guint n, n_covered; /* numbers that have a truth; those with it inside U */
  GString *numbers;   /* a line "quantity,error,U,U without alignment" each, degrees or px; NULL */
  char *what;         /* what is wrong, or the verdict and its reason; owned */
} HardOutcome;

/* U has k = 2.  Of twenty numbers one lies outside by chance, and of three hundred one outside
 * 1.5 U, when U is right. */
#define HARD_CHANCE 1.5

HardOutcome hard_judge (const HardShot *shot, const TrialRun *run);

G_END_DECLS

#endif
