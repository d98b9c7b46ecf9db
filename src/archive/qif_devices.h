/*
 * What the results of a QIF document were measured with and by whom: a measurement device for each
 * camera as it was calibrated.
 */
#ifndef WS_ARCHIVE_QIF_DEVICES_H
#define WS_ARCHIVE_QIF_DEVICES_H

#include <jansson.h>
#include <whetsight/archive.h>

#include "archive/xml.h"

G_BEGIN_DECLS

typedef struct WsQifDevices WsQifDevices;

/* Free with wsi_qif_devices_free(). */
WsQifDevices *wsi_qif_devices_new (void);
void wsi_qif_devices_free (WsQifDevices *devices);

/* The id of the one that measured this; a new one takes the id after `last_id`. */
guint wsi_qif_device (WsQifDevices *devices, const WsInspection *inspection, const json_t *record,
                      guint *last_id);

/* All of them, as the document's MeasurementResources; nothing for none. */
void wsi_qif_devices_write (WsQifDevices *devices, WsXml *document);

/* What an inspection's results are of: tool, view, picture, who measured it and when. */
void wsi_qif_origin (WsXml *xml, const WsInspection *inspection, const json_t *record);

typedef struct
{
  const char *name, *value; /* left out where the value is NULL */
} WsQifAttribute;

/* Nothing where none has a value. */
void wsi_qif_attributes (WsXml *xml, const WsQifAttribute *attributes, gsize n);

G_END_DECLS

#endif
