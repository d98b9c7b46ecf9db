/*
 * Clean ground steel, which heat's colours are compared with.
 */
#ifndef WS_COLOUR_BURN_BALANCE_H
#define WS_COLOUR_BURN_BALANCE_H

#include "colour/band.h"
#include "colour/film.h"

G_BEGIN_DECLS

/* Heat stays near the edge: beyond this part of its depth a band is taken for clean. */
#define WS_BURN_CLEAN_FROM 0.5

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
  WS_BURN_NOISY,          /* faint films could be lost in the picture's noise */
  WS_BURN_FAINT,          /* faint colour that a film may have in a picture of little contrast */
  WS_BURN_FOREIGN_COLOUR, /* a colour at the edge that is no oxide film's: paint, coolant,
                             a reflection */
  WS_BURN_ON_COATING      /* a coating has another colour near the edge */
} WsBurnTrouble;

/* What colour a flank has all over, in kinds that people name. */
typedef enum
{
  WS_TINT_UNKNOWN, /* not seen, or the light's */
  WS_TINT_GREY,    /* bare steel, black, silver */
  WS_TINT_GOLD,
  WS_TINT_BRONZE, /* copper, rose */
  WS_TINT_VIOLET, /* to blue */
  WS_TINT_OTHER,
  WS_N_TINTS
} WsTint;

/* A sentence for people; static.  NULL for WS_BURN_JUDGED. */
const char *wsi_burn_trouble_text (WsBurnTrouble trouble);

/* The tool's own clean ground steel, which everything is compared with. */
typedef struct
{
  WsBurnTrouble trouble;
  WsLight steel; /* its median colour */
  double noise;  /* standard deviation of a* and b* among its cells */
  double veil;   /* share of its light that may be none of it: stray, or added by the camera */
  WsFilm ground; /* the film that a reflection of the ground could be taken for, or none */
  WsTint tint;   /* of the steel */
} WsBalance;

/*
 * From the deeper half of the bands, where heat has not come.  `ground`: median colour of what
 * lies around the tool, or NULL; `card`: of a grey card, or NULL.  docs/methods/front-lit.md (L1).
 */
WsBalance wsi_balance_find (const WsBand *const *bands, guint n_bands, const WsLight *ground,
                            const WsLight *card);

/* Where no steel is clean: `card` is what a grey card looks like. */
WsBalance wsi_balance_of_card (const WsBand *const *bands, guint n_bands, WsLight card);

G_END_DECLS

#endif
