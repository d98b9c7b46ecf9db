#include "archive/postgresql_address.h"

#include <string.h>

#include <whetsight/error.h>

/* Seconds, seconds, and milliseconds: a server that is gone is noticed within a minute. */
#define CONNECT_S "10"
#define SILENT_S "30"
#define UNANSWERED_MS "60000"

/* libpq marks what isn't to be shown: "*" passwords, "D" what only debuggers want. */
static gboolean
is_secret (const PQconninfoOption *option)
{
  return strchr (option->dispchar, '*') != NULL || strstr (option->keyword, "password") != NULL;
}

static const char *
value_of (const PQconninfoOption *options, const char *keyword)
{
  for (const PQconninfoOption *option = options; option->keyword != NULL; option++)
    if (g_str_equal (option->keyword, keyword) && option->val != NULL && *option->val != '\0')
      return option->val;
  return NULL;
}

/* libpq's own words may quote what it couldn't read, and with that a password. */
static PQconninfoOption *
read_address (const char *address, GError **error)
{
  char *what = NULL;
  PQconninfoOption *options = PQconninfoParse (address, &what);
  PQfreemem (what);
  if (options == NULL)
    g_set_error (error, WS_ERROR, WS_ERROR_USAGE,
                 "this is no address of a PostgreSQL server; it looks like "
                 "postgresql://bench7@server/plant");
  for (const PQconninfoOption *option = options; option != NULL && option->keyword != NULL;
       option++)
    if (is_secret (option) && option->val != NULL)
    {
      g_set_error (error, WS_ERROR, WS_ERROR_USAGE,
                   "there is a password in the archive's address, where anybody sees it who lists "
                   "processes; put it into the file ~/.pgpass, or into one that PGPASSFILE names, "
                   "and leave it out here");
      PQconninfoFree (options);
      return NULL;
    }
  return options;
}

char *
wsi_postgresql_address_shown (const char *address, GError **error)
{
  PQconninfoOption *options = read_address (address, error);
  if (options == NULL)
    return NULL;
  const char *user = value_of (options, "user"), *host = value_of (options, "host");
  const char *port = value_of (options, "port"), *name = value_of (options, "dbname");
  const char *service = value_of (options, "service");
  char *shown =
    service != NULL && host == NULL
      ? g_strdup_printf ("postgresql://?service=%s", service)
      : g_strdup_printf ("postgresql://%s%s%s%s%s/%s", user != NULL ? user : "",
                         user != NULL ? "@" : "", host != NULL ? host : "", port != NULL ? ":" : "",
                         port != NULL ? port : "", name != NULL ? name : "");
  PQconninfoFree (options);
  return shown;
}

/* Later ones count, so the address comes behind what is only taken where it doesn't say so. */
PGconn *
wsi_postgresql_connect (const char *address)
{
  const char *const names[] = { "connect_timeout",
                                "keepalives_idle",
                                "tcp_user_timeout",
                                "fallback_application_name",
                                "dbname",
                                "client_encoding",
                                NULL };
  const char *const values[] = { CONNECT_S, SILENT_S, UNANSWERED_MS, g_get_host_name (),
                                 address,   "UTF8",   NULL };
  return PQconnectdbParams (names, values, 1);
}

/* The server cuts names short and takes letters beyond ASCII out of them. */
char *
wsi_postgresql_bench (PGconn *connection)
{
  PQconninfoOption *options = PQconninfo (connection);
  const char *name = options != NULL ? value_of (options, "application_name") : NULL;
  char *bench = g_strdup (name != NULL ? name : g_get_host_name ());
  PQconninfoFree (options);
  return bench;
}
