/*
 * H. S. Malvar, L. He, R. Cutler, High-quality linear interpolation for demosaicing of
 * Bayer-patterned color images, ICASSP 2004: each missing colour is the mean of its neighbours and
 * a part of how the colour that is there bends.  All weights are symmetric, so no edge is moved.
 */
#include "camera/bayer.h"

#include <string.h>

#include <whetsight/error.h>

/* The weights reach two pixels far; there the picture is mirrored, which keeps its colours' order.
 */
#define REACH 2
#define LEAST_SIDE 4

/* The paper's weights, times 16. */
#define WEIGHT_SUM 16

static gsize
stride_of (const WsBayer *bayer)
{
  return (gsize)bayer->width + 2 * REACH;
}

gboolean
wsi_bayer_room (const WsBayer *bayer, WsFrame *frame, GError **error)
{
  if (bayer->width < LEAST_SIDE || bayer->height < LEAST_SIDE)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_DATA,
                 "a picture of %u x %u pixels has too few for its colour; set a larger one",
                 bayer->width, bayer->height);
    return FALSE;
  }
  if (frame->scratch == NULL)
    frame->scratch =
      g_try_malloc_n (stride_of (bayer) * (bayer->height + 2 * REACH), sizeof *frame->scratch);
  if (frame->scratch != NULL)
    return TRUE;
  g_set_error_literal (error, WS_ERROR, WS_ERROR_TOO_LARGE,
                       "no memory for the colour of such large pictures; set a smaller one");
  return FALSE;
}

guint16 *
wsi_bayer_row (const WsBayer *bayer, const WsFrame *frame, guint y)
{
  return frame->scratch + (y + REACH) * stride_of (bayer) + REACH;
}

static void
mirror (const WsBayer *bayer, const WsFrame *frame)
{
  const gsize row = stride_of (bayer) * sizeof *frame->scratch;
  guint16 *whole = frame->scratch;
  for (guint y = 0; y < bayer->height; y++)
  {
    guint16 *light = wsi_bayer_row (bayer, frame, y), *last = light + bayer->width - 1;
    for (int k = 1; k <= REACH; k++)
    {
      light[-k] = light[k];
      last[k] = last[-k];
    }
  }
  for (guint k = 1; k <= REACH; k++)
  {
    guint16 *above = whole + (REACH - k) * stride_of (bayer);
    guint16 *below = whole + (REACH + bayer->height - 1 + k) * stride_of (bayer);
    memcpy (above, whole + (REACH + k) * stride_of (bayer), row);
    memcpy (below, whole + (REACH + bayer->height - 1 - k) * stride_of (bayer), row);
  }
}

static guint16
sixteenth (int sum)
{
  const int light = (sum + WEIGHT_SUM / 2) / WEIGHT_SUM;
  return (guint16)CLAMP (light, 0, WS_IMAGE_FULL_SCALE);
}

/* What there is of the pixels about one. */
typedef struct
{
  int own;
  int beside, above;         /* of the two nearest along the row, along the column */
  int two_beside, two_above; /* of the two at twice the distance */
  int across;                /* of the four at the corners */
} Near;

static Near
look (const guint16 *at, gsize stride)
{
  const guint16 *up = at - stride, *down = at + stride;
  return (Near){ at[0],
                 at[-1] + at[1],
                 up[0] + down[0],
                 at[-2] + at[2],
                 *(up - stride) + down[stride],
                 up[-1] + up[1] + down[-1] + down[1] };
}

static guint16
green_between (const Near *near)
{
  return sixteenth (8 * near->own + 4 * (near->beside + near->above) -
                    2 * (near->two_beside + near->two_above));
}

/* A colour whose pixels lie to both sides of a green one: `beside`, and `along` the same line at
 * twice the distance, `two_off` it. */
static guint16
colour_at_green (const Near *near, int beside, int along, int two_off)
{
  return sixteenth (10 * near->own + 8 * beside - 2 * near->across - 2 * along + two_off);
}

static guint16
colour_across (const Near *near)
{
  return sixteenth (12 * near->own + 4 * near->across - 3 * (near->two_beside + near->two_above));
}

void
wsi_bayer_fill (const WsBayer *bayer, WsFrame *frame)
{
  const gsize stride = stride_of (bayer);
  guint16 *to = frame->colour;
  mirror (bayer, frame);
  for (guint y = 0; y < bayer->height; y++)
  {
    const guint16 *row = wsi_bayer_row (bayer, frame, y);
    const gboolean red_row = y % 2 == bayer->red_y;
    /* Of this row's own colour beside green, red's place is 0 and blue's 2. */
    const guint own = red_row ? 0 : 2;
    const guint own_x = red_row ? bayer->red_x : 1 - bayer->red_x;
    for (guint x = 0; x < bayer->width; x++, to += 3)
    {
      const Near near = look (row + x, stride);
      if (x % 2 == own_x)
      {
        to[own] = (guint16)near.own;
        to[1] = green_between (&near);
        to[2 - own] = colour_across (&near);
      }
      else
      {
        to[1] = (guint16)near.own;
        to[own] = colour_at_green (&near, near.beside, near.two_beside, near.two_above);
        to[2 - own] = colour_at_green (&near, near.above, near.two_above, near.two_beside);
      }
    }
  }
}
