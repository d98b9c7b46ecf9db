#include "base/refusal.h"

gboolean
wsi_refusal_set (WsRefusal *refusal, WsRetake reason, const char *format, ...)
{
  va_list arguments;
  va_start (arguments, format);
  g_vsnprintf (refusal->detail, sizeof refusal->detail, format, arguments);
  va_end (arguments);
  refusal->reason = reason;
  return FALSE;
}
