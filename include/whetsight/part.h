/*
 * What a tool works on: the group [part] of its card.
 */
#ifndef WHETSIGHT_PART_H
#define WHETSIGHT_PART_H

#include <glib.h>

G_BEGIN_DECLS

/* Something that turns with the spindle, and how often it comes round in one turn: a gear's teeth,
 * a bearing's balls. */
typedef struct
{
  char *name;
  double count;
} WsOrder;

/* What the tool works on, for the marks on it; each NAN when the card doesn't say. */
typedef struct
{
  double diameter_mm, speed_rpm, feed_mm;
  GArray *orders; /* of WsOrder */
} WsPartSpec;

G_END_DECLS

#endif
