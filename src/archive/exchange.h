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
  void (*add) (WsExchange *exchange, const WsInspection *inspection, const GArray *rows,
               GString *out);
  void (*finish) (WsExchange *exchange, GString *out);
} WsExchangeKind;

extern const WsExchangeKind ws_exchange_csv;
extern const WsExchangeKind ws_exchange_jsonl;
extern const WsExchangeKind ws_exchange_qif;
extern const WsExchangeKind ws_exchange_mtconnect;

struct WsExchange
{
  const WsExchangeKind *kind;
  WsQuantityLookup lookup;
  char *time;
  gboolean started;

  /* QIF: parts that the document wants apart, and what they hold. */
  GString *definitions, *nominals, *items, *results;
  guint n_characteristics, n_results;
  guint last_id;
  GHashTable *item_ids; /* tool, quantity, limits -> id of the item */

  GHashTable *assets; /* MTConnect: tool -> its asset */
  GPtrArray *tools;   /* in the order they came */
};

/* The ISO 13399 symbol of a quantity where it has one, else NULL. */
const char *ws_exchange_symbol (const WsExchange *exchange, const WsInspection *inspection,
                                const char *name);

/* Adds text with what XML reserves escaped, and what it can't hold left out. */
void ws_exchange_append_xml (GString *out, const char *text);

/* A decimal number without exponent, to the nanometre and the nano-degree; free with g_free(). */
char *ws_exchange_decimal (double value);

G_END_DECLS

#endif
