#include "cli/verbs.h"

static const WsCommand *const verbs[] = {
  &wsi_verb_measure,   &wsi_verb_card,    &wsi_verb_calibrate,
  &wsi_verb_verify,    &wsi_verb_explain, &wsi_verb_aim,
  &wsi_verb_capture,   &wsi_verb_serve,   &wsi_verb_archive,
  &wsi_verb_remeasure, &wsi_verb_report,  &wsi_verb_trend,
  &wsi_verb_trace,     &wsi_verb_study,   &wsi_verb_plant,
  &wsi_verb_feed,      &wsi_verb_views,   NULL,
};

const WsCommand wsi_program = {
  .name = "whetsight",
  .about = "Measures ground tools in photographs.",
  .notes = "whetsight --version the program's version",
  .exits = "Exit status: 0 accept, 1 reject, 2 undecided, 3 retake the picture; 64 wrong call,\n65 "
           "damaged input, 66 no such input, 70 internal error, 73 can't write.",
  .choice = "verb",
  .commands = verbs,
};
