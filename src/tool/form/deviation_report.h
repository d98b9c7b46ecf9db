/*
 * What is told of deviations from a nominal profile: findings, the plot's marks, advice.
 */
#ifndef WS_TOOL_FORM_DEVIATION_REPORT_H
#define WS_TOOL_FORM_DEVIATION_REPORT_H

#include "tool/form/comparison.h"

G_BEGIN_DECLS

/* Adds findings and marks. */
void wsi_form_deviation_report (WsFormComparison *work, const WsFormSummary *here);

/* What to grind, from the verdicts of deviations. */
void wsi_form_deviation_advise (const WsToolCard *card, WsResult *result);

G_END_DECLS

#endif
