/*
 * A record without the lines of its budgets: four fifths of its text, which nobody reads who looks
 * for a row's columns, and which took as much of the time of parsing.
 */
#ifndef WS_ARCHIVE_LEAN_H
#define WS_ARCHIVE_LEAN_H

#include <jansson.h>

#include "archive/row.h"

G_BEGIN_DECLS

/* `text` with [] for each list of plain objects that is called a budget: of texts in printable
 * ASCII without escapes, short numbers and words, under different keys.  The rest stays as it is,
 * so one is JSON when the other is.  Free with g_free(). */
char *wsi_lean_text (const char *text);

/* That, parsed, keys once each; NULL when it is no JSON. */
json_t *wsi_lean_parse (const char *text, json_error_t *error);

/* A text that was parsed for a row: a record, or what holds one. */
typedef struct
{
  json_t *tree;
  json_t *record;      /* in the tree; NULL where it holds none */
  GArray *rows;        /* of WsRow: the record's quantities, which are empty in the tree; or NULL
                          where the tree has them */
  GStringChunk *names; /* of the rows */
  json_t *of;          /* what the rows were met in */
} WsLean;

typedef json_t *(*WsLeanRecord) (json_t *tree);

/* The same with quantities that are plain beside the tree, which saves making and freeing a node
 * for each of their numbers; `find` (or NULL: the tree is) says where the record is.  `lean` is
 * zero before, and cleared in any case. */
gboolean wsi_lean_read (WsLean *lean, const char *text, WsLeanRecord find, json_error_t *error);

void wsi_lean_clear (WsLean *lean);

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (WsLean, wsi_lean_clear)

G_END_DECLS

#endif
