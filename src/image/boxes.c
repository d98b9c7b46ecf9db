#include "image/boxes.h"

/* The boxes are about this many along the picture's longer side: enough to see a tool 20 px wide,
 * few enough to cost a small part of decoding. */
#define REDUCED_SIDE 400
#define ROWS_PER_BOX 2

void
wsi_boxes_init (WsBoxes *boxes, guint width, guint height)
{
  const guint side = MAX (width, height);
  boxes->factor = MIN (MAX (1, side / REDUCED_SIDE), MIN (width, height));
  boxes->width = width / boxes->factor;
  boxes->height = height / boxes->factor;
  boxes->skip = 1 + (boxes->factor - 1) / ROWS_PER_BOX;
  boxes->rows = (boxes->factor + boxes->skip - 1) / boxes->skip;
  boxes->sums = g_new0 (guint, (gsize)boxes->width * boxes->height);
}

void
wsi_boxes_clear (WsBoxes *boxes)
{
  g_clear_pointer (&boxes->sums, g_free);
}

/* NULL where no box takes the row. */
static guint *
sums_of (const WsBoxes *boxes, guint y)
{
  const guint j = y / boxes->factor;
  return j < boxes->height && y % boxes->factor % boxes->skip == 0
           ? boxes->sums + (gsize)j * boxes->width
           : NULL;
}

void
wsi_boxes_add (WsBoxes *boxes, guint y, const guint16 *row)
{
  guint *sums = sums_of (boxes, y);
  for (guint i = 0; sums != NULL && i < boxes->width; i++)
  {
    guint sum = 0;
    for (guint k = 0; k < boxes->factor; k++)
      sum += row[i * boxes->factor + k];
    sums[i] += sum;
  }
}

void
wsi_boxes_add_codes (WsBoxes *boxes, guint y, const guint8 *row, const guint16 light[256])
{
  guint *sums = sums_of (boxes, y);
  const guint8 *code = row;
  for (guint i = 0; sums != NULL && i < boxes->width; i++)
  {
    const guint8 *const end = code + boxes->factor;
    guint one = 0, other = 0;
    for (; end - code >= 4; code += 4)
    {
      one += (guint)light[code[0]] + light[code[1]];
      other += (guint)light[code[2]] + light[code[3]];
    }
    for (; code < end; code++)
      one += light[*code];
    sums[i] += one + other;
  }
}
