#include "archive/remeasured.h"

#include <string.h>

#include "archive/lean.h"
#include "archive/note.h"

static const char *
text_at (const json_t *object, const char *key)
{
  return json_string_value (json_object_get (object, key));
}

/* Another picture's numbers would be told as this one's. */
const char *
wsi_remeasured_differing (const WsInspection *inspection, const json_t *result)
{
  const json_t *tool = json_object_get (result, "tool");
  const json_t *image = json_object_get (result, "image");
  if (g_strcmp0 (text_at (image, "sha256"), inspection->image) != 0)
    return "of another picture";
  if (g_strcmp0 (text_at (result, "view"), inspection->view) != 0)
    return "of another view";
  return g_strcmp0 (text_at (tool, "id"), inspection->tool) == 0 ? NULL : "of another tool";
}

const char *
wsi_remeasured_differs (const WsInspection *inspection, const char *note)
{
  json_t *record = wsi_lean_parse (note, NULL);
  const json_t *result = json_object_get (record, WSI_NOTE_RESULT);
  const char *what = result != NULL ? wsi_remeasured_differing (inspection, result) : NULL;
  json_decref (record);
  return what;
}

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
