#include "maths/jackknife.h"

#include <math.h>

guint
wsi_jackknife_from (guint n, guint b)
{
  return (guint)((guint64)b * n / WS_JACKKNIFE_BLOCKS);
}

double
wsi_jackknife_u (const double *without)
{
  double mean = 0, squares = 0;
  for (guint b = 0; b < WS_JACKKNIFE_BLOCKS; b++)
    mean += without[b] / WS_JACKKNIFE_BLOCKS;
  for (guint b = 0; b < WS_JACKKNIFE_BLOCKS; b++)
    squares += (without[b] - mean) * (without[b] - mean);
  return sqrt (squares * (WS_JACKKNIFE_BLOCKS - 1) / WS_JACKKNIFE_BLOCKS);
}
