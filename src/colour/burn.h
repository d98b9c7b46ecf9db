/*
 * Burn: oxide colours that begin at a cutting edge and fade into clean steel.
 */
#ifndef WS_COLOUR_BURN_H
#define WS_COLOUR_BURN_H

#include "colour/burn_balance.h"

G_BEGIN_DECLS

typedef struct
{
  WsBurnTrouble trouble;
  gboolean present;
  gboolean by_card;     /* colour was told by a grey card, for want of clean steel */
  guint8 *films;        /* WsFilm of each cell of the band that is burn */
  double area;          /* burnt cells within the evaluated depth */
  double evaluated;     /* cells of tool within the evaluated depth */
  double depth;         /* greatest depth of colour from the edge, px, with its unseen faint rim */
  double depth_seen;    /* without that */
  gboolean leaves_view; /* colour goes on where the flank is out of view: it is deeper than that */
  double u_fade;        /* standard uncertainty of the depth from how colour fades out */
  double uneven;        /* by how much the deepest columns exceed the median one */
  double length;        /* px of the edge that are affected */
  double distance;      /* earth mover's distance between the chromas of the evaluated band and
                           of clean steel, in units of a* */
  guint counts[WS_N_FILMS];
  WsFilm dominant; /* most frequent */
  WsFilm hottest;  /* thickest film with a share worth naming */
} WsBurn;

/* Evaluates `evaluated_depth` px from the edge for shares; colour is followed further.  Clear
 * with wsi_burn_clear(). */
void wsi_burn_find (const WsBand *band, const WsBalance *balance, guint evaluated_depth,
                    WsBurn *burn);
void wsi_burn_clear (WsBurn *burn);

G_END_DECLS

#endif
