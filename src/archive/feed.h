/*
 * Feeds: what is new in the archive goes to other programs by itself.  Each tool that changed goes
 * to an MTConnect agent as an asset, each inspection into a folder as files.
 *
 * What was sent stands in a file beside the feed's own, whole or not at all; what couldn't be is
 * tried again the next time.  The archive itself is the queue: nothing is lost while an agent is
 * down, nobody waits for it, and what was sent twice after a crash is the same again.
 */
#ifndef WS_ARCHIVE_FEED_H
#define WS_ARCHIVE_FEED_H

#include <whetsight/archive.h>
#include <whetsight/exchange.h>

G_BEGIN_DECLS

/*
 *   [feed]
 *   archive = shop
 *   since = 2026-11-29
 *   [agent]
 *   url = http://agent.local:5000
 *   device = Grinder-2
 *   [drop]
 *   folder = /srv/erp/in
 *   forms = csv, qif
 */
typedef struct
{
  char *path;    /* of the feed's file */
  char *archive; /* folder or address */
  char *since;   /* rows of earlier times are passed by; "" for none */
  char *url;     /* of the agent, without a slash at its end; NULL: none */
  char *device;  /* of the agent that assets belong to, or NULL: its first */
  char *folder;  /* that files go into; NULL: none */
  gboolean forms[WS_EXCHANGE_QIF + 1];
} WsFeed;

/* Errors: WS_ERROR_NO_INPUT, WS_ERROR_DATA naming group and key.  Free with wsi_feed_free(). */
WsFeed *wsi_feed_load (const char *path, GError **error);
void wsi_feed_free (WsFeed *feed);

/* What came of one run. */
typedef struct
{
  guint n_assets, n_files; /* taken */
  guint n_waiting;         /* tools whose asset the agent hasn't taken */
  guint n_wrong;           /* inspections that aren't as they were written: not sent */
  char *agent;             /* why assets wait, one line; or NULL */
  char *drop;              /* why files do; or NULL */
} WsFed;

void wsi_fed_clear (WsFed *fed);

/* Sends what is new since the last run.  FALSE when the archive or the state can't be used, or
 * another run is at it (WS_ERROR_CANT_WRITE); what others don't take is told in `fed` alone.  Clear
 * `fed` with wsi_fed_clear(). */
gboolean wsi_feed_run (const WsFeed *feed, WsQuantityLookup lookup, WsFed *fed, GError **error);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsFeed, wsi_feed_free)
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (WsFed, wsi_fed_clear)

G_END_DECLS

#endif
