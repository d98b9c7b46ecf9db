/*
 * MTConnect 2.4 cutting-tool assets: one a tool, with what the newest pictures of all its views
 * measured and say of it together.
 * Element names and codes by the schema and the ISO 13399 symbols; quantities without an element
 * of their own have no place there.
 */
#include <math.h>
#include <string.h>

#include "archive/exchange.h"
#include "archive/note.h"
#include "archive/state.h"
#include "archive/xml.h"
#include "late/xml.h"

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

/* One inspection of a tool. */
typedef struct
{
  char *time, *id, *kind, *view, *imported;
  char *release;   /* in words, or NULL */
  char **required; /* views, or NULL */
  WsVerdict verdict;
  gboolean reground;
  GArray *rows; /* of WsRow; empty for a retake, NULL once a newer one of the view was measured */
} Seen;

typedef struct
{
  char *id;
  GPtrArray *seen; /* of Seen */
  guint n_altered;
} Tool;

typedef struct
{
  GHashTable *tools;   /* id -> Tool */
  GPtrArray *order;    /* of Tool, as they came */
  GStringChunk *texts; /* of the rows, each once */
} State;

/* About what the names of a view's quantities take. */
#define TEXTS_BYTES 1000

static void
seen_free (gpointer data)
{
  Seen *seen = data;
  g_free (seen->time);
  g_free (seen->id);
  g_free (seen->kind);
  g_free (seen->view);
  g_free (seen->imported);
  g_free (seen->release);
  g_strfreev (seen->required);
  g_clear_pointer (&seen->rows, g_array_unref);
  g_free (seen);
}

static void
tool_free (gpointer data)
{
  Tool *tool = data;
  g_free (tool->id);
  g_ptr_array_unref (tool->seen);
  g_free (tool);
}

static State *
state_of (WsExchange *exchange)
{
  if (exchange->state != NULL)
    return exchange->state;
  State *state = g_new0 (State, 1);
  state->tools = g_hash_table_new (g_str_hash, g_str_equal);
  state->order = g_ptr_array_new_with_free_func (tool_free);
  state->texts = g_string_chunk_new (TEXTS_BYTES);
  exchange->state = state;
  return state;
}

static void
free_state (gpointer data)
{
  State *state = data;
  g_hash_table_unref (state->tools);
  g_ptr_array_unref (state->order);
  g_string_chunk_free (state->texts);
  g_free (state);
}

