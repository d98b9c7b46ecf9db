#include "base/shown.h"

#include <string.h>

/* Never assigned (Unicode, section 23.7); cairo draws nothing more once it met one. */
static gboolean
is_noncharacter (gunichar c)
{
  return (c >= 0xFDD0 && c <= 0xFDEF) || (c & 0xFFFE) == 0xFFFE;
}

/* Unicode's controls (C0, DEL, C1), separators of lines, marks and overrides of direction, and what
 * is no character. */
static gboolean
is_hidden (gunichar c)
{
  return is_noncharacter (c) || c < 0x20 || (c >= 0x7F && c < 0xA0) || c == 0x061C || c == 0x200E ||
         c == 0x200F || (c >= 0x2028 && c <= 0x202E) || (c >= 0x2066 && c <= 0x2069) || c == 0xFEFF;
}

static void
append_word (GString *out, gunichar c, gboolean is_json)
{
  if (c == '\n' || c == '\t' || c == '\r')
    g_string_append (out, c == '\n' ? "\\n" : c == '\t' ? "\\t" : "\\r");
  else if (c > 0xFFFF && is_json) /* a pair of surrogates, as JSON has it */
    g_string_append_printf (out, "\\u%04x\\u%04x", 0xD800 + ((c - 0x10000) >> 10),
                            0xDC00 + ((c - 0x10000) & 0x3FF));
  else
    g_string_append_printf (out, c < 0x80 && !is_json ? "\\x%02x" : "\\u%04x", c);
}

/* Bytes of plain ASCII from `text` on, which are shown as they are. */
static gsize
count_plain (const char *text)
{
  gsize n = 0;
  while (text[n] >= 0x20 && text[n] < 0x7F)
    n++;
  return n;
}

/* With the characters of `kept` as they are. */
static char *
show (const char *text, const char *kept, gboolean is_json)
{
  GString *out = g_string_sized_new (strlen (text));
  while (*text != '\0')
  {
    const gsize plain = count_plain (text);
    g_string_append_len (out, text, (gssize)plain);
    text += plain;
    if (*text == '\0')
      break;
    const gunichar c = g_utf8_get_char_validated (text, -1);
    if (c == (gunichar)-1 || c == (gunichar)-2)
    {
      g_string_append_printf (out, "\\x%02x", (guchar)*text++);
      continue;
    }
    if (is_hidden (c) && (c >= 0x80 || strchr (kept, (int)c) == NULL))
      append_word (out, c, is_json);
    else
      g_string_append_unichar (out, c);
    text = g_utf8_next_char (text);
  }
  return g_string_free (out, FALSE);
}

char *
wsi_shown (const char *text)
{
  return show (text, "", FALSE);
}

char *
wsi_shown_lines (const char *text)
{
  return show (text, "\n\t", FALSE);
}

/* Between its texts JSON has no other controls than these, and inside of them none below space. */
char *
wsi_shown_json (const char *json)
{
  return show (json, "\n\t\r", TRUE);
}
