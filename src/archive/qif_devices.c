#include "archive/qif_devices.h"

#include "archive/note.h"
#include "base/number.h"

struct WsQifDevices
{
  GString *text;
  WsXml *xml;
  GHashTable *ids; /* what tells them apart -> id */
};

WsQifDevices *
wsi_qif_devices_new (void)
{
  WsQifDevices *devices = g_new0 (WsQifDevices, 1);
  devices->text = g_string_new (NULL);
  devices->xml = wsi_xml_new (devices->text);
  devices->ids = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL);
  return devices;
}

void
wsi_qif_devices_free (WsQifDevices *devices)
{
  wsi_xml_free (devices->xml);
  g_string_free (devices->text, TRUE);
  g_hash_table_unref (devices->ids);
  g_free (devices);
}

void
wsi_qif_attributes (WsXml *xml, const WsQifAttribute *attributes, gsize n)
{
  guint n_known = 0;
  for (gsize i = 0; i < n; i++)
    n_known += attributes[i].value != NULL ? 1 : 0;
  if (n_known == 0)
    return;
  wsi_xml_start (xml, "Attributes");
  wsi_xml_attribute_count (xml, "n", n_known);
  for (gsize i = 0; i < n; i++)
    if (attributes[i].value != NULL)
    {
      wsi_xml_start (xml, "AttributeStr");
      wsi_xml_attribute (xml, "name", attributes[i].name);
      wsi_xml_attribute (xml, "value", attributes[i].value);
      wsi_xml_end (xml);
    }
  wsi_xml_end (xml);
  wsi_xml_line (xml);
}

static const char *
text_at (const json_t *object, const char *key)
{
  return json_string_value (json_object_get (object, key));
}

/* The schema wants an end; a calibration without one stands in the attributes alone. */
static void
write_dates (WsXml *xml, const json_t *calibration)
{
  const char *made = text_at (calibration, "made"), *expires = text_at (calibration, "expires");
  if (expires == NULL)
    return;
  wsi_xml_start (xml, "Calibrations");
  wsi_xml_attribute_count (xml, "n", 1);
  wsi_xml_start (xml, "Calibration");
  if (made != NULL)
    wsi_xml_element (xml, "CalibrationDate", made);
  wsi_xml_element (xml, "ExpirationDate", expires);
  wsi_xml_end (xml);
  wsi_xml_end (xml);
}

static void
write_device (WsXml *xml, const WsInspection *inspection, const json_t *record, guint id)
{
  const json_t *calibration = json_object_get (record, "calibration");
  const char *camera = text_at (calibration, "camera");
  const gboolean expired = json_is_true (json_object_get (calibration, "expired"));
  const gboolean ignored = json_is_true (json_object_get (calibration, "check_ignored"));
  const WsQifAttribute attributes[] = {
    { "program", text_at (record, "program") },
    { "station", inspection->station },
    { "calibration", text_at (calibration, "id") },
    { "calibration_sha256", text_at (calibration, "sha256") },
    { "calibration_model", text_at (calibration, "model") },
    { "calibration_made", text_at (calibration, "made") },
    { "calibration_expires", text_at (calibration, "expires") },
    { "calibration_expired", json_is_object (calibration) ? (expired ? "yes" : "no") : NULL },
    { "calibration_check", text_at (calibration, "check") },
    { "calibration_check_time", text_at (calibration, "check_time") },
    { "calibration_check_ignored", ignored ? "yes" : NULL },
  };
  wsi_xml_start (xml, "MeasurementDevice");
  wsi_xml_attribute_count (xml, "id", id);
  wsi_xml_element (xml, "Name", camera != NULL ? camera : "camera, not calibrated");
  wsi_xml_element (xml, "Description", "camera; tools are measured in its pictures");
  wsi_qif_attributes (xml, attributes, G_N_ELEMENTS (attributes));
  write_dates (xml, calibration);
  wsi_xml_end (xml);
  wsi_xml_line (xml);
}

