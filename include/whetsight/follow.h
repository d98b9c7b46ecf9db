/*
 * A tool's outline, followed from frame to frame of a camera.
 *
 * The first frame is searched as a single picture is.  In those after it light is looked at only
 * beside the last outline: there the tool's border is found again, walked round, and located anew
 * by the same scan lines as in a single picture, so that the outline is as good as that of a
 * picture by itself.  What enters the picture elsewhere isn't seen: measure the picture (view.h)
 * before anything is said of the tool.
 */
#ifndef WHETSIGHT_FOLLOW_H
#define WHETSIGHT_FOLLOW_H

#include <whetsight/image.h>
#include <whetsight/point.h>
#include <whetsight/retake.h>

G_BEGIN_DECLS

typedef enum
{
  WS_FOLLOW_LOST,     /* there is no outline, see `reason` */
  WS_FOLLOW_SEARCHED, /* found by a search of the whole frame: the first, or it was lost */
  WS_FOLLOW_FOLLOWED  /* found beside the last one */
} WsFollowHow;

typedef struct
{
  WsPoint at;        /* px, of the picture */
  WsPoint normal;    /* unit, toward the ground */
  double noise;      /* RMS residual of its scan line, as part of the step */
  gboolean on_frame; /* the picture's border, not the tool's edge */
} WsFollowPoint;

typedef struct
{
  WsFollowHow how;
  WsRetake reason; /* of WS_FOLLOW_LOST, else WS_RETAKE_NONE */
  char detail[96]; /* what was seen then */

  double ground, tool; /* light, linear, 0 .. 1: beside the outline, or of the two classes that a
                          search saw in vain */

  /* All from here on holds only where there is an outline. */
  const WsFollowPoint *points; /* in order, tool on the right-hand side (y down) */
  guint n;
  double blur_px;    /* standard deviation of the edge spread: what focus is judged by */
  double noise;      /* median over the points */
  double area_px;    /* that the outline encloses */
  double moved_px;   /* how far the edge moved since the last frame, along its normals: nine
                        tenths of it no more; NAN where there was none */
  double cut_px[4];  /* of the picture's top, right, bottom, left: how much the tool covers */
  double room_px[4]; /* between outline and the picture's top, right, bottom, left; INFINITY where
                        the tool comes in */
} WsFollowed;

typedef struct WsFollow WsFollow;

/* Never NULL.  Free with ws_follow_free(). */
WsFollow *ws_follow_new (void);
void ws_follow_free (WsFollow *follow);

/*
 * Looks at the next frame.  What is returned belongs to `follow` and holds until the next frame.
 * Nothing is allocated while the outline is followed; a search allocates, and so does a frame of
 * another size.  A front-lit tool that is in part darker and in part brighter than the ground is
 * searched anew in every frame.
 */
const WsFollowed *ws_follow_frame (WsFollow *follow, const WsImage *frame);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsFollow, ws_follow_free)

G_END_DECLS

#endif
