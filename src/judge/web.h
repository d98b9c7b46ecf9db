/*
 * The web of a twist drill: what the card says of it, else what is usual.  It lies here since
 * limits need it as well as views.
 */
#ifndef WS_JUDGE_WEB_H
#define WS_JUDGE_WEB_H

#include <glib.h>

G_BEGIN_DECLS

/* Half the web at the point over the envelope radius, and its standard uncertainty. */
typedef struct
{
  double half, u;
  gboolean by_card;
} WsWeb;

/* `web` by the card, NAN when it is silent, and the drill's diameter, both in one unit. */
WsWeb wsi_web_of (double web, double diameter);

/* A thick one of such webs: 2.5 standard uncertainties more. */
double wsi_web_thick (const WsWeb *web);

G_END_DECLS

#endif
