/*
 * Burn: oxide colours that begin at a cutting edge and fade into clean steel.
 */
#ifndef WS_COLOUR_BURN_H
#define WS_COLOUR_BURN_H

#include "colour/band.h"
#include "colour/film.h"

G_BEGIN_DECLS

/* Why colour can't be judged. */
typedef enum
{
  WS_BURN_JUDGED,
  WS_BURN_NO_COLOUR,      /* a grey picture */
  WS_BURN_NO_REFERENCE,   /* no clean steel and no grey card to compare with */
  WS_BURN_CLIPPED,        /* the steel is over-exposed */
  WS_BURN_MIXED_LIGHT,    /* the steel's colour changes from end to end */
  WS_BURN_COLOURED_LIGHT, /* steel and ground are strongly tinted alike */
  WS_BURN_COATED,         /* the whole flank has a colour of its own */
  WS_BURN_EDGE_UNSURE,    /* coloured steel may have been taken for ground */
  WS_BURN_FOREIGN_COLOUR  /* a colour at the edge that is no oxide film's: paint, coolant,
                             a reflection */
} WsBurnTrouble;

/* A sentence for people; static.  NULL for WS_BURN_JUDGED. */
const char *ws_burn_trouble_text (WsBurnTrouble trouble);

/* The tool's own clean ground steel, which everything is compared with. */
typedef struct
{
  WsBurnTrouble trouble;
  WsLight steel; /* its median colour */
  double noise;  /* standard deviation of a* and b* among its cells */
  WsFilm ground; /* the film that a reflection of the ground could be taken for, or none */
} WsBalance;

/*
 * From the deeper half of the bands, where heat has not come.  `ground`: median colour of what
 * lies around the tool, or NULL; `card`: of a grey card, or NULL.  docs/methods/front-lit.md (L1).
 */
WsBalance ws_balance_find (const WsBand *const *bands, guint n_bands, const WsLight *ground,
                           const WsLight *card);

/* Where no steel is clean: `card` is what a grey card looks like. */
WsBalance ws_balance_of_card (const WsBand *const *bands, guint n_bands, WsLight card);

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
 * with ws_burn_clear(). */
void ws_burn_find (const WsBand *band, const WsBalance *balance, guint evaluated_depth,
                   WsBurn *burn);
void ws_burn_clear (WsBurn *burn);

G_END_DECLS

#endif
