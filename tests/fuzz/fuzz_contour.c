/*
 * libFuzzer target for nominal profiles: build/fuzz/tests/fuzz_contour CORPUS_FOLDER
 */
#include <math.h>
#include <stdint.h>

#include <whetsight/contour.h>

#include "contour/correct.h"

int LLVMFuzzerTestOneInput (const uint8_t *bytes, size_t n_bytes);

/* What was taken must be one chain of finite segments, and stay so when corrected. */
static void
check (const WsContour *contour)
{
  for (guint i = 0; i < contour->segments->len; i++)
  {
    const WsContourSegment *s = &g_array_index (contour->segments, WsContourSegment, i);
    if (!isfinite (s->from.x + s->from.y + s->to.x + s->to.y + s->sweep + s->radius))
      g_error ("a segment that isn't finite");
    if (s->number < 1 || s->number > contour->n_numbers)
      g_error ("a segment without a number");
  }
}

int
LLVMFuzzerTestOneInput (const uint8_t *bytes, size_t n_bytes)
{
  const WsFormCorrection correction = { 0.1, 0.2, 5, NAN };
  g_autoptr (GError) error = NULL;
  g_autoptr (WsContour) contour = ws_contour_parse ((const char *)bytes, n_bytes, "fuzz", &error);
  if ((contour == NULL) != (error != NULL))
    g_error ("a profile and an error, or neither");
  if (contour == NULL)
    return 0;
  check (contour);
  g_autoptr (WsContour) tool = wsi_form_correct (contour, &correction);
  check (tool);
  return 0;
}
