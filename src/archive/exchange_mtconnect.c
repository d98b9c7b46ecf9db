/*
 * MTConnect 2.4 cutting-tool assets: one a tool, with what its last usable inspection measured.
 * Element names and codes by the schema and the ISO 13399 symbols; quantities without an element
 * of their own have no place there.
 */
#include <math.h>
#include <string.h>

#include "archive/exchange.h"
#include "archive/xml.h"

#define NAMESPACE "urn:mtconnect.org:MTConnectAssets:2.4"

typedef struct
{
  const char *symbol;
  const char *element;
  gboolean of_item; /* of the cutting edges, not of the whole tool */
} Element;

static const Element elements[] = {
  { "DC", "CuttingDiameterMax", FALSE }, { "SIG", "PointAngle", TRUE },
  { "RE", "CornerRadius", TRUE },        { "KAPR", "ToolCuttingEdgeAngle", TRUE },
  { "PSIR", "ToolLeadAngle", TRUE },     { "BS", "WiperEdgeLength", TRUE },
  { "WF", "FunctionalWidth", TRUE },
};

static const Element *
element_for (const char *symbol)
{
  for (gsize i = 0; symbol != NULL && i < G_N_ELEMENTS (elements); i++)
    if (g_str_equal (elements[i].symbol, symbol))
      return &elements[i];
  return NULL;
}

/* tool -> its asset, and the tools in the order they came. */
typedef struct
{
  GHashTable *assets;
  GPtrArray *tools;
} State;

static State *
state_of (WsExchange *exchange)
{
  if (exchange->state != NULL)
    return exchange->state;
  State *state = g_new0 (State, 1);
  state->assets = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, g_free);
  state->tools = g_ptr_array_new_with_free_func (g_free);
  exchange->state = state;
  return state;
}

static void
free_state (gpointer data)
{
  State *state = data;
  g_hash_table_unref (state->assets);
  g_ptr_array_unref (state->tools);
  g_free (state);
}

static void
write_bound (WsXml *xml, const char *name, double value)
{
  if (!isfinite (value))
    return;
  g_autofree char *text = wsi_exchange_decimal (value);
  wsi_xml_attribute (xml, name, text);
}

static void
write_measurement (WsXml *xml, const Element *element, const WsRow *row)
{
  g_autofree char *value = wsi_exchange_decimal (row->value);
  wsi_xml_start (xml, element->element);
  wsi_xml_attribute (xml, "code", element->symbol);
  wsi_xml_attribute (xml, "units", g_str_has_suffix (row->name, "_deg") ? "DEGREE" : "MILLIMETER");
  write_bound (xml, "minimum", row->lower);
  write_bound (xml, "maximum", row->upper);
  wsi_xml_text (xml, value);
  wsi_xml_end (xml);
  wsi_xml_line (xml);
}

/* Those of the cutting edges lie two elements deeper. */
static void
open_measurements (WsXml *xml, gboolean of_item)
{
  if (of_item)
  {
    wsi_xml_start (xml, "CuttingItems");
    wsi_xml_attribute (xml, "count", "1");
    wsi_xml_start (xml, "CuttingItem");
    wsi_xml_attribute (xml, "indices", "1");
  }
  wsi_xml_start (xml, "Measurements");
  wsi_xml_line (xml);
}

static void
close_measurements (WsXml *xml, gboolean of_item)
{
  for (int i = 0; i < (of_item ? 3 : 1); i++)
    wsi_xml_end (xml);
  wsi_xml_line (xml);
}

/* Nothing where there are none. */
static void
write_measurements (WsXml *xml, const WsExchange *exchange, const WsInspection *inspection,
                    const GArray *rows, gboolean of_item)
{
  guint n = 0;
  for (guint i = 0; i < rows->len; i++)
  {
    const WsRow *row = &g_array_index (rows, WsRow, i);
    const Element *element = element_for (wsi_exchange_symbol (exchange, inspection, row->name));
    if (element == NULL || element->of_item != of_item || !isfinite (row->value) ||
        g_str_has_suffix (row->name, "_px"))
      continue;
    if (n++ == 0)
      open_measurements (xml, of_item);
    write_measurement (xml, element, row);
  }
  if (n > 0)
    close_measurements (xml, of_item);
}

static const char *
status_of (const char *verdict)
{
  if (g_strcmp0 (verdict, "accept") == 0)
    return "AVAILABLE";
  return g_strcmp0 (verdict, "reject") == 0 ? "UNAVAILABLE" : "UNKNOWN";
}