/* One without a card is a tool of its own. */
static Tool *
tool_of (WsExchange *exchange, const WsInspection *inspection)
{
  State *state = state_of (exchange);
  const char *id = inspection->tool != NULL ? inspection->tool : inspection->id;
  Tool *tool = g_hash_table_lookup (state->tools, id);
  if (tool != NULL)
    return tool;
  tool = g_new0 (Tool, 1);
  tool->id = g_strdup (id);
  tool->seen = g_ptr_array_new_with_free_func (seen_free);
  g_ptr_array_add (state->order, tool);
  g_hash_table_insert (state->tools, tool->id, tool);
  return tool;
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

/* Nothing where there are none.  `written`: elements that a newer picture had. */
static guint
write_rows (WsXml *xml, const WsExchange *exchange, const Seen *seen, gboolean of_item,
            GHashTable *written, guint n)
{
  const WsInspection inspection = { .view = seen->view };
  g_autoptr (GPtrArray) here = g_ptr_array_new ();
  for (guint i = 0; i < seen->rows->len; i++)
  {
    const WsRow *row = &g_array_index (seen->rows, WsRow, i);
    const Element *element = element_for (wsi_exchange_symbol (exchange, &inspection, row->name));
    if (element == NULL || element->of_item != of_item || !isfinite (row->value) ||
        g_str_has_suffix (row->name, "_px") || g_hash_table_contains (written, element))
      continue;
    if (n++ == 0)
      open_measurements (xml, of_item);
    write_measurement (xml, element, row);
    g_ptr_array_add (here, (gpointer)element);
  }
  for (guint i = 0; i < here->len; i++)
    g_hash_table_add (written, g_ptr_array_index (here, i));
  return n;
}

static void
write_measurements (WsXml *xml, const WsExchange *exchange, const Tool *tool, gboolean of_item)
{
  guint n = 0;
  g_autoptr (GHashTable) written = g_hash_table_new (NULL, NULL);
  for (guint i = tool->seen->len; i-- > 0;)
  {
    const Seen *seen = g_ptr_array_index (tool->seen, i);
    if (seen->rows != NULL)
      n = write_rows (xml, exchange, seen, of_item, written, n);
    if (seen->reground)
      break; /* what was measured before is of another edge */
  }
  if (n > 0)
    close_measurements (xml, of_item);
}

/* ---- What all views say ---------------------------------------------------------------------- */

/* Records that were imported may have been taken before those that were here already. */
static gint
by_time (gconstpointer a, gconstpointer b)
{
  const Seen *const *first = a, *const *second = b;
  return g_strcmp0 ((*first)->time, (*second)->time);
}

static WsToolStanding
standing_of (const Tool *tool)
{
  g_autofree WsViewResult *results = g_new0 (WsViewResult, tool->seen->len + 1);
  char **required = NULL;
  for (guint i = 0; i < tool->seen->len; i++)
  {
    const Seen *seen = g_ptr_array_index (tool->seen, i);
    results[i] =
      (WsViewResult){ seen->view, seen->verdict, seen->reground, wsi_is_of_work (seen->view) };
    required = seen->required;
  }
  g_autoptr (WsToolState) state =
    wsi_tool_state_join ((const char *const *)required, results, tool->seen->len);
  wsi_tool_state_doubt (state, tool->n_altered);
  return state->standing;
}

static const char *
status_of (const Tool *tool)
{
  static const char *const names[] = {
    [WS_TOOL_INCOMPLETE] = "UNKNOWN", [WS_TOOL_FIT] = "AVAILABLE", [WS_TOOL_NOT_FIT] = "UNAVAILABLE"
  };
  return names[standing_of (tool)];
}

static gboolean
is_reground (const Tool *tool)
{
  for (guint i = 0; i < tool->seen->len; i++)
    if (((const Seen *)g_ptr_array_index (tool->seen, i))->reground)
      return TRUE;
  return FALSE;
}

static void
write_life_cycle (WsXml *xml, const WsExchange *exchange, const Tool *tool)
{
  wsi_xml_start (xml, "CuttingToolLifeCycle");
  wsi_xml_line (xml);
  wsi_xml_start (xml, "CutterStatus");
  wsi_xml_element (xml, "Status", "MEASURED");
  wsi_xml_element (xml, "Status", status_of (tool));
  if (is_reground (tool))
    wsi_xml_element (xml, "Status", "RECONDITIONED");
  wsi_xml_end (xml);
  wsi_xml_line (xml);
  write_measurements (xml, exchange, tool, FALSE);
  write_measurements (xml, exchange, tool, TRUE);
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

/* In words alone: what somebody lets be used is not what was found good, so the status stays. */
static void
write_releases (WsXml *xml, const Tool *tool)
{
  for (guint i = tool->seen->len; i-- > 0;)
  {
    const Seen *seen = g_ptr_array_index (tool->seen, i);
    if (seen->release != NULL)
    {
      wsi_xml_text (xml, ", inspection ");
      wsi_xml_text (xml, seen->id);
      wsi_xml_text (xml, " ");
      wsi_xml_text (xml, seen->release);
    }
    if (seen->reground)
      break; /* what was said before is of another edge */
  }
}

static void
write_asset (WsXml *xml, const WsExchange *exchange, Tool *tool)
{
  g_autofree char *tool_id = plain_id (tool->id);
  g_ptr_array_sort (tool->seen, by_time);
  const Seen *newest = g_ptr_array_index (tool->seen, tool->seen->len - 1);
  wsi_xml_start (xml, "CuttingTool");
  wsi_xml_attribute (xml, "assetId", tool->id);
  wsi_xml_attribute (xml, "serialNumber", tool->id);
  wsi_xml_attribute (xml, "toolId", tool_id);
  wsi_xml_attribute (xml, "timestamp", newest->time);
  wsi_xml_line (xml);
  wsi_xml_start (xml, "Description");
  wsi_xml_text (xml, newest->kind);
  wsi_xml_text (xml, ", inspection ");
  wsi_xml_text (xml, newest->id);
  if (newest->imported != NULL)
  {
    wsi_xml_text (xml, ", imported from ");
    wsi_xml_text (xml, newest->imported);
  }
  write_releases (xml, tool);
  wsi_xml_end (xml);
  wsi_xml_line (xml);
  write_life_cycle (xml, exchange, tool);
  wsi_xml_end (xml);
  wsi_xml_line (xml);
}

/* Older numbers of a view are never written, so they aren't kept. */
static void
forget_older (Tool *tool, const Seen *newer)
{
  for (guint i = 0; newer->rows != NULL && newer->rows->len > 0 && i < tool->seen->len; i++)
  {
    Seen *seen = g_ptr_array_index (tool->seen, i);
    if (g_str_equal (seen->view, newer->view) && strcmp (seen->time, newer->time) <= 0)
      g_clear_pointer (&seen->rows, g_array_unref);
  }
}

static gboolean
add (WsExchange *exchange, const WsInspection *inspection, json_t *record, const GArray *rows,
     GString *out, GError **error)
{
  Tool *tool = tool_of (exchange, inspection);
  Seen *seen = g_new0 (Seen, 1);
  (void)record;
  const WsNote *release = wsi_notes_release (inspection);
  (void)out;
  (void)error;
  seen->time = g_strdup (inspection->time);
  seen->id = g_strdup (inspection->id);
  seen->kind = g_strdup (inspection->kind);
  seen->view = g_strdup (inspection->view);
  seen->imported = g_strdup (inspection->imported);
  seen->release = release != NULL ? wsi_note_words (release, release->time) : NULL;
  seen->required = wsi_columns_views (inspection->record);
  seen->verdict = wsi_archive_standing (inspection);
  seen->reground = inspection->reground;
  seen->rows = g_array_copy ((GArray *)rows);
  GStringChunk *texts = state_of (exchange)->texts;
  for (guint i = 0; i < seen->rows->len; i++)
  {
    WsRow *row = &g_array_index (seen->rows, WsRow, i);
    row->name = g_string_chunk_insert_const (texts, row->name);
    if (row->verdict != NULL)
      row->verdict = g_string_chunk_insert_const (texts, row->verdict);
  }
  forget_older (tool, seen);
  g_ptr_array_add (tool->seen, seen);
  return TRUE;
}

/* Nothing of it is known, but that something was written over. */
static void
doubt (WsExchange *exchange, const WsInspection *inspection)
{
  if (inspection->tool != NULL)
    tool_of (exchange, inspection)->n_altered++;
}

/* Those that something is known of. */
static guint
count (const State *state)
{
  guint n = 0;
  for (guint i = 0; i < state->order->len; i++)
    n += ((const Tool *)g_ptr_array_index (state->order, i))->seen->len > 0 ? 1 : 0;
  return n;
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
  *more = FALSE;
  if (!wsi_late_has_xml (error))
    return FALSE;
  const State *state = state_of (exchange);
  WsXml *xml = wsi_xml_new (out);
  wsi_xml_document (xml, NULL);
  wsi_xml_start (xml, "MTConnectAssets");
  wsi_xml_attribute (xml, "xmlns", NAMESPACE);
  wsi_xml_line (xml);
  write_header (xml, exchange, count (state));
  wsi_xml_start (xml, "Assets");
  wsi_xml_line (xml);
  for (guint i = 0; i < state->order->len; i++)
  {
    Tool *tool = g_ptr_array_index (state->order, i);
    if (tool->seen->len > 0)
      write_asset (xml, exchange, tool);
  }
  wsi_xml_end (xml);
  wsi_xml_line (xml);
  wsi_xml_end (xml);
  wsi_xml_line (xml);
  const gboolean done = wsi_xml_flush (xml);
  wsi_xml_free (xml);
  return done || wsi_exchange_refuse (error);
}

/* An agent takes the element alone: the document around it is what the agent answers with. */
gboolean
wsi_exchange_mtconnect_asset (WsExchange *exchange, const char *tool, GString *out, GError **error)
{
  Tool *of = g_hash_table_lookup (state_of (exchange)->tools, tool);
  if (!wsi_late_has_xml (error))
    return FALSE;
  if (of == NULL || of->seen->len == 0)
    return TRUE;
  WsXml *xml = wsi_xml_new (out);
  write_asset (xml, exchange, of);
  const gboolean done = wsi_xml_flush (xml);
  wsi_xml_free (xml);
  return done || wsi_exchange_refuse (error);
}

const WsExchangeKind wsi_exchange_mtconnect = { "mtconnect", NULL, add, doubt, finish, free_state };
