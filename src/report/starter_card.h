/*
 * A tool card to begin with: what the kind, the size and the published standards say, each number
 * with its source.
 */
#ifndef WS_REPORT_STARTER_CARD_H
#define WS_REPORT_STARTER_CARD_H

#include <whetsight/card.h>

G_BEGIN_DECLS

/* What is known of the tool; borrowed. */
typedef struct
{
  WsToolKind kind;
  const char *id;
  const char *purpose; /* or NULL */
  const char *size;    /* as wsi_size_parse() reads it, or NULL */
  const char *hand;    /* "right", "left", or NULL */
  double point_angle;  /* degrees; NAN: the usual one */
  WsAnswer hole;       /* of a cutoff blade's part */
  const char *profile; /* of a form tool, or NULL */
} WsStarter;

/* The card's text.  Its limits are those built in for such a tool, about its point angle.  Free
 * with g_free(). */
char *wsi_starter_card (const WsStarter *starter);

G_END_DECLS

#endif
