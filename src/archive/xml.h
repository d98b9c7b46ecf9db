/*
 * XML as it is written, element by element, by libxml2's text writer: it escapes, and keeps nothing
 * but the names of the elements that are open.
 */
#ifndef WS_ARCHIVE_XML_H
#define WS_ARCHIVE_XML_H

#include <stdio.h>

#include <glib.h>

G_BEGIN_DECLS

typedef struct WsXml WsXml;

/* Writes to the text or the file, which are borrowed.  What was written is there only after
 * wsi_xml_flush().  Free with wsi_xml_free(). */
WsXml *wsi_xml_new (GString *text);
WsXml *wsi_xml_new_file (FILE *file);
void wsi_xml_free (WsXml *xml);

/* FALSE when anything up to here couldn't be written. */
gboolean wsi_xml_flush (WsXml *xml);

/* The line that says what it is, with a comment. */
void wsi_xml_document (WsXml *xml, const char *comment);

/* An element: its attributes come first, then what it holds. */
void wsi_xml_start (WsXml *xml, const char *name);
void wsi_xml_end (WsXml *xml);

/* Characters that XML can't hold are left out, and bytes that are no UTF-8 replaced. */
void wsi_xml_attribute (WsXml *xml, const char *name, const char *text);
void wsi_xml_text (WsXml *xml, const char *text);

void wsi_xml_attribute_count (WsXml *xml, const char *name, guint count);

/* A whole element that holds text, or a number, alone. */
void wsi_xml_element (WsXml *xml, const char *name, const char *text);
void wsi_xml_element_count (WsXml *xml, const char *name, guint count);

/* The end of a line between elements. */
void wsi_xml_line (WsXml *xml);

/* What was written as XML elsewhere. */
void wsi_xml_insert (WsXml *xml, const char *bytes, gsize n_bytes);

G_END_DECLS

#endif
