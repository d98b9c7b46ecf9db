/*
 * Who may sign in at the bench page.  An account's role and the hash of its password stand in a
 * table of their own; each change of them is an event of the chain, which names the role and the
 * SHA-256 of that hash, so that an account that was changed behind the archive's back is noticed:
 * it can't be used, and verifying tells.
 */
#ifndef WS_ARCHIVE_ACCOUNT_H
#define WS_ARCHIVE_ACCOUNT_H

#include "archive/event.h"

G_BEGIN_DECLS

typedef struct
{
  char *name;
  char *role;
  char *hash;  /* of the password; "" for a closed account */
  char *wrong; /* what of it is not as it was written, or NULL */
} WsAccount;

void wsi_account_free (WsAccount *account);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsAccount, wsi_account_free)

/* NULL without an error when there is none. */
WsAccount *wsi_account_find (WsArchive *archive, const char *name, GError **error);

/* Of WsAccount, by their names.  Free with g_ptr_array_unref(). */
GPtrArray *wsi_accounts_list (WsArchive *archive, GError **error);

/* Makes the account or changes it, with the entry in the chain, both or none; `words` says who and
 * why.  Errors: those of wsi_event_add(); WS_ERROR_DATA for an account that isn't as it was
 * written. */
gboolean wsi_account_set (WsArchive *archive, const WsAccount *account, const WsEventWords *words,
                          GError **error);

typedef void (*WsAccountVisit) (const char *what, gpointer data);

/* Tells of each that isn't as it was written, or is gone. */
gboolean wsi_accounts_check (WsArchive *archive, WsAccountVisit visit, gpointer data,
                             GError **error);

G_END_DECLS

#endif
