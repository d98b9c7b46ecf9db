#include "tool/pose.h"

#include "result/build.h"

#include "base/geometry.h"
#include "image/decoder.h"

#include <string.h>

/* First moments of light about the picture's middle, in whole numbers so that no order of summing
 * changes them: 65535 times 2 * 30000 times 10^8 pixels is less than 2^63. */
static void
moments (const WsImage *image, gint64 *along_x, gint64 *along_y)
{
  *along_x = *along_y = 0;
  for (guint y = 0; y < image->height; y++)
  {
    const guint16 *row = image->linear + (gsize)y * image->width;
    const gint64 v = 2 * (gint64)y + 1 - image->height;
    gint64 sum = 0;
    for (guint x = 0; x < image->width; x++)
    {
      sum += row[x];
      *along_x += (2 * (gint64)x + 1 - image->width) * row[x];
    }
    *along_y += v * sum;
  }
}

WsPose
wsi_pose_of (const WsImage *image)
{
  gint64 x, y;
  moments (image, &x, &y);
  return (WsPose){
    .width = image->width,
    .height = image->height,
    .mirror_x = x < 0,
    .mirror_y = y<0, .transpose = ABS (x)> ABS (y),
  };
}

/* As EXIF counts them (wsi_image_orient()). */
static guint
orientation_of (const WsPose *pose)
{
  static const guint orientations[2][2][2] = { { { 1, 2 }, { 4, 3 } }, { { 5, 8 }, { 6, 7 } } };
  return orientations[pose->transpose ? 1 : 0][pose->mirror_y ? 1 : 0][pose->mirror_x ? 1 : 0];
}

WsImage *
wsi_pose_lay (const WsPose *pose, const WsImage *image)
{
  if (orientation_of (pose) == 1)
    return NULL;
  g_autoptr (WsImage) laid = ws_image_new (image->width, image->height, NULL);
  if (laid == NULL)
    return NULL;
  const gsize n = (gsize)image->width * image->height;
  memcpy (laid->linear, image->linear, n * sizeof *laid->linear);
  laid->rgb = image->rgb != NULL ? g_try_malloc_n (n, 3) : NULL;
  if (image->rgb != NULL && laid->rgb == NULL)
    return NULL;
  if (laid->rgb != NULL)
    memcpy (laid->rgb, image->rgb, 3 * n);
  laid->format = image->format;
  laid->bits = image->bits;
  laid->has_colour = image->has_colour;
  laid->lossy = image->lossy;
  laid->tone = image->tone;
  laid->gamma = image->gamma;
  return wsi_image_orient (laid, orientation_of (pose), NULL) ? g_steal_pointer (&laid) : NULL;
}

gboolean
wsi_pose_is_mirrored (const WsPose *pose)
{
  return (pose->mirror_x != pose->mirror_y) != pose->transpose;
}

WsPoint
wsi_pose_back (const WsPose *pose, WsPoint at)
{
  const double column = pose->transpose ? at.y : at.x, row = pose->transpose ? at.x : at.y;
  return wsi_point (pose->mirror_x ? pose->width - 1 - column : column,
                    pose->mirror_y ? pose->height - 1 - row : row);
}

static WsPoint
back (WsPoint at, gconstpointer pose)
{
  return wsi_pose_back (pose, at);
}

void
wsi_pose_lay_back (const WsPose *pose, WsResult *result)
{
  wsi_result_move_places (result, back, pose);
}
