/*
 * Copies of a whole archive, made while others write to it.
 */
#ifndef WHETSIGHT_BACKUP_H
#define WHETSIGHT_BACKUP_H

#include <whetsight/archive.h>

G_BEGIN_DECLS

typedef struct
{
  guint64 rows, pictures, bytes; /* that the copy holds */
  guint64 copied;                /* pictures that weren't there, or not as they should be */
  guint64 mended;                /* of these: were there, damaged */
  guint64 wrong;                 /* things told */
} WsBackup;

/* Brings the folder `to` up to what `from` holds now: a new one, or what an earlier call left,
 * whole or not.  Only what is missing is copied.  Rows are checked before, all of the copy after;
 * what isn't as it was written is told.  Whenever this ends, or the computer stops, `to` is either
 * the earlier copy, whole, or the new one, or no archive yet.  Errors: WS_ERROR_USAGE for a folder
 * within an archive; WS_ERROR_DATA when `to` is something else, or its rows aren't those that
 * `from` began with, or rows of `from` were changed: then the earlier copy stays;
 * WS_ERROR_NO_INPUT; WS_ERROR_CANT_WRITE. */
gboolean ws_archive_backup (const char *from, const char *to, const WsVerifier *verifier,
                            WsBackup *done, GError **error);

/* The same into a folder that holds no archive yet: WS_ERROR_USAGE otherwise. */
gboolean ws_archive_restore (const char *from, const char *to, const WsVerifier *verifier,
                             WsBackup *done, GError **error);

G_END_DECLS

#endif
