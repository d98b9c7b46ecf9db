/*
 * Where a nominal profile may lie on an outline: both are split into lines and arcs by the same
 * rules, and every pair of pieces of one that looks like a pair of the other gives a motion.
 */
#ifndef WS_TOOL_FORM_GUESS_H
#define WS_TOOL_FORM_GUESS_H

#include "edge/chain.h"
#include "edge/outline.h"
#include "tool/form/motion.h"
#include "tool/form/nominal.h"

G_BEGIN_DECLS

typedef struct
{
  const WsFormNominal *profile;
  const WsOutline *outline;
  const GArray *samples; /* of WsFormSample */
  const WsChainRules *rules;
  double held; /* the motion's angle, or NAN */
} WsFormSought;

/* The motion that brings most of the profile beside the outline; returns that share of it. */
double wsi_form_guess (const WsFormSought *sought, WsFormMotion *motion);

/* How near to the outline counts as beside it, px: of the profile's size, and at least. */
double wsi_form_beside (const WsFormNominal *profile);
#define WS_FORM_BESIDE_MIN_PX 4.0

G_END_DECLS

#endif
