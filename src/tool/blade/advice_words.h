/*
 * What advice on blades shares, from above and from the side.
 */
#ifndef WS_TOOL_BLADE_ADVICE_WORDS_H
#define WS_TOOL_BLADE_ADVICE_WORDS_H

#include <whetsight/card.h>
#include <whetsight/result.h>

G_BEGIN_DECLS

/* What is left of a length is nothing when it is written as 0. */
#define WS_BLADE_NOTHING 0.005

typedef struct
{
  const WsToolCard *card;
  WsResult *result;
  gboolean in_mm;
  double
    mm; /* a length as measured, in mm: without a scale by the card's width; NAN without that */
} WsBladeAdvice;

WsBladeAdvice wsi_blade_advice_of (const WsToolCard *card, WsResult *result);

/* By stem; NULL when it isn't known. */
const WsQuantity *wsi_blade_get (const WsBladeAdvice *blade, const char *stem);

gboolean wsi_blade_is_rejected (const WsQuantity *quantity);
gboolean wsi_blade_is_low (const WsQuantity *quantity);

/* What to grind an angle to: as it is if that does; else the middle of its limits, or twice U
 * inside the only one. */
double wsi_blade_target (const WsQuantity *angle);

/* What is told of a length that must come off, and of an angle to grind; rounded, up where it is a
 * length. */
double wsi_blade_told_length (const WsBladeAdvice *blade, double length);
double wsi_blade_told_angle (double angle);

/* Records a length of the grinding advised, as told, under NAME_mm, or NAME_px without a scale. */
void wsi_blade_record (const WsBladeAdvice *blade, const char *name, double length);

/* Free with g_free(): "0.09 mm", "7.0°", "6.81 ± 0.02°". */
char *wsi_blade_say_length (const WsBladeAdvice *blade, double length);
char *wsi_blade_say_angle (double angle);
char *wsi_blade_say_measured (const WsBladeAdvice *blade, const WsQuantity *quantity);

/* Add a finding, and advice on some WsWork; `text` is taken over. */
void wsi_blade_find (const WsBladeAdvice *blade, const char *code, char *text,
                     const WsPoint *where);
void wsi_blade_advise (const WsBladeAdvice *blade, guint work, char *text);

/* How far to set the blade out again when its tip moved back by that. */
void wsi_blade_advise_reset (const WsBladeAdvice *blade, double setback);

/* What can't be judged, that nothing is to be ground, and cautions. */
void wsi_blade_advise_finish (const WsBladeAdvice *blade);

G_END_DECLS

#endif
