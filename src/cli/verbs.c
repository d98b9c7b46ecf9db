#include "cli/verbs.h"

static const WsCommand *const verbs[] = {
  &ws_verb_measure,
  &ws_verb_calibrate,
  &ws_verb_verify,
  &ws_verb_explain,
  &ws_verb_aim,
  &ws_verb_archive,
  &ws_verb_report,
  &ws_verb_trend,
  &ws_verb_study,
  &ws_verb_views,
  NULL,
};

const WsCommand ws_program = {
  .name = "whetsight",
  .about = "Measures ground tools in photographs.",
  .notes = "whetsight --version the program's version",
  .exits = "Exit status: 0 accept, 1 reject, 2 undecided, 3 retake the picture; 64 wrong call,\n65 "
           "damaged input, 66 no such input, 70 internal error, 73 can't write.",
  .choice = "verb",
  .commands = verbs,
};
