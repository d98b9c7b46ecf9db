/*
 * The bench page: what it knows, and how a request becomes an answer.
 *
 * A request is admitted first (wsi_serve_admit()) by its head alone: host, origin, route, role;
 * then its body is read, and it is answered (wsi_serve_answer()).  Both run in any thread.
 */
#ifndef WS_BENCH_SERVE_H
#define WS_BENCH_SERVE_H

#include <whetsight/archive.h>

#include "bench/accounts.h"
#include "bench/crew.h"
#include "bench/eye.h"
#include "bench/limiter.h"
#include "bench/regrinds_kept.h"
#include "bench/reply.h"
#include "bench/request.h"
#include "bench/sessions.h"

G_BEGIN_DECLS

/* Borrowed. */
typedef struct
{
  const char *archive; /* folder */
  const char *cards;   /* folder of tool cards, and of the setup */
  const char *spool;   /* folder for what is being measured */
  char *const *worker; /* command that measures, ending in NULL */
  guint n_workers;
  gboolean lan;        /* on the network: with sign-in */
  char *const *hosts;  /* names that this computer is asked by, ending in NULL */
  guint port;          /* 0: any */
  const char *login;   /* who runs it: the name that changes have where nobody signs in */
  const char *samples; /* folder of the demo's pictures, or NULL */
  const char *camera;  /* the bench's, as of wsi_eye_new(), or NULL */
  const char *bench;   /* or its bench file */
  double rate;
} WsServeSettings;

typedef struct WsServe WsServe;

struct WsServe
{
  WsServeSettings settings;
  WsCrew *crew;
  WsEye *eye; /* NULL without a camera */
  WsSessions *sessions;
  WsPasswords passwords;
  GMutex verifying;    /* the archive */
  WsLimiter *tries;    /* to sign in */
  WsLimiter *asks;     /* of a client */
  GMutex lock;         /* of `archives` */
  GPtrArray *archives; /* that are open and not in use */
  WsRegrindsKept *regrinds;
};

/* Errors: those of opening the archive.  Free with wsi_serve_free(). */
WsServe *wsi_serve_new (const WsServeSettings *settings, GError **error);
void wsi_serve_free (WsServe *serve);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsServe, wsi_serve_free)

/* An archive to work with; NULL with an error.  Given back by wsi_serve_give(), which also takes
 * NULL. */
WsArchive *wsi_serve_take (WsServe *serve, GError **error);
void wsi_serve_give (WsServe *serve, WsArchive *archive);

/* As wsi_accounts_list(). */
GPtrArray *wsi_serve_accounts (WsServe *serve, GError **error);

/* In the form that the request asks in.  The second takes the error over and finds the status for
 * it. */
WsServeReply *wsi_serve_trouble (const WsServeRequest *request, guint status, const char *words);
WsServeReply *wsi_serve_take_error (WsServe *serve, const WsServeRequest *request, GError *error);

G_END_DECLS

#endif
