/*
 * QIF 3.0 (ISO 23952:2020, the number recalled from memory): results, one set for each inspection.
 * Ranges and units follow the XML schema; written for and checked against it.
 */
#include <math.h>

#include "archive/exchange.h"

#define STANDARD_ID 1
#define FIRST_FREE_ID 2

static guint
next_id (WsExchange *exchange)
{
  exchange->last_id = MAX (exchange->last_id + 1, FIRST_FREE_ID);
  return exchange->last_id;
}

/* "Angular", "Linear"; NULL for px, which no other program can use. */
static const char *
measure_of (const char *name)
{
  if (g_str_has_suffix (name, "_deg"))
    return "Angular";
  return g_str_has_suffix (name, "_mm") ? "Linear" : NULL;
}

static const char *
status_of (const char *verdict)
{
  static const char *const words[][2] = { { "accept", "PASS" },
                                          { "reject", "FAIL" },
                                          { "undecided", "INDETERMINATE" } };
  for (gsize i = 0; verdict != NULL && i < G_N_ELEMENTS (words); i++)
    if (g_str_equal (verdict, words[i][0]))
      return words[i][1];
  return "NOT_ANALYZED";
}

/* A whole document's has no "indeterminate". */
static const char *
inspection_status_of (const char *verdict)
{
  static const char *const words[][2] = { { "accept", "PASS" },
                                          { "reject", "FAIL" },
                                          { "undecided", "UNKNOWN" },
                                          { "retake", "NOT_MEASURED" } };
  for (gsize i = 0; verdict != NULL && i < G_N_ELEMENTS (words); i++)
    if (g_str_equal (verdict, words[i][0]))
      return words[i][1];
  return "NOT_CALCULATED";
}

static void
append_tolerance (GString *out, const WsRow *row)
{
  if (!isfinite (row->lower) && !isfinite (row->upper))
  {
    g_string_append (out, "<NonTolerance>MEASURED</NonTolerance>");
    return;
  }
  g_string_append (out, "<Tolerance>");
  if (isfinite (row->upper))
  {
    g_autofree char *upper = ws_exchange_decimal (row->upper);
    g_string_append_printf (out, "<MaxValue>%s</MaxValue>", upper);
  }
  if (isfinite (row->lower))
  {
    g_autofree char *lower = ws_exchange_decimal (row->lower);
    g_string_append_printf (out, "<MinValue>%s</MinValue>", lower);
  }
  g_string_append (out, "<DefinedAsLimit>true</DefinedAsLimit></Tolerance>");
}

static void
append_definition (WsExchange *exchange, const WsInspection *inspection, const WsRow *row,
                   const char *measure, guint id)
{
  const WsQuantityInfo *info =
    exchange->lookup != NULL ? exchange->lookup (inspection->view, row->name) : NULL;
  GString *out = exchange->definitions;
  g_string_append_printf (out, "<UserDefined%sCharacteristicDefinition id=\"%u\">", measure, id);
  append_tolerance (out, row);
  g_string_append (out, "<WhatToMeasure>");
  ws_exchange_append_xml (out, row->name);
  if (info != NULL)
  {
    g_string_append (out, ": ");
    ws_exchange_append_xml (out, info->meaning);
  }
  g_string_append_printf (out, "</WhatToMeasure></UserDefined%sCharacteristicDefinition>\n",
                          measure);
}

/* Definition, nominal and item of a quantity of one tool with one pair of limits, made once. */
static guint
item_for (WsExchange *exchange, const WsInspection *inspection, const WsRow *row,
          const char *measure)
{
  g_autofree char *key =
    g_strdup_printf ("%s\n%s\n%s\n%a\n%a", inspection->tool != NULL ? inspection->tool : "",
                     inspection->view, row->name, row->lower, row->upper);
  guint item = GPOINTER_TO_UINT (g_hash_table_lookup (exchange->item_ids, key));
  if (item != 0)
    return item;
  const guint definition = next_id (exchange);
  const guint nominal = next_id (exchange);
  const char *symbol = ws_exchange_symbol (exchange, inspection, row->name);
  item = next_id (exchange);
  append_definition (exchange, inspection, row, measure, definition);
  g_string_append_printf (
    exchange->nominals,
    "<UserDefined%sCharacteristicNominal id=\"%u\"><CharacteristicDefinitionId>"
    "%u</CharacteristicDefinitionId></UserDefined%sCharacteristicNominal>\n",
    measure, nominal, definition, measure);
  g_string_append_printf (exchange->items, "<UserDefined%sCharacteristicItem id=\"%u\"><Name>",
                          measure, item);
  ws_exchange_append_xml (exchange->items, symbol != NULL ? symbol : row->name);
  g_string_append_printf (exchange->items,
                          "</Name><CharacteristicNominalId>%u</CharacteristicNominalId>"
                          "</UserDefined%sCharacteristicItem>\n",
                          nominal, measure);
  exchange->n_characteristics++;
  g_hash_table_insert (exchange->item_ids, g_steal_pointer (&key), GUINT_TO_POINTER (item));
  return item;
}

static void
append_measurement (WsExchange *exchange, const WsInspection *inspection, const WsRow *row,
                    const char *measure, GString *out)
{
  const guint item = item_for (exchange, inspection, row, measure);
  g_autofree char *value = ws_exchange_decimal (row->value);
  g_string_append_printf (
    out,
    "<UserDefined%sCharacteristicMeasurement id=\"%u\"><Status><CharacteristicStatusEnum>%s"
    "</CharacteristicStatusEnum></Status><CharacteristicItemId>%u</CharacteristicItemId><Value",
    measure, next_id (exchange), status_of (row->verdict), item);
  if (isfinite (row->U) && isfinite (row->k) && row->k > 0.0)
  {
    /* "Combined" is the standard uncertainty in the words of JCGM 100, 2.3.4. */
    g_autofree char *u = ws_exchange_decimal (row->U / row->k);
    g_string_append_printf (out, " combinedUncertainty=\"%s\"", u);
  }
  g_string_append_printf (out, ">%s</Value></UserDefined%sCharacteristicMeasurement>\n", value,
                          measure);
}

