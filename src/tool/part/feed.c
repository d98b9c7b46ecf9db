#include "tool/part/feed.h"

#include <math.h>

/* Periods in the circle at least, harmonics at most. */
#define LEAST_PERIODS 4.0
#define MOST_HARMONICS 12
#define MOST_FREQUENCY 0.36

/* What a harmonic has to stand above its surroundings by not to speak against a pitch, and what all
 * must come to; natural logarithms.  Of noise a bin lies 0.2 below the median on average. */
#define SILENT 1.2
#define LEAST_SCORE 7.0
#define CLEAR 3.8

/* Steps of the search, for each 1 / radius: the twelfth harmonic moves by half its width. */
#define STEPS 24

/* The chosen harmonic counts as a peak of its own. */
#define LEAST_PARTS 3

/* How far each frequency that the search may ask for stands above its surroundings. */
static double *
tabulate (const WsPatch *patch, const WsRidge *ridge, double step, guint n)
{
  g_autofree double *sums = g_new (double, patch->side + 2);
  double *table = g_new (double, n);
  wsi_patch_project (patch, ridge->direction, sums);
  for (guint i = 0; i < n; i++)
  {
    const guint k = (guint)CLAMP (lround (i * step / ridge->step), 0, (long)ridge->n - 1);
    const double power = wsi_patch_power_of (sums, patch->side + 2, i * step);
    table[i] = log (MAX (power, 1e-30) / MAX (ridge->around[k], 1e-30));
  }
  return table;
}

static double
score_of (const double *table, guint n, guint i, guint *best)
{
  double sum = 0;
  *best = 1;
  for (guint m = 1; m <= MOST_HARMONICS && m * i < n; m++)
  {
    sum += table[m * i] - SILENT;
    *best = table[m * i] > table[*best * i] ? m : *best;
  }
  return sum;
}

/* A pitch of two or three turns has all harmonics of one, and others that are noise: where a
 * multiple of the frequency does nearly as well, that is the feed; where it does less well, nobody
 * knows. */
#define NEARLY 0.8
#define DOUBTFUL 0.65
#define MOST_MULTIPLE 4

/* The highest of the harmonics that a multiple of the frequency hasn't. */
static double
highest_between (const double *table, guint n, guint found, guint multiple)
{
  double highest = -HUGE_VAL;
  for (guint m = 1; m <= MOST_HARMONICS && m * found + 1 < n; m++)
    for (guint i = m * found - 1; m % multiple != 0 && i <= m * found + 1; i++)
      highest = MAX (highest, table[i]);
  return highest;
}

/* Such a one that stands out is the feed's own, however much the others do; from here on nobody
 * knows. */
#define MAYBE 2.4

static gboolean
settle_multiple (const double *table, guint n, guint *found, guint *harmonic, double *score)
{
  double most = 0, best_score = 0;
  guint best = *found, best_harmonic = 1, multiple = 1;
  if (*found == 0)
    return FALSE;
  for (guint m = 2; m <= MOST_MULTIPLE; m++)
    for (int d = -1; d <= 1; d++)
    {
      const guint i = (guint)((int)(m * *found) + d);
      guint strongest;
      const double there = i < n ? score_of (table, n, i, &strongest) : -HUGE_VAL;
      if (there < most * *score || there <= 0)
        continue;
      most = there / *score;
      best = i;
      multiple = m;
      best_harmonic = strongest;
      best_score = there;
    }
  if (most > NEARLY)
  {
    const double between = highest_between (table, n, *found, multiple);
    if (between > MAYBE)
      return between > CLEAR;
    *found = best;
    *harmonic = best_harmonic;
    *score = best_score;
    return TRUE;
  }
  return most <= DOUBTFUL;
}

/* Harmonics between those of the frequency, were half or a third of it the feed: as low as that may
 * be in the streaks, they say that nobody knows. */
#define HINT 2.0
#define MOST_PART 3

static gboolean
may_be_part (const double *table, guint n, guint found)
{
  for (guint part = 2; part <= MOST_PART; part++)
    for (guint m = 1; m <= MOST_HARMONICS && m * found / part + 1 < n; m++)
      for (guint i = m * found / part - 1; m % part != 0 && i <= m * found / part + 1; i++)
        if (table[i] > HINT)
          return TRUE;
  return FALSE;
}

gboolean
wsi_feed_find (const WsPatch *patch, const WsRidge *ridge, WsMarkFamily *feed, double *score)
{
  const double step = 1 / (STEPS * patch->radius);
  const guint n = (guint)(MOST_FREQUENCY / step);
  g_autofree double *table = tabulate (patch, ridge, step, n);
  guint found = 0, harmonic = 1;
  *score = -HUGE_VAL;
  for (guint i = (guint)ceil (0.5 * LEAST_PERIODS * STEPS); i < n; i++)
  {
    guint best;
    const double here = score_of (table, n, i, &best);
    if (here <= *score)
      continue;
    *score = here;
    found = i;
    harmonic = best;
  }
  if (!settle_multiple (table, n, &found, &harmonic, score))
    return FALSE;
  if (found > 2 * MOST_PART && may_be_part (table, n, found))
    return FALSE;
  if (!(*score > LEAST_SCORE || table[found * harmonic] > CLEAR) ||
      table[found * harmonic] < 0.5 * CLEAR)
    return FALSE;
  const double f = found * harmonic * step;
  *feed = (WsMarkFamily){ .fx = f * cos (ridge->direction), .fy = f * sin (ridge->direction) };
  const double top = wsi_patch_climb (patch, &feed->fx, &feed->fy);
  wsi_mark_family_set_direction (feed);
  feed->above = exp (table[found * harmonic]);
  feed->contrast = 2 * sqrt (top) / patch->sum;
  wsi_patch_ask_quarters (patch, feed);
  feed->fx /= harmonic;
  feed->fy /= harmonic;
  feed->frequency /= harmonic;
  feed->u_frequency /= harmonic;
  return feed->parts >= LEAST_PARTS;
}
