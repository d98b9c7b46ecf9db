/*
 * What lies on a plain ground, found on a reduced picture: the ground is a smooth field of
 * lightness, and whatever differs from it, brighter or darker, belongs to a thing.
 */
#ifndef WS_EDGE_FIND_THINGS_H
#define WS_EDGE_FIND_THINGS_H

#include <whetsight/point.h>
#include <whetsight/retake.h>

G_BEGIN_DECLS

typedef struct
{
  guint area;     /* cells */
  guint touching; /* of these on the picture's border */
} WsThing;

typedef struct
{
  guint width, height; /* cells */
  float *apart;        /* lightness, the square root of light 0 .. 1, less the ground's */
  double ground[6];    /* the ground's lightness: terms as in WsLevelField */
  double spread;       /* robust standard deviation of the ground's cells about it */
  double least;        /* cells farther apart belong to things */
  guint *label;        /* number of the thing, from 1; 0 on the ground */
  GArray *things;      /* of WsThing, thing n at n - 1 */
} WsThings;

/* `light` holds width x height cells, linear, 0 .. 1; both at least 1.  The ground is looked for
 * about the light `ground`, or, when that is NAN, about the commonest along the border.  Never
 * NULL. Free with ws_things_free(). */
WsThings *ws_things_find (const float *light, guint width, guint height, double ground);
void ws_things_free (WsThings *things);

/*
 * The number of the thing that is the tool: the one that comes in from the picture's border, or,
 * where none does, the only one.  What lies wholly inside the picture beside it is no second tool
 * when it is a rectangle: a colour or grey card, a rule, a pin.  0 with the reason, and in
 * `detail` (96 bytes) what was seen, when there is no telling.
 */
guint ws_things_tool (const WsThings *things, WsRetake *reason, char detail[96]);

/* Median change of lightness within three cells across the thing's border, over the median of how
 * far apart it is. */
double ws_things_sharpness (const WsThings *things, guint label);

/* A full rectangle, turned any way: all of it, with its four corners. */
gboolean ws_things_is_rectangle (const WsThings *things, guint label);

/* Sets what is enclosed by cells of `mask` too: what can't be reached from the border. */
void ws_mask_fill_holes (guint8 *mask, guint width, guint height);

/* Every cell that has one of the mask's within a square of `reach` cells each way. */
void ws_mask_grow (guint8 *mask, guint width, guint height, guint reach);

/* Every cell all of whose neighbours within `reach` cells are the mask's; beyond the border
 * everything is. */
void ws_mask_shrink (guint8 *mask, guint width, guint height, guint reach);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsThings, ws_things_free)

G_END_DECLS

#endif
