#include "archive/xml.h"

#include "late/xml.h"

struct WsXml
{
  xmlTextWriterPtr writer;
  gboolean failed;
};

static int
append_bytes (void *text, const char *bytes, int n)
{
  g_string_append_len (text, bytes, n);
  return n;
}

/* Takes the buffer over. */
static WsXml *
wrap (xmlOutputBufferPtr buffer)
{
  WsXml *xml = g_new0 (WsXml, 1);
  xml->writer = buffer != NULL ? xmlNewTextWriter (buffer) : NULL;
  xml->failed = xml->writer == NULL;
  if (xml->failed && buffer != NULL)
    xmlOutputBufferClose (buffer);
  return xml;
}

WsXml *
wsi_xml_new (GString *text)
{
  return wrap (xmlOutputBufferCreateIO (append_bytes, NULL, text, NULL));
}

WsXml *
wsi_xml_new_file (FILE *file)
{
  return wrap (xmlOutputBufferCreateFile (file, NULL));
}

void
wsi_xml_free (WsXml *xml)
{
  if (xml == NULL)
    return;
  g_clear_pointer (&xml->writer, xmlFreeTextWriter);
  g_free (xml);
}

/* What each call of the writer returns: bytes, or less than zero. */
static void
note (WsXml *xml, int result)
{
  xml->failed |= result < 0;
}

gboolean
wsi_xml_flush (WsXml *xml)
{
  if (!xml->failed)
    note (xml, xmlTextWriterFlush (xml->writer));
  return !xml->failed;
}

/* XML 1.0, production 2: Char.  The carriage return goes too: readers would make a line end of
 * it. */
static char *
clean (const char *text)
{
  g_autofree char *valid = g_utf8_make_valid (text, -1);
  GString *kept = g_string_new (NULL);
  for (const char *at = valid; *at != '\0'; at = g_utf8_next_char (at))
  {
    const gunichar c = g_utf8_get_char (at);
    if ((c < 0x20 && c != '\t' && c != '\n') || c == 0xFFFE || c == 0xFFFF)
      continue;
    g_string_append_unichar (kept, c);
  }
  return g_string_free (kept, FALSE);
}

void
wsi_xml_document (WsXml *xml, const char *comment)
{
  if (xml->failed)
    return;
  note (xml, xmlTextWriterStartDocument (xml->writer, NULL, "UTF-8", NULL));
  if (comment == NULL)
    return;
  note (xml, xmlTextWriterWriteComment (xml->writer, BAD_CAST comment));
  wsi_xml_line (xml);
}

void
wsi_xml_start (WsXml *xml, const char *name)
{
  if (!xml->failed)
    note (xml, xmlTextWriterStartElement (xml->writer, BAD_CAST name));
}

void
wsi_xml_end (WsXml *xml)
{
  if (!xml->failed)
    note (xml, xmlTextWriterEndElement (xml->writer));
}

void
wsi_xml_attribute (WsXml *xml, const char *name, const char *text)
{
  g_autofree char *kept = clean (text);
  if (!xml->failed)
    note (xml, xmlTextWriterWriteAttribute (xml->writer, BAD_CAST name, BAD_CAST kept));
}

void
wsi_xml_text (WsXml *xml, const char *text)
{
  g_autofree char *kept = clean (text);
  if (!xml->failed)
    note (xml, xmlTextWriterWriteString (xml->writer, BAD_CAST kept));
}

void
wsi_xml_attribute_count (WsXml *xml, const char *name, guint count)
{
  char number[16];
  g_snprintf (number, sizeof number, "%u", count);
  wsi_xml_attribute (xml, name, number);
}

void
wsi_xml_element (WsXml *xml, const char *name, const char *text)
{
  wsi_xml_start (xml, name);
  wsi_xml_text (xml, text);
  wsi_xml_end (xml);
}

void
wsi_xml_element_count (WsXml *xml, const char *name, guint count)
{
  char number[16];
  g_snprintf (number, sizeof number, "%u", count);
  wsi_xml_element (xml, name, number);
}

void
wsi_xml_line (WsXml *xml)
{
  if (!xml->failed)
    note (xml, xmlTextWriterWriteRaw (xml->writer, BAD_CAST "\n"));
}

void
wsi_xml_insert (WsXml *xml, const char *bytes, gsize n_bytes)
{
  if (!xml->failed && n_bytes > 0)
    note (xml, xmlTextWriterWriteRawLen (xml->writer, BAD_CAST bytes, (int)n_bytes));
}
