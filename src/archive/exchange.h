/*
 * What the forms of exchange share.
 */
#ifndef WS_ARCHIVE_EXCHANGE_H
#define WS_ARCHIVE_EXCHANGE_H

#include <whetsight/exchange.h>
#include <whetsight/result.h>

#include "archive/columns.h"

G_BEGIN_DECLS

typedef struct
{
  const char *name;
  void (*start) (WsExchange *exchange, GString *out);
  gboolean (*add) (WsExchange *exchange, const WsInspection *inspection, json_t *record,
                   const GArray *rows, GString *out, GError **error);
  /* Of one that isn't as it was written; or NULL. */
  void (*doubt) (WsExchange *exchange, const WsInspection *inspection);
  /* As ws_exchange_finish(); or NULL. */
  gboolean (*finish) (WsExchange *exchange, GString *out, gboolean *more, GError **error);
  void (*free_state) (gpointer state); /* or NULL */
} WsExchangeKind;

extern const WsExchangeKind wsi_exchange_csv;
extern const WsExchangeKind wsi_exchange_jsonl;
extern const WsExchangeKind wsi_exchange_qif;
extern const WsExchangeKind wsi_exchange_mtconnect;

struct WsExchange
{
  const WsExchangeKind *kind;
  WsQuantityLookup lookup;
  char *time;
  gboolean started;
  gpointer state; /* the kind's own; made when it is first needed */
};

/* A line of the form WS_EXCHANGE_JSONL, notes aside; `more` are members that stand in front. */
void wsi_exchange_append_line (GString *out, const WsInspection *inspection, const char *more);

/* As ws_exchange_add() and ws_exchange_read(), with what the record was parsed to; an inspection
 * that is added came checked out of an archive.  `lean` is zero before, and cleared in any case. */
gboolean wsi_exchange_add_parsed (WsExchange *exchange, const WsInspection *inspection,
                                  json_t *record, GString *out, GError **error);
WsInspection *wsi_exchange_read_parsed (const char *line, WsLean *lean, GError **error);

/* What was added of one tool to an exchange of WS_EXCHANGE_MTCONNECT, as an element by itself;
 * nothing where nothing of it is known.  Errors: WS_ERROR_CANT_WRITE. */
gboolean wsi_exchange_mtconnect_asset (WsExchange *exchange, const char *tool, GString *out,
                                       GError **error);

/* The ISO 13399 symbol of a quantity where it has one, else NULL. */
const char *wsi_exchange_symbol (const WsExchange *exchange, const WsInspection *inspection,
                                 const char *name);

/* Sets `error` for what couldn't be kept or written; returns FALSE. */
gboolean wsi_exchange_refuse (GError **error);

/* A decimal number without exponent, to the nanometre and the nano-degree; free with g_free(). */
char *wsi_exchange_decimal (double value);

G_END_DECLS

#endif
