#include "edge/find/lit.h"

/* A tool before a light panel has a tenth of its light, a fifth in haze; common practice, no
 * source. */
#define LIT_SHARE 0.25

gboolean
wsi_is_front_lit (double tool_level, double ground_level)
{
  return tool_level > LIT_SHARE * ground_level;
}
