/*
 * What stands on a cutting profile that isn't ground metal: dust, drops, hairs, wire edges.
 *
 * Grinding never leaves metal on a part of a straight or round segment alone, so what stands proud
 * of the segment's own longest clean stretches is something else, and says nothing of the profile
 * (docs/methods/form.md).  A segment that is off as a whole, turned or bowed is none of that.
 */
#ifndef WS_TOOL_FORM_PROUD_H
#define WS_TOOL_FORM_PROUD_H

#include "tool/form/comparison.h"

G_BEGIN_DECLS

/* One place; lengths along the profile are parts of its scale, mm. */
typedef struct
{
  double from_mm, to_mm; /* along the profile */
  double height; /* greatest, above the segment, px; of one covered all over above the profile */
  double base;   /* the segment there, on the map, px; NAN where it is covered all over */
  WsPoint where; /* there, in the picture */
  guint number;  /* of the drawn segment */
} WsFormProud;

/* Of WsFormProud, in order; free with g_array_unref(). */
GArray *wsi_form_proud_find (const WsFormComparison *work, const double *map);

/* What `prouds` cover of a fit's map becomes unknown. */
void wsi_form_proud_leave_out (const GArray *prouds, const WsFormFit *fit, double *map);

/* A finding and a hold for what was found. */
void wsi_form_proud_report (const WsFormComparison *work, const GArray *prouds);

/* Height and length of the greatest wire edge as quantities: 0 where none is seen and all of the
 * profile is, unknown where what stands proud may be dirt. */
void wsi_form_burr_add (const WsFormComparison *work, const GArray *prouds);

G_END_DECLS

#endif
