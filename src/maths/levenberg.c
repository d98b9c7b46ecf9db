#include "maths/levenberg.h"

#include "maths/solve.h"

#include <math.h>
#include <string.h>

/* Damping, relative to the diagonal, of the first step that a plain one's failure calls for; less
 * than LEAST_DAMPING is none, and a step as short as MOST_DAMPING makes it changes nothing any
 * more. */
#define FIRST_DAMPING 1e-3
#define LEAST_DAMPING 1e-7
#define MOST_DAMPING 1e12

/* A step that promises to take less than this part off the squares is lost in their rounding: the
 * promise itself, which comes from the slope, then tells whether steps still help. */
#define BELOW_ROUNDING 1e-12

typedef struct
{
  const WsLevenberg *problem;
  gconstpointer data;
  double *JJ, *Jr;   /* at the present x */
  double *inverse;   /* of JJ with the present damping */
  double *step, *at; /* and where that leads */
} Work;

/* The step with this damping, and by how much it promises to lower the squares: s'J'r for none.
 * FALSE when it can't be solved. */
static gboolean
find_step (Work *work, double damping, double *promised)
{
  const guint n = work->problem->n;
  memcpy (work->inverse, work->JJ, (gsize)n * n * sizeof (double));
  for (guint i = 0; i < n; i++)
    work->inverse[i * n + i] *= 1 + damping;
  if (!wsi_invert_spd (work->inverse, n))
    return FALSE;
  *promised = 0;
  for (guint i = 0; i < n; i++)
  {
    work->step[i] = 0;
    for (guint j = 0; j < n; j++)
      work->step[i] += work->inverse[i * n + j] * work->Jr[j];
    *promised += work->step[i] * work->Jr[i];
  }
  return TRUE;
}

/* Raises the damping until a step from x helps; FALSE when none does within rounding. */
static gboolean
descend (Work *work, double *damping, double *x, double *squares)
{
  const WsLevenberg *problem = work->problem;
  double promised;
  while (*damping < MOST_DAMPING)
  {
    for (guint i = 0; i < problem->n; i++)
      work->at[i] = x[i] + work->step[i];
    const double next = problem->squares (work->data, work->at);
    if (next <= *squares)
    {
      memcpy (x, work->at, problem->n * sizeof *x);
      *squares = next;
      *damping = *damping > LEAST_DAMPING ? 0.1 * *damping : 0;
      return TRUE;
    }
    *damping = MAX (FIRST_DAMPING, 10 * *damping);
    if (!find_step (work, *damping, &promised))
      return FALSE;
  }
  return FALSE;
}

static void
take_step (const Work *work, double *x, double *squares)
{
  for (guint i = 0; i < work->problem->n; i++)
    x[i] += work->step[i];
  *squares = work->problem->squares (work->data, x);
}

static gboolean
run (Work *work, double *x, double *squares)
{
  const WsLevenberg *problem = work->problem;
  const guint n = problem->n;
  double damping = 0, promised, before = HUGE_VAL;
  *squares = problem->squares (work->data, x);
  for (guint round = 0; round < problem->most_rounds; round++)
  {
    memset (work->JJ, 0, (gsize)n * n * sizeof (double));
    memset (work->Jr, 0, n * sizeof (double));
    problem->equations (work->data, x, work->JJ, work->Jr);
    if (!isfinite (*squares) || !find_step (work, 0, &promised))
      return FALSE;
    const gboolean fine = promised < BELOW_ROUNDING * *squares;
    if (promised < problem->rest || (fine && promised > 0.5 * before))
      return TRUE;
    before = promised;
    if (fine)
    {
      take_step (work, x, squares);
      continue;
    }
    if (damping > 0 && !find_step (work, damping, &promised))
      return FALSE;
    if (!descend (work, &damping, x, squares))
      return find_step (work, 0, &promised);
  }
  return FALSE;
}

gboolean
wsi_levenberg_fit (const WsLevenberg *problem, gconstpointer data, double *x, double *squares,
                   double *inverse)
{
  const gsize n = problem->n;
  g_autofree double *room = g_new (double, 2 * n * n + 3 * n);
  Work work = { .problem = problem, .data = data };
  work.JJ = room;
  work.inverse = room + n * n;
  work.Jr = room + 2 * n * n;
  work.step = work.Jr + n;
  work.at = work.step + n;
  const gboolean found = run (&work, x, squares);
  if (found && inverse != NULL)
    memcpy (inverse, work.inverse, n * n * sizeof *inverse);
  return found;
}
