#include "base/csv.h"

#include <string.h>

#include <whetsight/error.h>

#define BYTE_ORDER_MARK "\xef\xbb\xbf"

typedef struct
{
  const char *name; /* of the file, for messages */
  const char *at;
  guint line;
} Parser;

static void
row_free (gpointer data)
{
  WsCsvRow *row = data;
  g_strfreev (row->fields);
  g_free (row);
}

static gboolean
at_line_end (const char *at)
{
  return *at == '\n' || (*at == '\r' && at[1] == '\n');
}

static gboolean
at_field_end (const char *at)
{
  return *at == '\0' || *at == ',' || at_line_end (at);
}

static char *
refuse (guint line, const Parser *parser, const char *what, GError **error)
{
  g_set_error (error, WS_ERROR, WS_ERROR_DATA, "%s: line %u: %s", parser->name, line, what);
  return NULL;
}

static char *
parse_quoted (Parser *parser, GError **error)
{
  const guint start = parser->line;
  g_autoptr (GString) field = g_string_new (NULL);
  for (parser->at++; *parser->at != '\0'; parser->at++)
  {
    if (*parser->at == '"' && parser->at[1] != '"')
    {
      parser->at++;
      if (!at_field_end (parser->at))
        return refuse (start, parser, "text after a closing quote; put a comma there", error);
      return g_strdup (field->str);
    }
    if (*parser->at == '"')
      parser->at++;
    if (*parser->at == '\n')
      parser->line++;
    g_string_append_c (field, *parser->at);
  }
  return refuse (start, parser, "a quote that isn't closed", error);
}

static char *
parse_field (Parser *parser, GError **error)
{
  if (*parser->at == '"')
    return parse_quoted (parser, error);
  const char *start = parser->at;
  while (!at_field_end (parser->at))
    parser->at++;
  return g_strndup (start, (gsize)(parser->at - start));
}

/* Up to the line's end, and over it. */
static WsCsvRow *
parse_row (Parser *parser, GError **error)
{
  const guint line = parser->line;
  g_autoptr (GPtrArray) fields = g_ptr_array_new_with_free_func (g_free);
  for (;;)
  {
    char *field = parse_field (parser, error);
    if (field == NULL)
      return NULL;
    g_ptr_array_add (fields, field);
    if (*parser->at != ',')
      break;
    parser->at++;
  }
  if (*parser->at != '\0')
  {
    parser->at += *parser->at == '\r' ? 2 : 1;
    parser->line++;
  }
  WsCsvRow *row = g_new0 (WsCsvRow, 1);
  row->line = line;
  row->n = fields->len;
  g_ptr_array_add (fields, NULL);
  row->fields = (char **)g_ptr_array_steal (fields, NULL);
  return row;
}

GPtrArray *
wsi_csv_parse (const char *name, const char *text, GError **error)
{
  g_autoptr (GPtrArray) rows = g_ptr_array_new_with_free_func (row_free);
  Parser parser = { .name = name, .at = text, .line = 1 };
  if (g_str_has_prefix (text, BYTE_ORDER_MARK))
    parser.at += strlen (BYTE_ORDER_MARK);
  while (*parser.at != '\0')
  {
    WsCsvRow *row = parse_row (&parser, error);
    if (row == NULL)
      return NULL;
    if (row->n == 1 && *row->fields[0] == '\0')
      row_free (row);
    else
      g_ptr_array_add (rows, row);
  }
  return g_steal_pointer (&rows);
}

int
wsi_csv_column (const WsCsvRow *header, const char *name)
{
  for (guint i = 0; i < header->n; i++)
    if (g_str_equal (header->fields[i], name))
      return (int)i;
  return -1;
}

/* The first bytes of what a formula begins with: most fields have none of them. */
#define FIRST_OF_FORMULAS "=+-@\xef"

/* Spreadsheets run what begins so as a formula, in quotes too (owasp.org, "CSV Injection"); a
 * number isn't one. */
static gboolean
is_formula (const char *field)
{
  static const char *const begins[] = {
    "=", "+", "-", "@", "\uff1d", "\uff0b", "\uff0d", "\uff20"
  };
  const char *text = field + strspn (field, " \t\r\n");
  char *end;
  if (strchr (FIRST_OF_FORMULAS, *text) == NULL)
    return FALSE;
  g_ascii_strtod (field, &end);
  if (text[0] == '\0' || text[1] == '\0' || *end == '\0')
    return FALSE;
  for (gsize i = 0; i < G_N_ELEMENTS (begins); i++)
    if (g_str_has_prefix (text, begins[i]))
      return TRUE;
  return FALSE;
}

static void
append_field (GString *out, const char *text)
{
  g_autofree char *defused = is_formula (text) ? g_strconcat ("'", text, NULL) : NULL;
  const char *field = defused != NULL ? defused : text;
  if (strpbrk (field, ",\"\r\n") == NULL)
  {
    g_string_append (out, field);
    return;
  }
  g_string_append_c (out, '"');
  for (const char *c = field; *c != '\0'; c++)
  {
    if (*c == '"')
      g_string_append_c (out, '"');
    g_string_append_c (out, *c);
  }
  g_string_append_c (out, '"');
}

void
wsi_csv_append_fields (GString *out, const char *const *fields)
{
  for (gsize i = 0; fields[i] != NULL; i++)
  {
    if (i > 0)
      g_string_append_c (out, ',');
    append_field (out, fields[i]);
  }
}

void
wsi_csv_append_row (GString *out, const char *const *fields)
{
  wsi_csv_append_fields (out, fields);
  g_string_append (out, "\r\n");
}
