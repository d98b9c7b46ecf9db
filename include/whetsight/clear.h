/*
 * What an archive needn't keep any longer: old pictures by a rule, and left-over files.
 */
#ifndef WHETSIGHT_CLEAR_H
#define WHETSIGHT_CLEAR_H

#include <whetsight/archive.h>

G_BEGIN_DECLS

/* Borrowed. */
typedef struct
{
  const char *keep;    /* "10y", "18m", "6w", "90d": pictures of inspections older than that go */
  const char *by;      /* who says so */
  const char *account; /* whose login it is said from, or NULL */
} WsClearRule;

typedef struct
{
  guint64 inspections, pictures, bytes; /* pictures removed, of so many inspections */
  guint64 left_over;                    /* files of interrupted writes that were removed */
  guint64 wrong;                        /* things told: they stay as they are */
} WsCleared;

/*
 * Removes files that interrupted writes left over, and, with `rule` (or NULL), pictures of
 * inspections that are older.  Of each of these inspections a note says so, in the chain; its
 * record, with the pictures' SHA-256, stays.  Age counts up to the newest inspection, so that a
 * clock that runs ahead removes nothing.  A picture that a younger inspection has too stays, and
 * so does one that isn't as it was stored, which `verifier` tells.  With `dry` only says what would
 * go.  Errors: WS_ERROR_USAGE when `rule` is none; WS_ERROR_CANT_WRITE; WS_ERROR_DATA.
 */
gboolean ws_archive_clear (WsArchive *archive, const WsClearRule *rule, gboolean dry,
                           const WsVerifier *verifier, WsCleared *cleared, GError **error);

/* TRUE when a note on the inspection, made in this archive, says that its picture of that SHA-256
 * was removed.  It may be here all the same, where another inspection has it, too. */
gboolean ws_inspection_was_cleared (const WsInspection *inspection, const char *sha256);

G_END_DECLS

#endif
