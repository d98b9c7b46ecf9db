/*
 * Who is signed in.  Kept in memory alone, by a hash of what the browser holds: whoever reads it
 * can't sign in by it, and a server that starts again knows nobody.
 */
#ifndef WS_BENCH_SESSIONS_H
#define WS_BENCH_SESSIONS_H

#include "bench/actor.h"

G_BEGIN_DECLS

#define WSI_SESSION_HEX 65 /* 64 digits and the zero byte */

/* Cookies: who is signed in, and a visitor who isn't yet. */
#define WSI_SESSION_COOKIE "__Host-whetsight-session"
#define WSI_VISIT_COOKIE "__Host-whetsight-visit"

typedef struct WsSessions WsSessions;

WsSessions *wsi_sessions_new (void);
void wsi_sessions_free (WsSessions *sessions);

/* A new secret, never one that was there before. */
void wsi_sessions_open (WsSessions *sessions, const WsServeActor *actor,
                        char secret[WSI_SESSION_HEX]);

/* FALSE when nobody is signed in by it, or has been too long. */
gboolean wsi_sessions_find (WsSessions *sessions, const char *secret, WsServeActor *actor);

void wsi_sessions_close (WsSessions *sessions, const char *secret);

/* Everywhere that this account is signed in. */
void wsi_sessions_close_account (WsSessions *sessions, const char *account);

/* What changes must come with: follows from what the browser holds and from what only this server
 * knows. */
void wsi_sessions_token (const WsSessions *sessions, const char *secret,
                         char token[WSI_SESSION_HEX]);

/* Random digits. */
void wsi_sessions_random (char hex[WSI_SESSION_HEX]);

/* In a time that doesn't tell where they differ. */
gboolean wsi_sessions_equal (const char *a, const char *b);

G_END_DECLS

#endif
