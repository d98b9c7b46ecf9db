/*
 * One run of verifying: what was seen so far, and how what is wrong is told.
 */
#ifndef WS_ARCHIVE_CHECK_H
#define WS_ARCHIVE_CHECK_H

#include "archive/store.h"

G_BEGIN_DECLS

/* Of one bench, or the only one of a folder. */
typedef struct
{
  char *bench;         /* or NULL */
  GHashTable *by_hash; /* a row's hash -> WsLink */
  GPtrArray *links;    /* of WsLink, in the order of their numbers */
} WsChain;

typedef struct
{
  WsArchive *archive;
  const WsVerifier *verifier;
  WsVerification *result;
  GHashTable *chains;    /* a bench's name, or "" -> WsChain */
  GPtrArray *edited;     /* of WsEdited */
  GHashTable *known;     /* SHA-256 of pictures in the table -> NULL */
  GHashTable *used;      /* SHA-256 of pictures that rows name -> WsLink */
  GHashTable *uses;      /* SHA-256 of these -> how many rows name them */
  GHashTable *removals;  /* SHA-256 -> of how many rows notes say that it was removed */
  GHashTable *announced; /* SHA-256 */
  GPtrArray *unknown;    /* of char *, "1f/1f0c…": files that weren't in the table */
  guint64 all_bytes, done_bytes;
  gboolean pictures_were_read; /* so that their names and sizes do */
} WsCheck;

/* A row's place in the chain. */
typedef struct
{
  guint64 number; /* in its chain */
  gsize index;
  const WsChain *chain;
  char *id, *previous, *hash;
  gboolean told;
} WsLink;

/* A row whose content isn't what its hash says. */
typedef struct
{
  WsLink *link;
  WsInspection *row;
} WsEdited;

/* As ws_archive_verify() without looking at files, within a transaction that reads. */
gboolean wsi_verify_rows (WsArchive *archive, const WsVerifier *verifier,
                          WsVerification *verification, GError **error);

/* As ws_archive_verify(), just after all pictures were hashed. */
gboolean wsi_verify_but_pictures (WsArchive *archive, const WsVerifier *verifier,
                                  WsVerification *verification, GError **error);

void wsi_check_tell (WsCheck *check, const char *format, ...) G_GNUC_PRINTF (2, 3);

/* Names the row first; a row that was told of isn't told of again for what follows from it. */
void wsi_check_tell_row (WsCheck *check, WsLink *link, const char *format, ...)
  G_GNUC_PRINTF (3, 4);

/* TRUE for a picture that was removed by a rule, as notes on all rows that name it say. */
gboolean wsi_check_was_removed (const WsCheck *check, const char *sha256);

void wsi_check_progress (WsCheck *check);

/* Made when it isn't there. */
WsChain *wsi_check_chain_of (WsCheck *check, const char *bench);

/* Rows by their hashes, and what they say twice by the record: fills `chains` and `used`. */
gboolean wsi_check_rows (WsCheck *check, GError **error);

/* The order of each chain's links, and its head. */
gboolean wsi_check_chains (WsCheck *check, GError **error);

/* Seals in the database, and one that was kept elsewhere, or NULL. */
gboolean wsi_check_seals (WsCheck *check, const char *seal, GError **error);

/* Pictures are hashed by threads while rows are checked. */
typedef struct WsPictureCheck WsPictureCheck;

/* NULL when their table can't be read.  Fills `known`.  Ends with wsi_picture_check_finish(). */
WsPictureCheck *wsi_picture_check_start (WsCheck *check, GError **error);

/* Waits; with `judge` tells which are missing or altered, and which the rows miss. */
void wsi_picture_check_finish (WsPictureCheck *pictures, gboolean judge);

/* Files that no row knows.  Writers may go on meanwhile. */
gboolean wsi_check_extras (WsCheck *check, GError **error);

G_END_DECLS

#endif
