/*
 * Is colour at an edge heat's, or paint, ink or a reflection?
 */
#ifndef WS_COLOUR_BURN_FILM_H
#define WS_COLOUR_BURN_FILM_H

#include "colour/burn_search.h"

G_BEGIN_DECLS

/*
 * A film thins out from the edge into the flank, so every burn ends in straw that fades; paint,
 * ink and reflections end as they began.  Where the end isn't in view, it thins at least.
 */
gboolean wsi_burn_fades_as_film (const WsBurnSearch *search);

G_END_DECLS

#endif
