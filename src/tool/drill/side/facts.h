/*
 * What findings and advice about a drill rest on: its quantities, judged.
 */
#ifndef WS_TOOL_DRILL_SIDE_FACTS_H
#define WS_TOOL_DRILL_SIDE_FACTS_H

#include <whetsight/card.h>
#include <whetsight/result.h>

G_BEGIN_DECLS

enum
{
  WS_LIP_A,
  WS_LIP_B,
  WS_N_LIPS
};

/* "a", "b". */
extern const char *const wsi_lip_names[WS_N_LIPS];

/* Without limits (no scale), what is worth grinding, as parts of the diameter; common
 * practice, no source. */
#define WS_DRILL_WORTH_GRINDING 0.005
#define WS_DRILL_WORTH_CLEANING 0.01

typedef struct
{
  const WsToolCard *card;
  WsResult *result;
  gboolean in_mm;
  double D; /* in the lengths' unit, NAN when unknown */

  /* NULL when unknown. */
  const WsQuantity *point_angle, *half_angle[WS_N_LIPS], *half_angle_difference;
  const WsQuantity *lip_height, *lip_length, *offset, *diameter;
  const WsQuantity *corner[WS_N_LIPS], *chip[WS_N_LIPS], *straightness[WS_N_LIPS];
} WsDrillFacts;

WsDrillFacts wsi_drill_facts_of (const WsToolCard *card, WsResult *result);

/* Known, and different from zero beyond its uncertainty. */
gboolean wsi_drill_is_real (const WsQuantity *quantity);

/* What an unworn corner of this drill falls short, in the lengths' unit. */
double wsi_drill_corner_shortfall (const WsDrillFacts *drill);

G_END_DECLS

#endif
