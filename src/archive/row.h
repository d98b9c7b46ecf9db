/*
 * A quantity as a row has it.
 */
#ifndef WS_ARCHIVE_ROW_H
#define WS_ARCHIVE_ROW_H

#include <glib.h>

G_BEGIN_DECLS

/* One quantity of a record; unknown numbers are NAN. */
typedef struct
{
  const char *name; /* borrowed from the record's text or statement */
  double value, U, k, lower, upper;
  const char *verdict; /* or NULL */
  double smallest_seen;
} WsRow;

typedef void (*WsRowVisit) (const WsRow *row, gpointer data);

G_END_DECLS

#endif
