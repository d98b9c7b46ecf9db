/*
 * Where in a band there is heat's colour, and how deep it goes.
 */
#ifndef WS_COLOUR_BURN_SEARCH_H
#define WS_COLOUR_BURN_SEARCH_H

#include "colour/burn_balance.h"

G_BEGIN_DECLS

/* A value a cell of the band. */
typedef struct
{
  const WsBand *band;
  guint8 *films;  /* WsFilm */
  float *chroma;  /* NAN off the tool */
  float *purity;  /* chroma that the cell would have if it were as light as clean steel */
  guint8 *region; /* 1: burn */
} WsBurnSearch;

/* Looks for colour beside that of clean steel, hanging together with the edge, weakened to `share`
 * of what a film has.  Clear with wsi_burn_search_clear(). */
void wsi_burn_search_init (const WsBand *band, const WsBalance *balance, double share,
                           WsBurnSearch *search);
void wsi_burn_search_clear (WsBurnSearch *search);

/* How deep the region goes in a column, cells; 0 where there is none. */
guint wsi_burn_column_depth (const WsBurnSearch *search, guint s);

/* The most columns side by side whose colour can't be told near the edge, for over-exposure. */
guint wsi_burn_blind_columns (const WsBurnSearch *search);

/* Does the tool go on, in view, beyond a column's colour? */
gboolean wsi_burn_has_rim (const WsBurnSearch *search, guint s, guint depth);

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (WsBurnSearch, wsi_burn_search_clear)

G_END_DECLS

#endif
