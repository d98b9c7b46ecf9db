/*
 * Passwords: argon2id, and answers that take as long whether there is such an account or not.
 */
#ifndef WS_BENCH_ACCOUNTS_H
#define WS_BENCH_ACCOUNTS_H

#include <whetsight/archive.h>

#include "bench/actor.h"

G_BEGIN_DECLS

#define WSI_PASSWORD_LEAST 10 /* characters */

/* Hashing takes 64 MB, so it is done one at a time; the lock is the owner's. */
typedef struct
{
  GMutex lock;
  char *nobody; /* a hash of no password, for names that have no account */
} WsPasswords;

/* Errors: WS_ERROR_INTERNAL when there is no memory for it. */
gboolean wsi_passwords_init (WsPasswords *passwords, GError **error);
void wsi_passwords_clear (WsPasswords *passwords);

/* TRUE when the password is the account's, and sets who it is. */
gboolean wsi_accounts_sign_in (WsPasswords *passwords, WsArchive *archive, const char *name,
                               const char *password, WsServeActor *actor, GError **error);

/* What is said of an account that is made or changed; NULL for what stays. */
typedef struct
{
  const char *name, *role, *password;
  gboolean closed;
  const char *by, *login, *reason;
} WsAccountChange;

/* Errors: WS_ERROR_USAGE for a name, role or password that can't be had; WS_ERROR_DATA when no
 * account would be left that keeps the others; those of wsi_account_set(). */
gboolean wsi_accounts_change (WsPasswords *passwords, WsArchive *archive,
                              const WsAccountChange *change, GError **error);

G_END_DECLS

#endif
