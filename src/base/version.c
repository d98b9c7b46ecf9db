#include <whetsight/version.h>

const char *
ws_version (void)
{
  return WS_VERSION;
}
