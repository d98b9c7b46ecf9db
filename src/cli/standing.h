/*
 * What several views of one tool say of it together, at the end of a call.
 */
#ifndef WS_CLI_STANDING_H
#define WS_CLI_STANDING_H

#include <whetsight/archive.h>
#include <whetsight/card.h>

#include "judge/join.h"

G_BEGIN_DECLS

/* Tools in the order in which they were first measured. */
typedef struct WsStandings WsStandings;

WsStandings *wsi_standings_new (void);
void wsi_standings_free (WsStandings *standings);

/* `card` is borrowed, `view` static.  Tools without a card have no name to be joined by. */
void wsi_standings_note (WsStandings *standings, const WsToolCard *card, const char *view,
                         WsVerdict verdict);

/* Prints a line for each tool whose card names its views or of which more than one was looked at,
 * unless `quiet`; what `archive` (or NULL) holds counts too.  Returns the exit status of the worst
 * tool whose card names its views. */
int wsi_standings_tell (const WsStandings *standings, WsArchive *archive, gboolean quiet);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsStandings, wsi_standings_free)

G_END_DECLS

#endif
