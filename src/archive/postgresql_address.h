/*
 * The address of a PostgreSQL server: postgresql://….
 */
#ifndef WS_ARCHIVE_POSTGRESQL_ADDRESS_H
#define WS_ARCHIVE_POSTGRESQL_ADDRESS_H

#include <glib.h>

#include "late/postgresql.h"

G_BEGIN_DECLS

/* The address as it may be shown, by which nobody gets in; free with g_free().  NULL for one that
 * can't be read, and for one with a password in it, which everybody could read who sees the list of
 * processes.  Errors: WS_ERROR_USAGE. */
char *wsi_postgresql_address_shown (const char *address, GError **error);

/* Never NULL; free with PQfinish().  Tell by its state whether it is connected. */
PGconn *wsi_postgresql_connect (const char *address);

/* Whose chain the connection writes to: application_name, or the name of this computer.  Free with
 * g_free(). */
char *wsi_postgresql_bench (PGconn *connection);

G_END_DECLS

#endif
