#include "tool/cautions.h"

void
wsi_cautions_add (WsResult *result)
{
  static const char *const cautions[] = {
    "Wear eye protection.",
    "Keep the wheel's guards on and the tool rest close to the wheel.",
    "No gloves, loose sleeves or cloth near the turning wheel.",
    "Keep grinding dust out of your lungs: use the extraction.",
    "Follow your shop's and your local safety rules; they come first.",
  };
  for (gsize i = 0; i < G_N_ELEMENTS (cautions); i++)
    g_ptr_array_add (result->cautions, g_strdup (cautions[i]));
}
