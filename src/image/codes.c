#include "image/codes.h"

#include <math.h>

/* Fewer pixels of a code say nothing. */
#define LEAST_PIXELS 16

/* A gap has this share of its neighbours' pixels at most. */
#define GAP_SHARE 0.25

/* Two codes on one are twice as many, less where the counts rise; noise alone stays below as many
 * standard deviations. */
#define DOUBLE_FACTOR 1.5
#define DOUBLE_NOISE 6.0

/* At the ends of the scale whatever is darker or brighter is cut off. */
#define END_CODES 3

static double
log_count (guint32 count)
{
  return log (count + 0.5);
}

static gboolean
is_gap (const guint32 *at)
{
  const guint32 less = MIN (at[-1], at[1]);
  return less >= LEAST_PIXELS && at[0] < GAP_SHARE * less;
}

/* A cubic through the neighbours' logarithms goes through a normal distribution's exactly, however
 * narrow. */
static gboolean
is_double (const guint32 *at)
{
  for (int k = -2; k <= 2; k++)
    if (at[k] < LEAST_PIXELS)
      return FALSE;
  const double expected = exp (
    (4 * (log_count (at[-1]) + log_count (at[1])) - log_count (at[-2]) - log_count (at[2])) / 6);
  return at[0] > DOUBLE_FACTOR * expected && at[0] - expected > DOUBLE_NOISE * sqrt (expected);
}

/* Where used codes stand alone, or are only two; edges along the rows leave codes out as well, but
 * noise gives each that they have its neighbours. */
static double
missing_share (const guint32 *counts, guint darkest, guint brightest)
{
  guint unused = 0, rare = 0, alone = 0;
  for (guint code = darkest + 1; code < brightest; code++)
  {
    unused += counts[code] == 0 ? 1 : 0;
    rare += counts[code] > 0 && counts[code] < LEAST_PIXELS ? 1 : 0;
    alone += counts[code] > 0 && counts[code - 1] == 0 && counts[code + 1] == 0 ? 1 : 0;
  }
  const guint between = brightest - darkest - 1, used = between - unused;
  return used == 0 || (2 * rare < used && 2 * alone > used) ? (double)unused / between : 0;
}

WsCodes
wsi_codes_look (const guint32 counts[WS_IMAGE_CODES])
{
  WsCodes found = { .missing = 0 };
  guint darkest = 0, brightest = WS_IMAGE_CODES - 1;
  while (darkest < brightest && counts[darkest] == 0)
    darkest++;
  while (brightest > darkest && counts[brightest] == 0)
    brightest--;
  if (brightest - darkest < 2)
    return found;
  for (guint code = MAX (darkest, END_CODES); code <= MIN (brightest, 255 - END_CODES); code++)
  {
    found.gaps += is_gap (counts + code) ? 1 : 0;
    found.doubles += is_double (counts + code) ? 1 : 0;
  }
  found.missing = missing_share (counts, darkest, brightest);
  return found;
}
