#include "cli/calibrate.h"

#include "cli/verbs.h"

static const WsCommand *const methods[] = { &wsi_method_pin, &wsi_method_disc, &wsi_method_target,
                                            NULL };

const WsCommand wsi_verb_calibrate = {
  .name = "calibrate",
  .summary = "find a camera's scale from things of known size",
  .about = "Finds a camera's scale from pictures of things of known size and keeps it in a "
           "file\nthat whetsight measure --calib takes.",
  .choice = "method",
  .commands = methods,
};
