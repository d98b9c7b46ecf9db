/*
 * The tables of an archive in PostgreSQL, who may do what with them, and what holds chains together
 * whatever a bench sends.
 */
#ifndef WS_ARCHIVE_POSTGRESQL_TABLES_H
#define WS_ARCHIVE_POSTGRESQL_TABLES_H

#include <glib.h>

#include "archive/engine.h"

G_BEGIN_DECLS

#define WS_POSTGRESQL_FORM 1 /* of the tables, plant.form */

/* postgresql_tables.sql: statements that make all of it, apart from the row of `plant`. */
extern const char wsi_postgresql_tables[];

/* Asks for all there is: "table head", and what it is made of as far as that is held against. */
extern const char wsi_postgresql_inventory[];

/* What it should answer; free with g_hash_table_unref(). */
GHashTable *wsi_postgresql_expected (void);

G_END_DECLS

#endif
