/*
 * Printed reports and histories of records that came from outside: whatever is read is printed.
 */
#include <whetsight/pdf.h>

int LLVMFuzzerTestOneInput (const guint8 *bytes, gsize n_bytes);

int
LLVMFuzzerTestOneInput (const guint8 *bytes, gsize n_bytes)
{
  g_autofree char *line = g_strndup ((const char *)bytes, n_bytes);
  g_autoptr (WsInspection) inspection = ws_exchange_read (line, NULL);
  if (inspection == NULL)
    return 0;
  const WsPdfPage pages[] = { { .inspection = inspection }, { .inspection = inspection } };
  const WsPdfStyle style = { .lengths = WS_LENGTHS_MM_INCHES, .time = "2026-11-25T12:00:00Z" };
  g_autoptr (GError) error = NULL;
  g_autoptr (GBytes) pdf = ws_pdf_report (pages, n_bytes % 2 == 0 ? 2 : 1, &style, &error);
  if ((pdf == NULL) != (error != NULL))
    g_error ("a report and an error, or neither");
  const WsPdfTool tool = { "tool", pages, G_N_ELEMENTS (pages), NULL };
  g_clear_error (&error);
  g_autoptr (GBytes) history = ws_pdf_history (&tool, 1, &style, &error);
  if ((history == NULL) != (error != NULL))
    g_error ("a history and an error, or neither");
  return 0;
}
