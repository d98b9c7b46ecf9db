#include <math.h>

#include "archive/exchange.h"
#include "archive/note.h"
#include "base/csv.h"
#include "base/number.h"

static const char *const header[] = { "id",
                                      "time",
                                      "tool",
                                      "kind",
                                      "view",
                                      "station",
                                      "grinder",
                                      "reground",
                                      "image",
                                      "verdict",
                                      "reason",
                                      "quantity",
                                      "symbol",
                                      "value",
                                      "U",
                                      "k",
                                      "lower",
                                      "upper",
                                      "quantity_verdict",
                                      "smallest_seen",
                                      "imported",
                                      "clock_set_back_from",
                                      "released_against_verdict",
                                      "notes",
                                      NULL };

static void
begin (WsExchange *exchange, GString *out)
{
  (void)exchange;
  wsi_csv_append_row (out, header);
}

/* Unknown is empty. */
static char *
number (double value)
{
  return isfinite (value) ? wsi_number_exact (value) : g_strdup ("");
}

static const char *
word (const char *text)
{
  return text != NULL ? text : "";
}

/* What all lines of an inspection begin with. */
static void
append_start (const WsInspection *inspection, GString *out)
{
  const char *const fields[] = { inspection->id,
                                 inspection->time,
                                 word (inspection->tool),
                                 inspection->kind,
                                 inspection->view,
                                 word (inspection->station),
                                 word (inspection->grinder),
                                 inspection->reground ? "yes" : "no",
                                 word (inspection->image),
                                 word (inspection->verdict),
                                 word (inspection->reason),
                                 "",
                                 NULL };
  wsi_csv_append_fields (out, fields);
}

/* And end with. */
static void
append_end (const WsInspection *inspection, GString *out)
{
  g_autofree char *notes = wsi_notes_words (inspection);
  const char *const fields[] = { "",
                                 word (inspection->imported),
                                 word (inspection->clock),
                                 wsi_notes_release (inspection) != NULL ? "yes" : "no",
                                 word (notes),
                                 NULL };
  wsi_csv_append_row (out, fields);
}

static void
append (const WsExchange *exchange, const WsInspection *inspection, const WsRow *row, GString *out)
{
  g_autofree char *value = number (row->value);
  g_autofree char *U = number (row->U);
  g_autofree char *k = number (row->k);
  g_autofree char *lower = number (row->lower);
  g_autofree char *upper = number (row->upper);
  g_autofree char *smallest_seen = number (row->smallest_seen);
  const char *symbol =
    row->name != NULL ? wsi_exchange_symbol (exchange, inspection, row->name) : NULL;
  const char *const fields[] = { word (row->name),    word (symbol), value, U, k, lower, upper,
                                 word (row->verdict), smallest_seen, NULL };
  wsi_csv_append_fields (out, fields);
}

/* A retake has no quantities, and still a line. */
static gboolean
add (WsExchange *exchange, const WsInspection *inspection, json_t *record, const GArray *rows,
     GString *out, GError **error)
{
  const WsRow none = { NULL, NAN, NAN, NAN, NAN, NAN, NULL, NAN };
  g_autoptr (GString) start = g_string_new (NULL);
  g_autoptr (GString) end = g_string_new (NULL);
  (void)record;
  (void)error;
  append_start (inspection, start);
  append_end (inspection, end);
  for (guint i = 0; i < MAX (rows->len, 1); i++)
  {
    g_string_append_len (out, start->str, (gssize)start->len);
    append (exchange, inspection, rows->len > 0 ? &g_array_index (rows, WsRow, i) : &none, out);
    g_string_append_len (out, end->str, (gssize)end->len);
  }
  return TRUE;
}

const WsExchangeKind wsi_exchange_csv = { "csv", begin, add, NULL, NULL, NULL };
