#include <whetsight/report.h>

#include "base/file.h"

gboolean
ws_report_save (const char *path, const void *bytes, gsize n_bytes, GError **error)
{
  return wsi_file_save (path, bytes, n_bytes, error);
}
