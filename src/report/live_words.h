/*
 * What is said while a tool is set up before a camera, for people.
 */
#ifndef WS_REPORT_LIVE_WORDS_H
#define WS_REPORT_LIVE_WORDS_H

#include <whetsight/live.h>

G_BEGIN_DECLS

/* "turned out of the picture's plane: by 2.8 deg; …": what it is and what is to be done.  Free with
 * g_free(). */
char *wsi_live_words (const WsLiveSaid *said);

G_END_DECLS

#endif
