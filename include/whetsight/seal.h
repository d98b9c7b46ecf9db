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
  char *text;    /* all of it but the stamp, which is what was stamped */
  char *stamp;   /* of a time stamp service, in base64; or NULL */
} WsSeal;

/* What ws_archive_seal() and ws_archive_seal_signed() returned, any number of them one after the
 * other.  Every signature is checked.  Errors: WS_ERROR_DATA.  Free with g_ptr_array_unref(). */
GPtrArray *ws_seals_read (const char *text, GError **error);

/* The seal's text with a time stamp behind it (RFC 3161), by the service at `url`, http://….  Only
 * a hash is sent.  Errors: WS_ERROR_USAGE, WS_ERROR_CANT_WRITE.  Free with g_free(). */
char *ws_seal_stamp (const char *seal, const char *url, GError **error);

/* The time that the seal's stamp attests.  `authority`: a file with the certificates (PEM) that the
 * service's has to follow from, or NULL, and then nobody vouches for it.  Errors: WS_ERROR_DATA
 * when it has none, or it doesn't hold; WS_ERROR_NO_INPUT.  Free with g_free(). */
char *ws_seal_stamp_time (const WsSeal *seal, const char *authority, GError **error);

/* TRUE in `due` when `n` rows or more came since the newest seal, or there is none yet and there is
 * a row. */
gboolean ws_archive_seal_is_due (WsArchive *archive, guint64 n, gboolean *due, GError **error);

G_END_DECLS

#endif
