/*
 * What is known of a master tool: one that is kept to compare benches by, and never used.
 *
 *   [master]
 *   point_angle_deg = 118.021 +- 0.020
 */
#ifndef WHETSIGHT_MASTER_H
#define WHETSIGHT_MASTER_H

#include <glib.h>

G_BEGIN_DECLS

/* What it was found to measure, by better means than the benches that it compares. */
typedef struct
{
  char *quantity;  /* full name with its unit, "point_angle_deg" */
  double value, U; /* U with k = 2 */
} WsMasterValue;

G_END_DECLS

#endif
