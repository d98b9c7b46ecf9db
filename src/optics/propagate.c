#include "optics/propagate.h"

#include <math.h>

#include "optics/deviate.h"

double
wsi_lens_propagate (const WsLens *lens, WsThroughLens quantity, gconstpointer data)
{
  WsLens deviations[WS_LENS_MAX];
  const guint n = wsi_lens_deviations (lens, deviations);
  const double value = quantity (lens, data);
  double variance = 0;
  for (guint i = 0; i < n; i++)
  {
    const double change = quantity (&deviations[i], data) - value;
    variance += change * change;
  }
  return sqrt (variance);
}
