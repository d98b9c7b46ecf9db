/*
 * The program's verbs.
 */
#ifndef WS_CLI_VERBS_H
#define WS_CLI_VERBS_H

#include "cli/command.h"
#include "cli/fail.h"

G_BEGIN_DECLS

/* The program: all its verbs, whose methods and commands follow from them. */
extern const WsCommand ws_program;

extern const WsCommand ws_verb_measure, ws_verb_calibrate, ws_verb_verify, ws_verb_explain,
  ws_verb_aim, ws_verb_archive, ws_verb_report, ws_verb_trend, ws_verb_study, ws_verb_views;

G_END_DECLS

#endif
