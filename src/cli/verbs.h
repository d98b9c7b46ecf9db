/*
 * The program's verbs.
 */
#ifndef WS_CLI_VERBS_H
#define WS_CLI_VERBS_H

#include "cli/command.h"
#include "cli/fail.h"

G_BEGIN_DECLS

/* The program: all its verbs, whose methods and commands follow from them. */
extern const WsCommand wsi_program;

extern const WsCommand wsi_verb_measure, wsi_verb_card, wsi_verb_calibrate, wsi_verb_verify,
  wsi_verb_explain, wsi_verb_aim, wsi_verb_capture, wsi_verb_archive, wsi_verb_report,
  wsi_verb_trend, wsi_verb_trace, wsi_verb_study, wsi_verb_plant, wsi_verb_feed, wsi_verb_views,
  wsi_verb_serve, wsi_verb_remeasure;

G_END_DECLS

#endif
