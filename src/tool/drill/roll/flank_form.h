/*
 * A flank's form behind its lip, and what of it is the outline: docs/methods/drill-roll.md, (R35)
 * to (R37).  Lengths in radii, in the frame of the lip, as if on the right.
 */
#ifndef WS_TOOL_DRILL_ROLL_FLANK_FORM_H
#define WS_TOOL_DRILL_ROLL_FLANK_FORM_H

#include "tool/drill/roll/lip_curve.h"

G_BEGIN_DECLS

/* Terms of the fall behind a lip: powers of the distance behind it and of the place along it. */
#define WS_FLANK_N 9
#define WS_FLANK_FIRST_BENT 4 /* those before are the fall at the lip, and the bend behind it */

typedef struct
{
  const double *lips; /* WS_LIP_N_UNKNOWNS */
  double fall[2][WS_FLANK_N];
} WsFlankForm;

/* Where the outline touches. */
typedef struct
{
  double x, y, z; /* z by the form */
  double behind;  /* the lip; 0: the lip itself */
  gboolean found; /* else the flank rises as far as it goes */
} WsFlankContact;

/* Height of flank k over (x, y). */
double wsi_flank_height (const WsFlankForm *form, guint k, double x, double y);

/* What each term takes off that height. */
void wsi_flank_terms (const WsFlankForm *form, guint k, double x, double y,
                      double terms[WS_FLANK_N]);

/* The point of flank k that a frame sees highest at `across`; `lean` by the depth. */
WsFlankContact wsi_flank_contact (const WsFlankForm *form, guint k, const WsLipSeen *seen,
                                  double lean, double across);

/* Axial relief of lip k at a radius: how steeply the flank falls along the circle; rad. */
double wsi_flank_relief (const WsFlankForm *form, guint k, double radius);

/* Where flank k ends at the chisel edge's far end, at the other lip; NAN where they don't meet. */
WsPoint wsi_flank_chisel_end (const WsFlankForm *form, guint k);

/* Obtuse angle between the lips' mean direction and the chord of the chisel edge; NAN where the
 * flanks don't meet between the lips. */
double wsi_flank_chisel_angle (const WsFlankForm *form);

G_END_DECLS

#endif
