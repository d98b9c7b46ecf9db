/*
 * QIF 3.0 (ISO 23952:2020, the number recalled from memory): results, one set for each inspection.
 * Ranges and units follow the XML schema; written for and checked against it.
 *
 * The document says first how many results follow, and what they are results of, so they wait in a
 * file without a name.  What is kept in memory grows with tools and quantities alone.
 */
#include <jansson.h>
#include <math.h>
#include <stdio.h>

#include <whetsight/error.h>

#include "archive/exchange.h"
#include "archive/qif_devices.h"
#include "archive/xml.h"
#include "late/xml.h"

#define NAMESPACE "http://qifstandards.org/xsd/qif3"
#define STANDARD_ID 1

/* The standard has no place of its own for it. */
#define DECISION_RULE                                                                              \
  "ISO 14253-1:2017: PASS with all of U inside the limits, FAIL with all of U outside them, else " \
  "INDETERMINATE; U for k = 2"

/* Handed on at a time. */
#define PIECE 65536

/* A part that the document wants apart. */
typedef struct
{
  GString *text;
  WsXml *xml;
} Part;

typedef struct
{
  Part definitions, nominals, items;
  guint n_characteristics;
  WsQifDevices *devices;
  guint device;         /* id of the one that measured what is being added */
  GHashTable *item_ids; /* tool, view, quantity, limits -> id of the item */
  guint last_id;

  FILE *waiting; /* results */
  WsXml *results;
  guint n_results;
  WsXml *document; /* once it is begun */
  GString *piece;  /* of it */
} State;

/* ---- What is kept -------------------------------------------------------------------- */

static void
part_init (Part *part)
{
  part->text = g_string_new (NULL);
  part->xml = wsi_xml_new (part->text);
}

static void
part_clear (Part *part)
{
  wsi_xml_free (part->xml);
  g_string_free (part->text, TRUE);
}

static void
free_state (gpointer data)
{
  State *state = data;
  part_clear (&state->definitions);
  part_clear (&state->nominals);
  part_clear (&state->items);
  wsi_qif_devices_free (state->devices);
  g_hash_table_unref (state->item_ids);
  wsi_xml_free (state->results);
  if (state->waiting != NULL)
    fclose (state->waiting);
  wsi_xml_free (state->document);
  g_string_free (state->piece, TRUE);
  g_free (state);
}

/* NULL when no file can be made. */
static State *
state_of (WsExchange *exchange, GError **error)
{
  if (exchange->state != NULL)
    return exchange->state;
  if (!wsi_late_has_xml (error))
    return NULL;
  FILE *waiting = tmpfile ();
  if (waiting == NULL)
  {
    wsi_exchange_refuse (error);
    return NULL;
  }
  State *state = g_new0 (State, 1);
  part_init (&state->definitions);
  part_init (&state->nominals);
  part_init (&state->items);
  state->devices = wsi_qif_devices_new ();
  state->item_ids = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL);
  state->last_id = STANDARD_ID;
  state->waiting = waiting;
  state->results = wsi_xml_new_file (waiting);
  state->piece = g_string_new (NULL);
  exchange->state = state;
  return state;
}

static guint
next_id (State *state)
{
  return ++state->last_id;
}

/* ---- Words --------------------------------------------------------------------------- */

/* Numbers without a unit of the standard's; it calls what has a unit of our own so. */
static const char of_own_unit[] = "Unit";
#define SHARE_UNIT "share of 1"

/* "Angular", "Linear"; NULL for px, which no other program can use. */
static const char *
measure_of (const char *name)
{
  if (g_str_has_suffix (name, "_deg"))
    return "Angular";
  if (g_str_has_suffix (name, "_share"))
    return of_own_unit;
  return g_str_has_suffix (name, "_mm") ? "Linear" : NULL;
}

