/*
 * The pose that a picture itself asks for.
 *
 * A view from the front has no up and no left: the picture turned by quarter turns, or mirrored, is
 * the same picture.  So that it also gives the same numbers to the last digit, or the same reason,
 * it is first laid as its own light says, and what was found is laid back.
 */
#ifndef WS_TOOL_POSE_H
#define WS_TOOL_POSE_H

#include <whetsight/image.h>
#include <whetsight/result.h>

G_BEGIN_DECLS

typedef struct
{
  guint width, height;         /* of the picture as it came */
  gboolean mirror_x, mirror_y; /* its columns, its rows the other way round; after that */
  gboolean transpose;          /* rows become columns */
} WsPose;

/* The pose in which light is heaviest below, and to the right.  The eight pictures that turning and
 * mirroring make of one give the same pixels in their poses, unless light is balanced to the last
 * digit. */
WsPose wsi_pose_of (const WsImage *image);

/* The picture laid so; NULL when there is no memory for it, or it lies so already.  Free with
 * ws_image_free(). */
WsImage *wsi_pose_lay (const WsPose *pose, const WsImage *image);

/* Are left and right another way round in it, so that hands are the other ones? */
gboolean wsi_pose_is_mirrored (const WsPose *pose);

/* Where a place of the picture laid so is in the picture as it came. */
WsPoint wsi_pose_back (const WsPose *pose, WsPoint at);

/* The same for all places of a result. */
void wsi_pose_lay_back (const WsPose *pose, WsResult *result);

G_END_DECLS

#endif
