#include <whetsight/error.h>
#include <whetsight/step.h>

gboolean
ws_steps_tell (const WsSteps *steps, const WsStep *step, GError **error)
{
  if (steps == NULL || steps->func == NULL || steps->func (step, steps->data))
    return TRUE;
  g_set_error_literal (error, WS_ERROR, WS_ERROR_CANCELLED, "stopped before it was done");
  return FALSE;
}