static gboolean
has_limits (const WsRow *row)
{
  return isfinite (row->lower) || isfinite (row->upper);
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

/* ---- Characteristics ------------------------------------------------------------------ */

/* "UserDefinedAngularCharacteristicItem", with its id. */
static void
start_characteristic (WsXml *xml, const char *measure, const char *aspect, guint id)
{
  g_autofree char *name = g_strdup_printf ("UserDefined%sCharacteristic%s", measure, aspect);
  wsi_xml_start (xml, name);
  wsi_xml_attribute_count (xml, "id", id);
}

static void
write_bound (WsXml *xml, const char *name, double value)
{
  if (!isfinite (value))
    return;
  g_autofree char *text = wsi_exchange_decimal (value);
  wsi_xml_element (xml, name, text);
}

static void
write_share (WsXml *xml, const char *name, double value)
{
  if (!isfinite (value))
    return;
  g_autofree char *text = wsi_exchange_decimal (value);
  wsi_xml_start (xml, name);
  wsi_xml_attribute (xml, "unitName", SHARE_UNIT);
  wsi_xml_text (xml, text);
  wsi_xml_end (xml);
}

/* Of a unit of our own limits stand with the nominal, which has to have a target: the middle, or
 * where a share ends that is open there. */
static void
write_share_limits (WsXml *xml, const WsRow *row)
{
  const double lower = isfinite (row->lower) ? row->lower : 0.0;
  const double upper = isfinite (row->upper) ? row->upper : 1.0;
  const double target = isfinite (row->lower) && isfinite (row->upper) ? 0.5 * (lower + upper)
                        : isfinite (row->upper)                        ? lower
                                                                       : upper;
  write_share (xml, "TargetValue", target);
  write_share (xml, "MaxValue", row->upper);
  write_share (xml, "MinValue", row->lower);
  wsi_xml_element (xml, "DefinedAsLimit", "true");
}

static void
write_tolerance (WsXml *xml, const WsRow *row)
{
  if (!has_limits (row))
  {
    wsi_xml_element (xml, "NonTolerance", "MEASURED");
    return;
  }
  wsi_xml_start (xml, "Tolerance");
  write_bound (xml, "MaxValue", row->upper);
  write_bound (xml, "MinValue", row->lower);
  wsi_xml_element (xml, "DefinedAsLimit", "true");
  wsi_xml_end (xml);
}

static void
write_definition (WsXml *xml, const WsExchange *exchange, const WsInspection *inspection,
                  const WsRow *row)
{
  const WsQuantityInfo *info =
    exchange->lookup != NULL ? exchange->lookup (inspection->view, row->name) : NULL;
  const gboolean own = measure_of (row->name) == of_own_unit;
  if (!own)
    write_tolerance (xml, row);
  wsi_xml_start (xml, own ? "Description" : "WhatToMeasure");
  wsi_xml_text (xml, row->name);
  if (info != NULL)
  {
    wsi_xml_text (xml, ": ");
    wsi_xml_text (xml, info->meaning);
  }
  wsi_xml_end (xml);
  wsi_xml_end (xml);
  wsi_xml_line (xml);
}

/* Definition, nominal and item; returns the item's id. */
static guint
write_characteristic (const WsExchange *exchange, const WsInspection *inspection, const WsRow *row,
                      const char *measure)
{
  State *state = exchange->state;
  const guint definition = next_id (state);
  const guint nominal = next_id (state);
  const guint item = next_id (state);
  const char *symbol = wsi_exchange_symbol (exchange, inspection, row->name);

  start_characteristic (state->definitions.xml, measure, "Definition", definition);
  write_definition (state->definitions.xml, exchange, inspection, row);

  start_characteristic (state->nominals.xml, measure, "Nominal", nominal);
  wsi_xml_element_count (state->nominals.xml, "CharacteristicDefinitionId", definition);
  if (measure == of_own_unit)
    write_share_limits (state->nominals.xml, row);
  wsi_xml_end (state->nominals.xml);
  wsi_xml_line (state->nominals.xml);

  start_characteristic (state->items.xml, measure, "Item", item);
  wsi_xml_element (state->items.xml, "Name", symbol != NULL ? symbol : row->name);
  wsi_xml_element_count (state->items.xml, "CharacteristicNominalId", nominal);
  wsi_xml_end (state->items.xml);
  wsi_xml_line (state->items.xml);
  state->n_characteristics++;
  return item;
}

/* Of a quantity of one tool with one pair of limits, made once. */
static guint
item_for (const WsExchange *exchange, const WsInspection *inspection, const WsRow *row,
          const char *measure)
{
  State *state = exchange->state;
  g_autofree char *key =
    g_strdup_printf ("%s\n%s\n%s\n%a\n%a", inspection->tool != NULL ? inspection->tool : "",
                     inspection->view, row->name, row->lower, row->upper);
  guint item = GPOINTER_TO_UINT (g_hash_table_lookup (state->item_ids, key));
  if (item != 0)
    return item;
  item = write_characteristic (exchange, inspection, row, measure);
  g_hash_table_insert (state->item_ids, g_steal_pointer (&key), GUINT_TO_POINTER (item));
  return item;
}

/* ---- Results --------------------------------------------------------------------------- */

static void
write_value (WsXml *xml, const WsRow *row, const char *measure)
{
  g_autofree char *value = wsi_exchange_decimal (row->value);
  wsi_xml_start (xml, "Value");
  if (measure == of_own_unit)
    wsi_xml_attribute (xml, "unitName", SHARE_UNIT);
  if (isfinite (row->U) && isfinite (row->k) && row->k > 0.0)
  {
    /* "Combined" is the standard uncertainty in the words of JCGM 100, 2.3.4. */
    g_autofree char *u = wsi_exchange_decimal (row->U / row->k);
    wsi_xml_attribute (xml, "combinedUncertainty", u);
  }
  wsi_xml_text (xml, value);
  wsi_xml_end (xml);
}

static void
write_measurement (const WsExchange *exchange, const WsInspection *inspection, const WsRow *row,
                   const char *measure)
{
  State *state = exchange->state;
  WsXml *xml = state->results;
  const guint item = item_for (exchange, inspection, row, measure);
  start_characteristic (xml, measure, "Measurement", next_id (state));
  wsi_xml_start (xml, "Status");
  wsi_xml_element (xml, "CharacteristicStatusEnum", status_of (row->verdict));
  wsi_xml_end (xml);
  wsi_xml_element_count (xml, "CharacteristicItemId", item);
  wsi_xml_start (xml, "MeasurementDeviceIds");
  wsi_xml_attribute_count (xml, "n", 1);
  wsi_xml_element_count (xml, "Id", state->device);
  wsi_xml_end (xml);
  if (isfinite (row->value))
    write_value (xml, row, measure);
  wsi_xml_end (xml);
  wsi_xml_line (xml);
}

/* What was measured, and what was to be judged and couldn't be: a limit that nobody knows to be met
 * is a result, too.  Shares stand here for their limits alone. */
static gboolean
is_result (const WsRow *row)
{
  const char *measure = measure_of (row->name);
  return measure != NULL && (measure != of_own_unit || has_limits (row)) &&
         (isfinite (row->value) || row->verdict != NULL);
}

static void
write_measurements (const WsExchange *exchange, const WsInspection *inspection, const GArray *rows)
{
  State *state = exchange->state;
  WsXml *xml = state->results;
  guint n = 0;
  for (guint i = 0; i < rows->len; i++)
    n += is_result (&g_array_index (rows, WsRow, i)) ? 1 : 0;
  if (n == 0)
    return;
  wsi_xml_start (xml, "MeasuredCharacteristics");
  wsi_xml_start (xml, "CharacteristicMeasurements");
  wsi_xml_attribute_count (xml, "n", n);
  wsi_xml_line (xml);
  for (guint i = 0; i < rows->len; i++)
  {
    const WsRow *row = &g_array_index (rows, WsRow, i);
    if (is_result (row))
      write_measurement (exchange, inspection, row, measure_of (row->name));
  }
  wsi_xml_end (xml);
  wsi_xml_end (xml);
  wsi_xml_line (xml);
}

static gboolean
add (WsExchange *exchange, const WsInspection *inspection, json_t *record, const GArray *rows,
     GString *out, GError **error)
{
  State *state = state_of (exchange, error);
  (void)out;
  if (state == NULL)
    return FALSE;
  WsXml *xml = state->results;
  state->device = wsi_qif_device (state->devices, inspection, record, &state->last_id);
  wsi_xml_start (xml, "MeasurementResults");
  wsi_xml_attribute_count (xml, "id", next_id (state));
  wsi_xml_line (xml);
  wsi_qif_origin (xml, inspection, record);
  write_measurements (exchange, inspection, rows);
  wsi_xml_start (xml, "InspectionStatus");
  wsi_xml_element (xml, "InspectionStatusEnum", inspection_status_of (inspection->verdict));
  wsi_xml_end (xml);
  wsi_xml_line (xml);
  wsi_xml_end (xml);
  wsi_xml_line (xml);
  state->n_results++;
  return wsi_xml_flush (xml) || wsi_exchange_refuse (error);
}

/* ---- The document ---------------------------------------------------------------------- */

static void
write_unit (WsXml *xml, const char *measure, const char *si, const char *unit, const char *factor)
{
  wsi_xml_start (xml, measure);
  wsi_xml_element (xml, "SIUnitName", si);
  wsi_xml_element (xml, "UnitName", unit);
  wsi_xml_start (xml, "UnitConversion");
  wsi_xml_element (xml, "Factor", factor);
  wsi_xml_end (xml);
  wsi_xml_end (xml);
  wsi_xml_line (xml);
}

static void
write_units (WsXml *xml)
{
  wsi_xml_start (xml, "FileUnits");
  wsi_xml_start (xml, "PrimaryUnits");
  wsi_xml_line (xml);
  write_unit (xml, "AngularUnit", "radian", "degree", "0.017453292519943295");
  write_unit (xml, "LinearUnit", "meter", "mm", "0.001");
  wsi_xml_end (xml);
  wsi_xml_line (xml);
  wsi_xml_start (xml, "UserDefinedUnits");
  wsi_xml_attribute_count (xml, "n", 1);
  wsi_xml_start (xml, "UserDefinedUnit");
  wsi_xml_element (xml, "WhatIsMeasured", "part of a whole");
  wsi_xml_element (xml, "UnitName", SHARE_UNIT);
  wsi_xml_end (xml);
  wsi_xml_end (xml);
  wsi_xml_end (xml);
  wsi_xml_line (xml);
}

static void
write_standard (WsXml *xml)
{
  wsi_xml_start (xml, "StandardsDefinitions");
  wsi_xml_attribute (xml, "n", "1");
  wsi_xml_start (xml, "Standard");
  wsi_xml_attribute_count (xml, "id", STANDARD_ID);
  wsi_xml_start (xml, "Organization");
  wsi_xml_element (xml, "StandardsOrganizationEnum", "ISO");
  wsi_xml_end (xml);
  wsi_xml_element (xml, "Designator", "ISO 14253-1");
  wsi_xml_element (xml, "Year", "2017");
  wsi_xml_end (xml);
  wsi_xml_end (xml);
  wsi_xml_line (xml);
}

static void
write_head (WsXml *xml, const WsExchange *exchange, guint last_id)
{
  static const WsQifAttribute rule = { "decision_rule", DECISION_RULE };
  g_autofree char *uuid = g_uuid_string_random ();
  wsi_xml_document (xml, " combinedUncertainty is the combined standard uncertainty, U / k. ");
  wsi_xml_start (xml, "QIFDocument");
  wsi_xml_attribute (xml, "xmlns", NAMESPACE);
  wsi_xml_attribute (xml, "versionQIF", "3.0.0");
  wsi_xml_attribute_count (xml, "idMax", last_id);
  wsi_xml_line (xml);
  wsi_xml_element (xml, "QPId", uuid);
  wsi_xml_line (xml);
  wsi_qif_attributes (xml, &rule, 1);
  wsi_xml_start (xml, "Version");
  wsi_xml_element (xml, "TimeCreated", exchange->time);
  wsi_xml_end (xml);
  wsi_xml_line (xml);
  wsi_xml_start (xml, "Header");
  wsi_xml_start (xml, "Application");
  wsi_xml_element (xml, "Name", "whetsight " WS_VERSION);
  wsi_xml_end (xml);
  wsi_xml_end (xml);
  wsi_xml_line (xml);
  write_standard (xml);
  write_units (xml);
}

static void
write_part (WsXml *xml, const char *name, const Part *part, guint n)
{
  wsi_xml_flush (part->xml);
  wsi_xml_start (xml, name);
  wsi_xml_attribute_count (xml, "n", n);
  wsi_xml_line (xml);
  wsi_xml_insert (xml, part->text->str, part->text->len);
  wsi_xml_end (xml);
  wsi_xml_line (xml);
}

static void
write_characteristics (WsXml *xml, const State *state)
{
  if (state->n_characteristics == 0)
    return;
  wsi_xml_start (xml, "Characteristics");
  wsi_xml_element_count (xml, "FormalStandardId", STANDARD_ID);
  wsi_xml_line (xml);
  write_part (xml, "CharacteristicDefinitions", &state->definitions, state->n_characteristics);
  write_part (xml, "CharacteristicNominals", &state->nominals, state->n_characteristics);
  write_part (xml, "CharacteristicItems", &state->items, state->n_characteristics);
  wsi_xml_end (xml);
  wsi_xml_line (xml);
}

/* Up to where the results stand. */
static void
begin_document (State *state, const WsExchange *exchange)
{
  state->document = wsi_xml_new (state->piece);
  write_head (state->document, exchange, state->last_id);
  wsi_qif_devices_write (state->devices, state->document);
  write_characteristics (state->document, state);
  if (state->n_results == 0)
    return;
  wsi_xml_start (state->document, "Results");
  wsi_xml_start (state->document, "MeasurementResultsSet");
  wsi_xml_attribute_count (state->document, "n", state->n_results);
  wsi_xml_line (state->document);
  rewind (state->waiting);
}

static void
end_document (State *state)
{
  if (state->n_results > 0)
  {
    wsi_xml_end (state->document);
    wsi_xml_end (state->document);
    wsi_xml_line (state->document);
  }
  wsi_xml_end (state->document);
  wsi_xml_line (state->document);
}

static gboolean
finish (WsExchange *exchange, GString *out, gboolean *more, GError **error)
{
  char results[PIECE];
  State *state = state_of (exchange, error);
  if (state == NULL)
    return FALSE;
  if (state->document == NULL)
    begin_document (state, exchange);
  const gsize n = fread (results, 1, sizeof results, state->waiting);
  wsi_xml_insert (state->document, results, n);
  *more = n == sizeof results;
  if (!*more)
    end_document (state);
  if (ferror (state->waiting) != 0 || !wsi_xml_flush (state->document))
    return wsi_exchange_refuse (error);
  g_string_append_len (out, state->piece->str, (gssize)state->piece->len);
  g_string_truncate (state->piece, 0);
  return TRUE;
}

const WsExchangeKind wsi_exchange_qif = { "qif", NULL, add, NULL, finish, free_state };
