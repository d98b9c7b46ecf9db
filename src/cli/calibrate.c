#include "cli/calibrate.h"

#include "cli/verbs.h"

static const WsCommand *const methods[] = { &ws_method_pin, &ws_method_disc, &ws_method_target,
                                            NULL };

const WsCommand ws_verb_calibrate = {
  .name = "calibrate",
  .summary = "find a camera's scale from things of known size",
  .about = "Finds a camera's scale from pictures of things of known size and keeps it in a "
           "file\nthat whetsight measure --calib takes.",
  .choice = "method",
  .commands = methods,
};