static void
append_attribute (GString *out, const char *name, const char *value, guint *n)
{
  if (value == NULL)
    return;
  g_string_append_printf (out, "<AttributeStr name=\"%s\" value=\"", name);
  ws_exchange_append_xml (out, value);
  g_string_append (out, "\"/>");
  (*n)++;
}

static void
append_attributes (const WsInspection *inspection, GString *out)
{
  guint n = 0;
  GString *attributes = g_string_new (NULL);
  append_attribute (attributes, "inspection", inspection->id, &n);
  append_attribute (attributes, "time", inspection->time, &n);
  append_attribute (attributes, "tool", inspection->tool, &n);
  append_attribute (attributes, "kind", inspection->kind, &n);
  append_attribute (attributes, "view", inspection->view, &n);
  append_attribute (attributes, "station", inspection->station, &n);
  append_attribute (attributes, "grinder", inspection->grinder, &n);
  append_attribute (attributes, "image_sha256", inspection->image, &n);
  append_attribute (attributes, "reason", inspection->reason, &n);
  g_string_append_printf (out, "<Attributes n=\"%u\">%s</Attributes>\n", n, attributes->str);
  g_string_free (attributes, TRUE);
}

static void
add (WsExchange *exchange, const WsInspection *inspection, const GArray *rows, GString *out)
{
  guint n = 0;
  GString *measurements = g_string_new (NULL);
  (void)out;
  for (guint i = 0; i < rows->len; i++)
  {
    const WsRow *row = &g_array_index (rows, WsRow, i);
    const char *measure = measure_of (row->name);
    if (measure == NULL || !isfinite (row->value))
      continue;
    append_measurement (exchange, inspection, row, measure, measurements);
    n++;
  }
  g_string_append_printf (exchange->results, "<MeasurementResults id=\"%u\">\n",
                          next_id (exchange));
  append_attributes (inspection, exchange->results);
  if (n > 0)
    g_string_append_printf (exchange->results,
                            "<MeasuredCharacteristics><CharacteristicMeasurements n=\"%u\">\n%s"
                            "</CharacteristicMeasurements></MeasuredCharacteristics>\n",
                            n, measurements->str);
  g_string_append_printf (exchange->results,
                          "<InspectionStatus><InspectionStatusEnum>%s</InspectionStatusEnum>"
                          "</InspectionStatus>\n</MeasurementResults>\n",
                          inspection_status_of (inspection->verdict));
  exchange->n_results++;
  g_string_free (measurements, TRUE);
}

static void
append_characteristics (const WsExchange *exchange, GString *out)
{
  if (exchange->n_characteristics == 0)
    return;
  g_string_append_printf (out,
                          "<Characteristics><FormalStandardId>%u</FormalStandardId>\n"
                          "<CharacteristicDefinitions n=\"%u\">\n%s</CharacteristicDefinitions>\n"
                          "<CharacteristicNominals n=\"%u\">\n%s</CharacteristicNominals>\n"
                          "<CharacteristicItems n=\"%u\">\n%s</CharacteristicItems>\n"
                          "</Characteristics>\n",
                          STANDARD_ID, exchange->n_characteristics, exchange->definitions->str,
                          exchange->n_characteristics, exchange->nominals->str,
                          exchange->n_characteristics, exchange->items->str);
}

static void
append_head (const WsExchange *exchange, GString *out)
{
  g_autofree char *uuid = g_uuid_string_random ();
  g_string_append_printf (
    out,
    "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
    "<!-- combinedUncertainty is the combined standard uncertainty, U / k. -->\n"
    "<QIFDocument xmlns=\"http://qifstandards.org/xsd/qif3\" versionQIF=\"3.0.0\" idMax=\"%u\">\n"
    "<QPId>%s</QPId>\n<Version><TimeCreated>%s</TimeCreated></Version>\n"
    "<Header><Application><Name>whetsight " WS_VERSION "</Name></Application></Header>\n"
    "<StandardsDefinitions n=\"1\"><Standard id=\"%u\"><Organization><StandardsOrganizationEnum>ISO"
    "</StandardsOrganizationEnum></Organization><Designator>ISO 14253-1</Designator><Year>2017"
    "</Year></Standard></StandardsDefinitions>\n"
    "<FileUnits><PrimaryUnits>\n"
    "<AngularUnit><SIUnitName>radian</SIUnitName><UnitName>degree</UnitName><UnitConversion>"
    "<Factor>0.017453292519943295</Factor></UnitConversion></AngularUnit>\n"
    "<LinearUnit><SIUnitName>meter</SIUnitName><UnitName>mm</UnitName><UnitConversion>"
    "<Factor>0.001</Factor></UnitConversion></LinearUnit>\n"
    "</PrimaryUnits></FileUnits>\n",
    MAX (exchange->last_id, STANDARD_ID), uuid, exchange->time, STANDARD_ID);
}

static void
finish (WsExchange *exchange, GString *out)
{
  append_head (exchange, out);
  append_characteristics (exchange, out);
  if (exchange->n_results > 0)
    g_string_append_printf (out,
                            "<Results><MeasurementResultsSet n=\"%u\">\n%s"
                            "</MeasurementResultsSet></Results>\n",
                            exchange->n_results, exchange->results->str);
  g_string_append (out, "</QIFDocument>\n");
}

const WsExchangeKind ws_exchange_qif = { "qif", NULL, add, finish };
