/*
 * MTConnect 2.4 cutting-tool assets: one a tool, with what its last usable inspection measured.
 * Element names and codes by the schema and the ISO 13399 symbols; quantities without an element
 * of their own have no place there.
 */
#include <math.h>
#include <string.h>

#include "archive/exchange.h"

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

static void
append_bound (GString *out, const char *name, double value)
{
  if (!isfinite (value))
    return;
  g_autofree char *text = ws_exchange_decimal (value);
  g_string_append_printf (out, " %s=\"%s\"", name, text);
}

static void
append_measurement (const Element *element, const WsRow *row, GString *out)
{
  g_autofree char *value = ws_exchange_decimal (row->value);
  g_string_append_printf (out, "<%s code=\"%s\" units=\"%s\"", element->element, element->symbol,
                          g_str_has_suffix (row->name, "_deg") ? "DEGREE" : "MILLIMETER");
  append_bound (out, "minimum", row->lower);
  append_bound (out, "maximum", row->upper);
  g_string_append_printf (out, ">%s</%s>\n", value, element->element);
}

static guint
append_measurements (const WsExchange *exchange, const WsInspection *inspection, const GArray *rows,
                     gboolean of_item, GString *out)
{
  guint n = 0;
  for (guint i = 0; i < rows->len; i++)
  {
    const WsRow *row = &g_array_index (rows, WsRow, i);
    const Element *element = element_for (ws_exchange_symbol (exchange, inspection, row->name));
    if (element == NULL || element->of_item != of_item || !isfinite (row->value) ||
        g_str_has_suffix (row->name, "_px"))
      continue;
    append_measurement (element, row, out);
    n++;
  }
  return n;
}

static const char *
status_of (const char *verdict)
{
  if (g_strcmp0 (verdict, "accept") == 0)
    return "AVAILABLE";
  return g_strcmp0 (verdict, "reject") == 0 ? "UNAVAILABLE" : "UNKNOWN";
}

static void
append_life_cycle (const WsExchange *exchange, const WsInspection *inspection, const GArray *rows,
                   GString *out)
{
  GString *whole = g_string_new (NULL);
  GString *item = g_string_new (NULL);
  const guint n_whole = append_measurements (exchange, inspection, rows, FALSE, whole);
  const guint n_item = append_measurements (exchange, inspection, rows, TRUE, item);
  g_string_append_printf (out,
                          "<CuttingToolLifeCycle>\n<CutterStatus><Status>MEASURED</Status>"
                          "<Status>%s</Status>%s</CutterStatus>\n",
                          status_of (inspection->verdict),
                          inspection->reground ? "<Status>RECONDITIONED</Status>" : "");
  if (n_whole > 0)
    g_string_append_printf (out, "<Measurements>\n%s</Measurements>\n", whole->str);
  if (n_item > 0)
    g_string_append_printf (out,
                            "<CuttingItems count=\"1\"><CuttingItem indices=\"1\"><Measurements>\n"
                            "%s</Measurements></CuttingItem></CuttingItems>\n",
                            item->str);
  g_string_append (out, "</CuttingToolLifeCycle>\n");
  g_string_free (whole, TRUE);
  g_string_free (item, TRUE);
}

static void
append_named (GString *out, const char *attribute, const char *text)
{
  g_string_append_printf (out, " %s=\"", attribute);
  ws_exchange_append_xml (out, text);
  g_string_append_c (out, '"');
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

static void
add (WsExchange *exchange, const WsInspection *inspection, const GArray *rows, GString *out)
{
  const char *tool = inspection->tool != NULL ? inspection->tool : inspection->id;
  g_autofree char *tool_id = plain_id (tool);
  GString *asset = g_string_new ("<CuttingTool");
  (void)out;
  append_named (asset, "assetId", tool);
  append_named (asset, "serialNumber", tool);
  append_named (asset, "toolId", tool_id);
  append_named (asset, "timestamp", inspection->time);
  g_string_append (asset, ">\n<Description>");
  ws_exchange_append_xml (asset, inspection->kind);
  g_string_append (asset, ", inspection ");
  ws_exchange_append_xml (asset, inspection->id);
  g_string_append (asset, "</Description>\n");
  append_life_cycle (exchange, inspection, rows, asset);
  g_string_append (asset, "</CuttingTool>\n");

  const gboolean known = g_hash_table_contains (exchange->assets, tool);
  if (!known)
    g_ptr_array_add (exchange->tools, g_strdup (tool));
  /* A retake measured nothing: it doesn't replace what did. */
  if (!known || rows->len > 0)
    g_hash_table_insert (exchange->assets, g_strdup (tool), g_string_free (asset, FALSE));
  else
    g_string_free (asset, TRUE);
}

static void
finish (WsExchange *exchange, GString *out)
{
  const guint n = exchange->tools->len;
  g_string_append_printf (
    out,
    "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
    "<MTConnectAssets xmlns=\"" NAMESPACE "\">\n"
    "<Header creationTime=\"%s\" deviceModelChangeTime=\"%s\" sender=\"whetsight\" "
    "instanceId=\"1\" version=\"2.4.0.0\" "
    "assetBufferSize=\"%u\" assetCount=\"%u\"/>\n<Assets>\n",
    exchange->time, exchange->time, MAX (n, 1), n);
  for (guint i = 0; i < n; i++)
    g_string_append (
      out, g_hash_table_lookup (exchange->assets, g_ptr_array_index (exchange->tools, i)));
  g_string_append (out, "</Assets>\n</MTConnectAssets>\n");
}

const WsExchangeKind ws_exchange_mtconnect = { "mtconnect", NULL, add, finish };
