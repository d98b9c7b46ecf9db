#include "archive/exchange.h"

#include <string.h>

#include <whetsight/error.h>

#include "base/number.h"

#define DECIMALS 9

static const WsExchangeKind *const kinds[WS_N_EXCHANGES] = {
  [WS_EXCHANGE_CSV] = &wsi_exchange_csv,
  [WS_EXCHANGE_JSONL] = &wsi_exchange_jsonl,
  [WS_EXCHANGE_QIF] = &wsi_exchange_qif,
  [WS_EXCHANGE_MTCONNECT] = &wsi_exchange_mtconnect,
};

const char *
ws_exchange_name (WsExchangeForm form)
{
  return kinds[form]->name;
}

const char *
wsi_exchange_symbol (const WsExchange *exchange, const WsInspection *inspection, const char *name)
{
  const WsQuantityInfo *info =
    exchange->lookup != NULL ? exchange->lookup (inspection->view, name) : NULL;
  return info != NULL ? info->symbol : NULL;
}

gboolean
wsi_exchange_refuse (GError **error)
{
  g_set_error_literal (error, WS_ERROR, WS_ERROR_CANT_WRITE,
                       "no room to put the export together; make room where temporary files go");
  return FALSE;
}

char *
wsi_exchange_decimal (double value)
{
  char *text = wsi_number_format (value, DECIMALS);
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
  return exchange;
}

void
ws_exchange_free (WsExchange *exchange)
{
  if (exchange == NULL)
    return;
  if (exchange->state != NULL)
    exchange->kind->free_state (exchange->state);
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
  g_array_append_val ((GArray *)data, *row);
}

gboolean
wsi_exchange_add_parsed (WsExchange *exchange, const WsInspection *inspection, json_t *record,
                         GString *out, GError **error)
{
  if (inspection->wrong != NULL)
  {
    if (exchange->kind->doubt != NULL)
      exchange->kind->doubt (exchange, inspection);
    return TRUE;
  }
  g_autoptr (GArray) rows = g_array_new (FALSE, FALSE, sizeof (WsRow));
  wsi_columns_each_quantity (record, note_row, rows);
  start (exchange, out);
  return exchange->kind->add (exchange, inspection, record, rows, out, error);
}

/* What it is parsed to is to be unreferenced; NULL when it is none. */
static json_t *
parse_checked (const WsInspection *inspection, GError **error)
{
  WsInspection read = { .record = inspection->record };
  json_t *record = wsi_columns_parse (inspection->record, error);
  if (record != NULL && !wsi_columns_fill_parsed (&read, record, NULL, NULL, error))
    g_clear_pointer (&record, json_decref);
  wsi_columns_clear (&read);
  return record;
}

gboolean
ws_exchange_add (WsExchange *exchange, const WsInspection *inspection, GString *out, GError **error)
{
  json_t *record = inspection->wrong == NULL ? parse_checked (inspection, error) : NULL;
  const gboolean added = (record != NULL || inspection->wrong != NULL) &&
                         wsi_exchange_add_parsed (exchange, inspection, record, out, error);
  json_decref (record);
  return added;
}

gboolean
ws_exchange_finish (WsExchange *exchange, GString *out, gboolean *more, GError **error)
{
  start (exchange, out);
  *more = FALSE;
  return exchange->kind->finish == NULL || exchange->kind->finish (exchange, out, more, error);
}
