/*
 * Where heat's colour ends beyond the last cells in which it is seen: a film thins out, and its
 * faintest part drowns in noise.
 */
#ifndef WS_COLOUR_BURN_FADE_H
#define WS_COLOUR_BURN_FADE_H

#include "colour/band.h"

G_BEGIN_DECLS

typedef struct
{
  double beyond; /* how much further than the rim that is seen, cells, 0 or more */
  double u;      /* its standard uncertainty */
} WsFade;

/*
 * `rims`: in each of the band's columns the number of cells from the edge to where colour is last
 * seen, 0 in columns that don't count.  `steel`: clean steel.  docs/methods/front-lit.md (L9).
 */
WsFade wsi_fade_find (const WsBand *band, const guint *rims, WsLight steel);

G_END_DECLS

#endif
