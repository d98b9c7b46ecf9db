#include "archive/exchange.h"

#include <jansson.h>
#include <string.h>

#include <whetsight/error.h>

#include "base/number.h"

#define DECIMALS 9

static const WsExchangeKind *const kinds[WS_N_EXCHANGES] = {
  [WS_EXCHANGE_CSV] = &ws_exchange_csv,
  [WS_EXCHANGE_JSONL] = &ws_exchange_jsonl,
  [WS_EXCHANGE_QIF] = &ws_exchange_qif,
  [WS_EXCHANGE_MTCONNECT] = &ws_exchange_mtconnect,
};

const char *
ws_exchange_name (WsExchangeForm form)
{
  return kinds[form]->name;
}

const char *
ws_exchange_symbol (const WsExchange *exchange, const WsInspection *inspection, const char *name)
{
  const WsQuantityInfo *info =
    exchange->lookup != NULL ? exchange->lookup (inspection->view, name) : NULL;
  return info != NULL ? info->symbol : NULL;
}

void
ws_exchange_append_xml (GString *out, const char *text)
{
  for (const char *at = text; *at != '\0'; at = g_utf8_next_char (at))
  {
    const gunichar c = g_utf8_get_char (at);
    /* XML 1.0, production 2: Char. */
    if ((c < 0x20 && c != '\t' && c != '\n') || c == 0xFFFE || c == 0xFFFF)
      continue;
    g_autofree char *escaped = g_markup_escape_text (at, g_utf8_next_char (at) - at);
    g_string_append (out, escaped);
  }
}

char *
ws_exchange_decimal (double value)
{
  char *text = ws_number_format (value, DECIMALS);
  gsize n = strlen (text);
  while (n > 0 && text[n - 1] == '0')
    n--;
  text[text[n - 1] == '.' ? n - 1 : n] = '\0';
  return text;
}

WsExchange *
ws_exchange_new (WsExchangeForm form, WsQuantityLookup lookup, const char *time)
{
  WsExchange *exchange = g_new0 (WsExchange, 1);
  exchange->kind = kinds[form];
  exchange->lookup = lookup;
  exchange->time = g_strdup (time);
  exchange->definitions = g_string_new (NULL);
  exchange->nominals = g_string_new (NULL);
  exchange->items = g_string_new (NULL);
  exchange->results = g_string_new (NULL);
  exchange->item_ids = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL);
  exchange->assets = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, g_free);
  exchange->tools = g_ptr_array_new_with_free_func (g_free);
  return exchange;
}

void
ws_exchange_free (WsExchange *exchange)
{
  if (exchange == NULL)
    return;
  g_string_free (exchange->definitions, TRUE);
  g_string_free (exchange->nominals, TRUE);
  g_string_free (exchange->items, TRUE);
  g_string_free (exchange->results, TRUE);
  g_hash_table_unref (exchange->item_ids);
  g_hash_table_unref (exchange->assets);
  g_ptr_array_unref (exchange->tools);
  g_free (exchange->time);
  g_free (exchange);
}

static void
start (WsExchange *exchange, GString *out)
{
  if (!exchange->started && exchange->kind->start != NULL)
    exchange->kind->start (exchange, out);
  exchange->started = TRUE;
}

static void
note_row (const WsRow *row, gpointer data)
{
  WsRow copy = *row;
  copy.name = g_intern_string (row->name);
  copy.verdict = g_intern_string (row->verdict);
  g_array_append_val ((GArray *)data, copy);
}

gboolean
ws_exchange_add (WsExchange *exchange, const WsInspection *inspection, GString *out, GError **error)
{
  g_autoptr (GArray) rows = g_array_new (FALSE, FALSE, sizeof (WsRow));
  g_autoptr (WsInspection) read = g_new0 (WsInspection, 1);
  read->record = g_strdup (inspection->record);
  if (!ws_columns_fill (read, note_row, rows, error))
    return FALSE;
  start (exchange, out);
  exchange->kind->add (exchange, inspection, rows, out);
  return TRUE;
}

void
ws_exchange_finish (WsExchange *exchange, GString *out)
{
  start (exchange, out);
  if (exchange->kind->finish != NULL)
    exchange->kind->finish (exchange, out);
}
