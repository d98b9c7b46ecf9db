/*
 * Who asks.
 */
#ifndef WS_BENCH_ACTOR_H
#define WS_BENCH_ACTOR_H

#include <glib.h>

G_BEGIN_DECLS

/* Each may do what those before it may. */
typedef enum
{
  WS_ROLE_NOBODY,   /* not signed in */
  WS_ROLE_OPERATOR, /* measures, sees, comments */
  WS_ROLE_TOOLROOM, /* grinds, keeps tool cards */
  WS_ROLE_QUALITY,  /* keeps limits, releases, seals, keeps accounts */
  WS_N_ROLES
} WsServeRole;

/* "nobody", "operator", "toolroom", "quality"; static. */
const char *wsi_role_name (WsServeRole role);

/* WS_ROLE_NOBODY for what is none. */
WsServeRole wsi_role_of_name (const char *name);

#define WSI_ACCOUNT_MOST 64 /* bytes of an account's name */

typedef struct
{
  WsServeRole role;
  char account[WSI_ACCOUNT_MOST + 1]; /* "" for nobody */
  gboolean is_local;                  /* at this computer, without sign-in */
} WsServeActor;

G_END_DECLS

#endif
