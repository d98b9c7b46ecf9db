/*
 * Seals that outlive the disk: signed statements over what an archive holds, to be kept elsewhere.
 *
 * Signatures are Ed25519 (RFC 8032).  Whoever has the archive alone can't make one, so a statement
 * that was kept proves rows that were cut off, rewritten or put back to an older state.
 */
#ifndef WHETSIGHT_SEAL_H
#define WHETSIGHT_SEAL_H

#include <whetsight/archive.h>

G_BEGIN_DECLS

/* Makes a key: its secret half in `path`, which only its owner can read, its public half in
 * PATH.pub; returns the public half in hex digits.  Nothing is written over.  Errors:
 * WS_ERROR_CANT_WRITE; WS_ERROR_USAGE when `path` lies in an archive, where whoever can change the
 * rows could sign them.  Free with g_free(). */
char *ws_seal_key_make (const char *path, GError **error);

/* The public half in hex digits, of a file with either half.  Errors: WS_ERROR_NO_INPUT,
 * WS_ERROR_DATA.  Free with g_free(). */
char *ws_seal_key_public (const char *path, GError **error);

/* As ws_archive_seal(), but returns a statement of several lines, signed by the key in `key_path`.
 * Errors: those of both; WS_ERROR_DATA when others may read the key.  Free with g_free(). */
char *ws_archive_seal_signed (WsArchive *archive, const char *key_path, GError **error);

typedef struct
{
  char *time;    /* ISO 8601, UTC */
  guint64 count; /* rows: inspections and notes */
  char *hash;    /* of the last; "" for none */
  guint64 seals; /* with this one; 0 where it isn't said */
  char *key;     /* the public half of the key that signed it; NULL for a line without signature */
} WsSeal;

/* What ws_archive_seal() and ws_archive_seal_signed() returned, any number of them one after the
 * other.  Every signature is checked.  Errors: WS_ERROR_DATA.  Free with g_ptr_array_unref(). */
GPtrArray *ws_seals_read (const char *text, GError **error);

G_END_DECLS

#endif
