#include "report/pdf/read.h"

#include <math.h>

const char *
wsi_record_text (const json_t *object, const char *key)
{
  return json_string_value (json_object_get (object, key));
}

double
wsi_record_number (const json_t *object, const char *key)
{
  const json_t *value = json_object_get (object, key);
  return json_is_number (value) ? json_number_value (value) : NAN;
}

WsVerdict
wsi_record_verdict (const char *name)
{
  for (int i = WS_VERDICT_ACCEPT; name != NULL && i <= WS_VERDICT_RETAKE; i++)
    if (g_str_equal (name, ws_verdict_name ((WsVerdict)i)))
      return (WsVerdict)i;
  return WS_VERDICT_NONE;
}

const char *
wsi_record_sentence (const char *reason)
{
  for (int i = 1; reason != NULL && i < WS_N_RETAKES; i++)
    if (g_str_equal (reason, ws_retake_code ((WsRetake)i)))
      return ws_retake_sentence ((WsRetake)i);
  return NULL;
}

char *
wsi_record_size (double size)
{
  char buffer[G_ASCII_DTOSTR_BUF_SIZE];
  return g_strdup (isfinite (size) ? g_ascii_formatd (buffer, sizeof buffer, "%.12g", size) : "");
}
