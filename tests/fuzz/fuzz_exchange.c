/*
 * Lines that archive import takes: whatever is read is written again as every form.
 */
#include <whetsight/exchange.h>

int LLVMFuzzerTestOneInput (const guint8 *bytes, gsize n_bytes);

int
LLVMFuzzerTestOneInput (const guint8 *bytes, gsize n_bytes)
{
  g_autofree char *line = g_strndup ((const char *)bytes, n_bytes);
  g_autoptr (WsInspection) inspection = ws_exchange_read (line, NULL);
  for (int form = 0; inspection != NULL && form < WS_N_EXCHANGES; form++)
  {
    g_autoptr (GString) out = g_string_new (NULL);
    g_autoptr (WsExchange) exchange =
      ws_exchange_new ((WsExchangeForm)form, NULL, "2026-11-25T12:00:00Z");
    gboolean more = ws_exchange_add (exchange, inspection, out, NULL);
    while (more && ws_exchange_finish (exchange, out, &more, NULL))
      ;
  }
  return 0;
}
