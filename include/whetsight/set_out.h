/*
 * What a regrind took off, from pictures before and after it: how far the tool has to be set out
 * again.
 */
#ifndef WHETSIGHT_SET_OUT_H
#define WHETSIGHT_SET_OUT_H

#include <whetsight/image.h>
#include <whetsight/optics.h>
#include <whetsight/result.h>
#include <whetsight/view.h>

G_BEGIN_DECLS

/* What didn't move between tool and grinding, so that one picture can be laid on the other. */
typedef enum
{
  WS_REFERENCE_TOOL,  /* the part of the tool itself that grinding didn't touch */
  WS_REFERENCE_STOP,  /* what lies in view beside the tool and is fixed to the stop that the tool's
                         back end was put against, both times */
  WS_REFERENCE_CAMERA /* the tool was put against a stop, and neither that nor the camera moved */
} WsReference;

#define WS_N_REFERENCES (WS_REFERENCE_CAMERA + 1)

/* "tool", "stop", "camera"; static. */
const char *ws_reference_name (WsReference reference);

typedef struct
{
  const WsImage *image;
  const WsOptics *optics;
} WsSetOutPicture;

/*
 * Quantities `shorter` (how far the edge that the work's size is set by lies behind where it was,
 * along the tool; that much it has to be set out), `shorter_at_point` of a drill, and from the side
 * `lower`, with U; or a retake that says why not.  `view` is a silhouette from above or from the
 * side; both pictures are of it.  Without a scale lengths are px of the picture before, and what a
 * stop's seat makes of them isn't in U, which a finding says.  The caller owns the result.
 */
WsResult *ws_set_out_measure (const WsView *view, const WsSetOutPicture *before,
                              const WsSetOutPicture *after, WsReference reference);

/* Tells what came of it among the advice of `result`, the tool's measurement after the regrind:
 * nothing where that is a retake or a reject, for it will be ground again.  `since`: when the
 * picture before was taken. */
void ws_set_out_tell (const WsResult *set_out, const char *since, WsResult *result);

/* Can pictures of the view tell it? */
gboolean ws_set_out_sees (const WsView *view);

/* What is known of a blade and the part that it cuts, mm and degrees; NAN where it isn't. */
typedef struct
{
  double part_diameter;  /* > 0 */
  double part_bore;      /* 0: solid */
  double width;          /* of the edge */
  double overhang;       /* from the holder to the edge */
  double height;         /* of the blade, below the edge */
  double side_clearance; /* of one side, along the blade, degrees */
  double front_relief;   /* degrees */
  double centre_height;  /* of the edge above centre */
} WsBladeWork;

/* What of a blade rubs. */
typedef struct
{
  double depth;          /* how deep it goes in: to the centre, or to the bore */
  double narrower;       /* each side, at the groove's mouth, than the edge; mm */
  double least_relief;   /* front relief that is left at the outside, degrees */
  double rubs_below;     /* the heel rubs on the part below this diameter; 0: nowhere */
  double spare_overhang; /* less what the depth needs; < 0: the holder meets the part */
  double slenderness;    /* overhang over height */
  double bends; /* as a cantilever, against an overhang of once the height: its third power */
} WsBladeClearance;

/* Plane geometry (docs/methods/set-out.md).  Fields that nothing tells are NAN. */
WsBladeClearance ws_blade_clearance (const WsBladeWork *work);

G_END_DECLS

#endif
