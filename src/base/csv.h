/*
 * Tables as comma-separated values, RFC 4180.
 */
#ifndef WS_BASE_CSV_H
#define WS_BASE_CSV_H

#include <glib.h>

G_BEGIN_DECLS

typedef struct
{
  guint line;    /* of the file, from 1 */
  char **fields; /* ends in NULL */
  guint n;
} WsCsvRow;

/* Rows of WsCsvRow; lines end in LF or CRLF, empty ones and a byte order mark are skipped.
 * Errors: WS_ERROR_DATA for a quote that isn't closed or has text after it; `name` of the file
 * is for the message.  Free with g_ptr_array_unref(). */
GPtrArray *wsi_csv_parse (const char *name, const char *text, GError **error);

/* Index of a column by its name in the first row, or -1. */
int wsi_csv_column (const WsCsvRow *header, const char *name);

/* Adds a line of fields, which end in NULL, in quotes where they must be; it ends in CRLF as the
 * RFC says.  A field that a spreadsheet would run as a formula gets an apostrophe before it. */
void wsi_csv_append_row (GString *out, const char *const *fields);

/* The same of a part of a line: fields with commas between them, no more. */
void wsi_csv_append_fields (GString *out, const char *const *fields);

G_END_DECLS

#endif
