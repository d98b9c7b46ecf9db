/*
 * View `form-face`: the flank under a form tool's profile edge in front light.  Definitions:
 * docs/methods/front-lit.md.
 */
#include <whetsight/view.h>

#include "tool/face/face_view.h"

static const WsQuantityInfo quantities[WS_FRONT_LIT_N] = { WS_FRONT_LIT_QUANTITIES };

#define KIND (1u << WS_KIND_FORM_TOOL)

static const WsRequired required[] = {
  { .kinds = KIND, .stem = "wear_land_mean" },
  { .kinds = KIND, .stem = "wear_land_max" },
  { .kinds = KIND, .stem = "burn_depth_max" },
};

const WsView wsi_view_form_face = {
  .name = "form-face",
  .summary = "flank under a form tool's edge in front light, in colour: wear land and burn",
  .kinds = 1u << WS_KIND_FORM_TOOL,
  .needs = WS_IMAGE_COLOUR,
  .quantities = quantities,
  .n_quantities = WS_FRONT_LIT_N,
  .required = required,
  .n_required = G_N_ELEMENTS (required),
  .measure = wsi_face_measure,
  .advise = wsi_face_advise,
};