/* Free with g_free(). */
static char *
key_of (const WsInspection *inspection, const json_t *record)
{
  g_autofree char *calibration =
    json_dumps (json_object_get (record, "calibration"), JSON_ENCODE_ANY | JSON_SORT_KEYS);
  const char *program = text_at (record, "program");
  return g_strdup_printf ("%s\n%s\n%s", program != NULL ? program : "",
                          inspection->station != NULL ? inspection->station : "",
                          calibration != NULL ? calibration : "");
}

guint
wsi_qif_device (WsQifDevices *devices, const WsInspection *inspection, const json_t *record,
                guint *last_id)
{
  g_autofree char *key = key_of (inspection, record);
  const guint known = GPOINTER_TO_UINT (g_hash_table_lookup (devices->ids, key));
  if (known != 0)
    return known;
  const guint id = ++*last_id;
  write_device (devices->xml, inspection, record, id);
  g_hash_table_insert (devices->ids, g_steal_pointer (&key), GUINT_TO_POINTER (id));
  return id;
}

void
wsi_qif_devices_write (WsQifDevices *devices, WsXml *document)
{
  const guint n = g_hash_table_size (devices->ids);
  if (n == 0)
    return;
  wsi_xml_flush (devices->xml);
  wsi_xml_start (document, "MeasurementResources");
  wsi_xml_start (document, "MeasurementDevices");
  wsi_xml_attribute_count (document, "n", n);
  wsi_xml_line (document);
  wsi_xml_insert (document, devices->text->str, devices->text->len);
  wsi_xml_end (document);
  wsi_xml_end (document);
  wsi_xml_line (document);
}

/* ---- Of one inspection ------------------------------------------------------------------- */

/* NULL for none; free with g_free(). */
static char *
scale_of (const json_t *record, const char *key)
{
  const json_t *value = json_object_get (json_object_get (record, "scale"), key);
  return json_is_number (value) ? wsi_number_exact (json_number_value (value)) : NULL;
}

static void
write_attributes (WsXml *xml, const WsInspection *inspection, const json_t *record)
{
  g_autofree char *notes = wsi_notes_words (inspection);
  g_autofree char *scale = scale_of (record, "mm_per_px");
  g_autofree char *u_scale = scale_of (record, "u_mm_per_px");
  const WsQifAttribute attributes[] = {
    { "inspection", inspection->id },
    { "time", inspection->time },
    { "tool", inspection->tool },
    { "kind", inspection->kind },
    { "view", inspection->view },
    { "station", inspection->station },
    { "grinder", inspection->grinder },
    { "card_sha256",
      json_string_value (json_object_get (json_object_get (record, "tool"), "card_sha256")) },
    { "scale_mm_per_px", scale },
    { "u_scale_mm_per_px", u_scale },
    { "image_sha256", inspection->image },
    { "reason", inspection->reason },
    { "imported", inspection->imported },
    { "clock_set_back_from", inspection->clock },
    { "notes", notes },
  };
  wsi_qif_attributes (xml, attributes, G_N_ELEMENTS (attributes));
}

static void
write_traceability (WsXml *xml, const WsInspection *inspection, const json_t *record)
{
  const char *by = json_string_value (json_object_get (record, "measured_by"));
  wsi_xml_start (xml, "InspectionTraceability");
  wsi_xml_element (xml, "InspectionStart", inspection->time);
  if (by != NULL)
  {
    wsi_xml_start (xml, "InspectionOperator");
    wsi_xml_element (xml, "Name", by);
    wsi_xml_end (xml);
  }
  wsi_xml_end (xml);
  wsi_xml_line (xml);
}

void
wsi_qif_origin (WsXml *xml, const WsInspection *inspection, const json_t *record)
{
  write_attributes (xml, inspection, record);
  write_traceability (xml, inspection, record);
}
