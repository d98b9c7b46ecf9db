#include "archive/remeasured.h"

const WsNote *
wsi_remeasured_newest (const WsInspection *inspection, const char *reason)
{
  for (guint i = inspection->notes != NULL ? inspection->notes->len : 0; i-- > 0;)
  {
    const WsNote *note = g_ptr_array_index (inspection->notes, i);
    if (note->kind == WS_NOTE_REMEASURED && (reason == NULL || g_str_equal (note->text, reason)))
      return note;
  }
  return NULL;
}
