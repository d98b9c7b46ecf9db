/*
 * Inspections for other programs, and back.
 */
#ifndef WHETSIGHT_EXCHANGE_H
#define WHETSIGHT_EXCHANGE_H

#include <whetsight/archive.h>
#include <whetsight/result.h>

G_BEGIN_DECLS

typedef enum
{
  WS_EXCHANGE_CSV,       /* RFC 4180, a line a quantity */
  WS_EXCHANGE_JSONL,     /* a line an inspection, whole; ws_exchange_read() takes it back */
  WS_EXCHANGE_QIF,       /* QIF 3.0 results */
  WS_EXCHANGE_MTCONNECT, /* MTConnect 2.4 cutting-tool assets, one a tool, by all its views */
  WS_N_EXCHANGES
} WsExchangeForm;

/* "csv", "jsonl", "qif", "mtconnect"; static. */
const char *ws_exchange_name (WsExchangeForm form);

/* What a view says of a quantity, by its full name; NULL when unknown. */
typedef const WsQuantityInfo *(*WsQuantityLookup) (const char *view, const char *name);

typedef struct WsExchange WsExchange;

/* `time` of writing, ISO 8601, UTC.  Free with ws_exchange_free(). */
WsExchange *ws_exchange_new (WsExchangeForm form, WsQuantityLookup lookup, const char *time);
void ws_exchange_free (WsExchange *exchange);

/* Appends what can be written by now to `out`.  Of an inspection that isn't as it was written
 * nothing is; its tool is never said to be available.  Errors: WS_ERROR_DATA when the record is
 * none, WS_ERROR_CANT_WRITE when there is no room for what has to wait. */
gboolean ws_exchange_add (WsExchange *exchange, const WsInspection *inspection, GString *out,
                          GError **error);

/* Appends the next piece of what is left to `out`; to be called again while that sets `more`, so
 * that the whole is never held.  Errors: WS_ERROR_CANT_WRITE. */
gboolean ws_exchange_finish (WsExchange *exchange, GString *out, gboolean *more, GError **error);

/* An inspection from a line of WS_EXCHANGE_JSONL, or from a bare record as measure --json prints
 * it.  Errors: WS_ERROR_DATA.  Free with ws_inspection_free(). */
WsInspection *ws_exchange_read (const char *line, GError **error);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsExchange, ws_exchange_free)

G_END_DECLS

#endif
