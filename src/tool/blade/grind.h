/*
 * The geometry of regrinding a cutoff blade's front edge.
 */
#ifndef WS_TOOL_BLADE_GRIND_H
#define WS_TOOL_BLADE_GRIND_H

#include <glib.h>

G_BEGIN_DECLS

/* A front edge between a leading and a trailing corner; lengths in one unit, whichever. */
typedef struct
{
  double width;            /* between the corners, square to the reference line */
  double rake_deg;         /* side rake, >= 0 */
  double chip;             /* depth of the deepest notch, square to the edge; 0: none */
  double clearance_deg[2]; /* of the leading and the trailing side */
  double radius[2]; /* of the leading and the trailing corner, as far as it must go; 0: none */
} WsBladeFront;

/* What to take off along the reference line. */
typedef struct
{
  double at_leading, at_trailing;
  double setback; /* how far the foremost point of the blade moves back */
  double width;   /* that is left, since the sides fall away from the edge */
} WsBladeGrind;

/*
 * The least grinding that gives the front the side rake `target_deg` and cleans up chip and
 * corners (docs/methods/blade.md, B13 to B15).  Grinding only takes metal away.
 */
WsBladeGrind wsi_blade_grind (const WsBladeFront *front, double target_deg);

G_END_DECLS

#endif