static void
write_life_cycle (WsXml *xml, const WsExchange *exchange, const WsInspection *inspection,
                  const GArray *rows)
{
  wsi_xml_start (xml, "CuttingToolLifeCycle");
  wsi_xml_line (xml);
  wsi_xml_start (xml, "CutterStatus");
  wsi_xml_element (xml, "Status", "MEASURED");
  wsi_xml_element (xml, "Status", status_of (inspection->verdict));
  if (inspection->reground)
    wsi_xml_element (xml, "Status", "RECONDITIONED");
  wsi_xml_end (xml);
  wsi_xml_line (xml);
  write_measurements (xml, exchange, inspection, rows, FALSE);
  write_measurements (xml, exchange, inspection, rows, TRUE);
  wsi_xml_end (xml);
  wsi_xml_line (xml);
}

/* The schema wants an NMTOKEN: letters, digits, points, dashes and underscores, of ASCII here. */
static char *
plain_id (const char *text)
{
  char *id = g_strdup (text);
  for (char *c = id; *c != '\0'; c++)
    if (!g_ascii_isalnum (*c) && strchr ("._-", *c) == NULL)
      *c = '-';
  return id;
}

/* Free with g_free(). */
static char *
asset_of (const WsExchange *exchange, const WsInspection *inspection, const GArray *rows,
          const char *tool)
{
  g_autofree char *tool_id = plain_id (tool);
  GString *asset = g_string_new (NULL);
  WsXml *xml = wsi_xml_new (asset);
  wsi_xml_start (xml, "CuttingTool");
  wsi_xml_attribute (xml, "assetId", tool);
  wsi_xml_attribute (xml, "serialNumber", tool);
  wsi_xml_attribute (xml, "toolId", tool_id);
  wsi_xml_attribute (xml, "timestamp", inspection->time);
  wsi_xml_line (xml);
  wsi_xml_start (xml, "Description");
  wsi_xml_text (xml, inspection->kind);
  wsi_xml_text (xml, ", inspection ");
  wsi_xml_text (xml, inspection->id);
  wsi_xml_end (xml);
  wsi_xml_line (xml);
  write_life_cycle (xml, exchange, inspection, rows);
  wsi_xml_end (xml);
  wsi_xml_line (xml);
  wsi_xml_flush (xml);
  wsi_xml_free (xml);
  return g_string_free (asset, FALSE);
}

static gboolean
add (WsExchange *exchange, const WsInspection *inspection, const GArray *rows, GString *out,
     GError **error)
{
  State *state = state_of (exchange);
  const char *tool = inspection->tool != NULL ? inspection->tool : inspection->id;
  const gboolean known = g_hash_table_contains (state->assets, tool);
  (void)out;
  (void)error;
  if (!known)
    g_ptr_array_add (state->tools, g_strdup (tool));
  /* A retake measured nothing: it doesn't replace what did. */
  if (!known || rows->len > 0)
    g_hash_table_insert (state->assets, g_strdup (tool),
                         asset_of (exchange, inspection, rows, tool));
  return TRUE;
}

static void
write_header (WsXml *xml, const WsExchange *exchange, guint n)
{
  wsi_xml_start (xml, "Header");
  wsi_xml_attribute (xml, "creationTime", exchange->time);
  wsi_xml_attribute (xml, "deviceModelChangeTime", exchange->time);
  wsi_xml_attribute (xml, "sender", "whetsight");
  wsi_xml_attribute (xml, "instanceId", "1");
  wsi_xml_attribute (xml, "version", "2.4.0.0");
  wsi_xml_attribute_count (xml, "assetBufferSize", MAX (n, 1));
  wsi_xml_attribute_count (xml, "assetCount", n);
  wsi_xml_end (xml);
  wsi_xml_line (xml);
}

/* All at once: as long as the tools are many, not as what they were measured. */
static gboolean
finish (WsExchange *exchange, GString *out, gboolean *more, GError **error)
{
  const State *state = state_of (exchange);
  WsXml *xml = wsi_xml_new (out);
  *more = FALSE;
  wsi_xml_document (xml, NULL);
  wsi_xml_start (xml, "MTConnectAssets");
  wsi_xml_attribute (xml, "xmlns", NAMESPACE);
  wsi_xml_line (xml);
  write_header (xml, exchange, state->tools->len);
  wsi_xml_start (xml, "Assets");
  wsi_xml_line (xml);
  for (guint i = 0; i < state->tools->len; i++)
  {
    const char *asset = g_hash_table_lookup (state->assets, g_ptr_array_index (state->tools, i));
    wsi_xml_insert (xml, asset, strlen (asset));
  }
  wsi_xml_end (xml);
  wsi_xml_line (xml);
  wsi_xml_end (xml);
  wsi_xml_line (xml);
  const gboolean done = wsi_xml_flush (xml);
  wsi_xml_free (xml);
  return done || wsi_exchange_refuse (error);
}

const WsExchangeKind wsi_exchange_mtconnect = { "mtconnect", NULL, add, finish, free_state };
