/*
 * Inspections with their pictures, from the archive of one bench to that of another.
 */
#ifndef WHETSIGHT_BUNDLE_H
#define WHETSIGHT_BUNDLE_H

#include <whetsight/archive.h>

G_BEGIN_DECLS

typedef struct
{
  const char *name; /* of the bench: what its inspections are marked by elsewhere */
  guint64 after;    /* rows behind this number; 0 for all */
  const char *key;  /* a file of ws_seal_key_make() to sign it with, or NULL */
} WsBundleOptions;

typedef struct
{
  guint64 rows, pictures, bytes; /* that the bundle holds */
  guint64 stored, known;         /* of a merge: rows that are new here, that were here already */
  char *name;                    /* the bench's, on one line; free with g_free() */
  char *signer;                  /* of a merge: the public half of the key, or NULL; likewise */
} WsBundle;

/* Writes rows, pictures and their place in the chain to the new folder `to`; its manifest comes
 * last, so that one that isn't whole is none.  Errors: WS_ERROR_DATA when rows of the archive
 * aren't as they were written, or `to` holds something; those of ws_archive_open(). */
gboolean ws_archive_bundle (WsArchive *archive, const char *to, const WsBundleOptions *options,
                            WsBundle *bundle, GError **error);

/* Takes in what a bundle holds, all of it or nothing, marked as from elsewhere; what is there
 * already is passed by.  `key`: a file with the public half of the key that must have signed it, or
 * NULL.  Errors: WS_ERROR_NO_INPUT when it is none, or not whole; WS_ERROR_DATA when something of
 * it was changed, is signed by another key, or differs from what is here under the same id;
 * WS_ERROR_CANT_WRITE. */
gboolean ws_archive_merge (WsArchive *archive, const char *from, const char *key, WsBundle *bundle,
                           GError **error);

G_END_DECLS

#endif
