#include "image/sparse.h"

#include <string.h>

/* Tiles are kept where light in and around them differs by more than this part of its most, and by
 * more than this part of full scale: an edge's step is a quarter of the ground or more, and the
 * darkest ground has 0.025 (edge/find/segment.c). */
#define STEP_PART 0.2
#define STEP_LEAST 0.015

#define INSIDE (WSI_TILE - 1)
#define TILE_BYTES (WSI_TILE * WSI_TILE)

/* Rows or columns that are kept whole. */
typedef struct
{
  guint length, n;
  guint *place; /* of each one's bytes, from 1 on; 0 for the others */
  guint *at;    /* by place, from 0 on */
  guint8 *bytes;
} Whole;

struct WsSparseRest
{
  guint8 *room; /* for all below, and then for all tiles: what isn't used is never touched, and
                   takes no memory */
  gsize used;
  guint stride;
  guint8 *ring;         /* rows of two lines of tiles */
  guint8 *least, *most; /* of each column since a line of tiles began */
  Whole rows, columns;
  guint step, across;     /* pixels whose places are multiples of the step both ways are kept, */
  guint8 *lattice;        /* so many in a row */
  gsize every, n_samples; /* and each so-many-th */
  guint8 *samples;
  GBytes *file;
  guint flags;
  WsSparseAgain again;
};

/* ---- What is kept for those who look at all of a picture ------------------------------------- */

static void
whole_init (Whole *whole, guint length, guint n_lines, const GArray *lines)
{
  whole->length = length;
  whole->place = g_new0 (guint, n_lines);
  whole->at = g_new (guint, lines->len);
  for (guint i = 0; i < lines->len; i++)
  {
    const guint at = g_array_index (lines, guint, i);
    if (whole->place[at] > 0)
      continue;
    whole->at[whole->n] = at;
    whole->place[at] = ++whole->n;
  }
}

static void
whole_clear (Whole *whole)
{
  g_free (whole->place);
  g_free (whole->at);
}

static void
keep_samples (WsSparse *sparse, guint y, const guint8 *row)
{
  WsSparseRest *rest = sparse->rest;
  Whole *columns = &rest->columns;
  if (rest->rows.place[y] > 0)
    memcpy (rest->rows.bytes + (gsize)(rest->rows.place[y] - 1) * sparse->width, row,
            sparse->width);
  for (guint k = 0; k < columns->n; k++)
    columns->bytes[(gsize)k * sparse->height + y] = row[columns->at[k]];
  if (y % rest->step == 0)
    for (guint x = 0; x < sparse->width; x += rest->step)
      rest->lattice[(gsize)(y / rest->step) * rest->across + x / rest->step] = row[x];
  const gsize end = (gsize)(y + 1) * sparse->width;
  for (; rest->n_samples * rest->every < end; rest->n_samples++)
    rest->samples[rest->n_samples] = row[rest->n_samples * rest->every - (gsize)y * sparse->width];
}

/* ---- Tiles ----------------------------------------------------------------------------------- */

/* Sets `place` to the next `n` bytes, once there is room. */
static void
take_room (WsSparseRest *rest, gsize n, guint8 **place)
{
  *place = rest->room != NULL ? rest->room + rest->used : NULL;
  rest->used += n;
}

static void
lay_out (WsSparse *sparse)
{
  WsSparseRest *rest = sparse->rest;
  rest->used = 0;
  take_room (rest, (gsize)rest->rows.n * rest->rows.length, &rest->rows.bytes);
  take_room (rest, (gsize)rest->columns.n * rest->columns.length, &rest->columns.bytes);
  take_room (rest, (gsize)2 * WSI_TILE * rest->stride, &rest->ring);
  take_room (rest, rest->stride, &rest->least);
  take_room (rest, rest->stride, &rest->most);
  take_room (rest, (gsize)rest->across * (1 + (sparse->height - 1) / rest->step), &rest->lattice);
  take_room (rest, (gsize)sparse->width * sparse->height / rest->every + 1, &rest->samples);
}

static gboolean
find_room (WsSparse *sparse)
{
  lay_out (sparse);
  sparse->rest->room =
    g_try_malloc (sparse->rest->used + (gsize)sparse->across * sparse->down * TILE_BYTES);
  lay_out (sparse);
  return sparse->rest->room != NULL;
}

WsSparse *
wsi_sparse_new (guint width, guint height, const WsSparseLooks *looks)
{
  WsSparse *sparse = g_new0 (WsSparse, 1);
  WsSparseRest *rest = sparse->rest = g_new0 (WsSparseRest, 1);
  sparse->width = width;
  sparse->height = height;
  sparse->across = (width + INSIDE) / WSI_TILE;
  sparse->down = (height + INSIDE) / WSI_TILE;
  sparse->tile = g_new0 (guint8 *, (gsize)sparse->across * sparse->down);
  sparse->range = g_new0 (WsLightRange, (gsize)sparse->across * sparse->down);
  wsi_boxes_init (&sparse->boxes, width, height);
  whole_init (&rest->rows, width, height, looks->rows);
  whole_init (&rest->columns, height, width, looks->columns);
  rest->stride = sparse->across * WSI_TILE;
  rest->step = 2 * sparse->boxes.factor;
  rest->across = 1 + (width - 1) / rest->step;
  rest->every = looks->every;
  if (find_room (sparse))
    return sparse;
  wsi_sparse_free (sparse);
  return NULL;
}

void
wsi_sparse_free (WsSparse *sparse)
{
  if (sparse == NULL)
    return;
  WsSparseRest *rest = sparse->rest;
  whole_clear (&rest->rows);
  whole_clear (&rest->columns);
  g_free (rest->room);
  g_clear_pointer (&rest->file, g_bytes_unref);
  g_free (rest);
  wsi_boxes_clear (&sparse->boxes);
  g_free (sparse->tile);
  g_free (sparse->range);
  g_free (sparse);
}

guint8 *
wsi_sparse_place (WsSparse *sparse, guint y)
{
  return sparse->rest->ring + (gsize)(y % (2 * WSI_TILE)) * sparse->rest->stride;
}

/* From rows of bytes, the first of which lies at `from`. */
static void
fill_tile (WsSparse *sparse, guint line, guint column, const guint8 *from, gsize stride)
{
  guint8 *tile;
  take_room (sparse->rest, TILE_BYTES, &tile);
  const guint width = MIN (WSI_TILE, sparse->width - column * WSI_TILE);
  const guint height = MIN (WSI_TILE, sparse->height - line * WSI_TILE);
  for (guint y = 0; y < height; y++)
    memcpy (tile + y * WSI_TILE, from + y * stride + column * WSI_TILE, width);
  sparse->tile[line * sparse->across + column] = tile;
}

/* A tile's and those about it. */
static WsLightRange
range_about (const WsSparse *sparse, guint line, guint column)
{
  WsLightRange about = { G_MAXUINT16, 0 };
  for (guint j = line > 0 ? line - 1 : 0; j <= MIN (line + 1, sparse->down - 1); j++)
    for (guint i = column > 0 ? column - 1 : 0; i <= MIN (column + 1, sparse->across - 1); i++)
    {
      const WsLightRange *range = &sparse->range[j * sparse->across + i];
      about.least = MIN (about.least, range->least);
      about.most = MAX (about.most, range->most);
    }
  return about;
}

/* What has a step of light in or beside it, once the lines of tiles above and below are known. */
static void
choose_tiles (WsSparse *sparse, guint line)
{
  const guint8 *from = wsi_sparse_place (sparse, line * WSI_TILE);
  for (guint column = 0; column < sparse->across; column++)
  {
    const WsLightRange about = range_about (sparse, line, column);
    const double step = about.most - about.least;
    if (step > STEP_PART * about.most && step > STEP_LEAST * G_MAXUINT16)
      fill_tile (sparse, line, column, from, sparse->rest->stride);
  }
}

static void
set_ranges (WsSparse *sparse, guint line, const guint16 light[256])
{
  const WsSparseRest *rest = sparse->rest;
  for (guint column = 0; column < sparse->across; column++)
  {
    guint8 least = rest->least[column * WSI_TILE], most = rest->most[column * WSI_TILE];
    for (guint x = column * WSI_TILE; x < MIN ((column + 1) * WSI_TILE, sparse->width); x++)
    {
      least = MIN (least, rest->least[x]);
      most = MAX (most, rest->most[x]);
    }
    WsLightRange *range = &sparse->range[line * sparse->across + column];
    *range = (WsLightRange){ G_MAXUINT16, 0 };
    /* A profile's curve may go up and down. */
    for (guint code = least; code <= most; code++)
    {
      range->least = MIN (range->least, light[code]);
      range->most = MAX (range->most, light[code]);
    }
  }
}

/* Of many bytes at a time, since none of them overlap. */
static void
widen (guint8 *restrict least, guint8 *restrict most, const guint8 *restrict row, gsize n)
{
  for (gsize x = 0; x < n; x++)
  {
    least[x] = MIN (least[x], row[x]);
    most[x] = MAX (most[x], row[x]);
  }
}

static void
note_extremes (const WsSparse *sparse, guint y, const guint8 *row)
{
  WsSparseRest *rest = sparse->rest;
  if (y % WSI_TILE != 0)
  {
    widen (rest->least, rest->most, row, sparse->width);
    return;
  }
  memcpy (rest->least, row, sparse->width);
  memcpy (rest->most, row, sparse->width);
}

void
wsi_sparse_take (WsSparse *sparse, guint y, const guint16 light[256])
{
  const guint8 *row = wsi_sparse_place (sparse, y);
  const guint line = y / WSI_TILE;
  note_extremes (sparse, y, row);
  wsi_boxes_add_codes (&sparse->boxes, y, row, light);
  keep_samples (sparse, y, row);
  if (y % WSI_TILE != INSIDE && y + 1 != sparse->height)
    return;
  set_ranges (sparse, line, light);
  if (line > 0)
    choose_tiles (sparse, line - 1);
}

void
wsi_sparse_end (WsSparse *sparse)
{
  choose_tiles (sparse, sparse->down - 1);
}

/* ---- What isn't kept ------------------------------------------------------------------------- */

void
wsi_sparse_keep_file (WsSparse *sparse, GBytes *file, guint flags, WsSparseAgain again)
{
  GBytes *before = sparse->rest->file;
  sparse->rest->file = g_bytes_ref (file);
  sparse->rest->flags = flags;
  sparse->rest->again = again;
  g_clear_pointer (&before, g_bytes_unref);
}

/* All tiles. */
static void
decode_again (WsSparse *sparse)
{
  g_autofree guint8 *bytes = sparse->rest->again (sparse->rest->file, sparse->rest->flags);
  sparse->is_lost = bytes == NULL;
  if (bytes == NULL)
    return;
  for (guint line = 0; line < sparse->down; line++)
    for (guint column = 0; column < sparse->across; column++)
      if (sparse->tile[line * sparse->across + column] == NULL)
        fill_tile (sparse, line, column, bytes + (gsize)line * WSI_TILE * sparse->width,
                   sparse->width);
}

const guint8 *
wsi_sparse_line (const WsSparse *sparse, gboolean column, guint at)
{
  const Whole *whole = column ? &sparse->rest->columns : &sparse->rest->rows;
  return whole->place[at] > 0 ? whole->bytes + (gsize)(whole->place[at] - 1) * whole->length : NULL;
}

guint8
wsi_sparse_byte (WsSparse *sparse, guint x, guint y)
{
  const WsSparseRest *rest = sparse->rest;
  const guint8 *row = wsi_sparse_line (sparse, FALSE, y);
  const guint8 *column = wsi_sparse_line (sparse, TRUE, x);
  const gsize at = (gsize)y * sparse->width + x;
  if (row != NULL)
    return row[x];
  if (column != NULL)
    return column[y];
  if (x % rest->step == 0 && y % rest->step == 0)
    return rest->lattice[(gsize)(y / rest->step) * rest->across + x / rest->step];
  if (at % rest->every == 0)
    return rest->samples[at / rest->every];
  if (!sparse->is_lost)
    decode_again (sparse);
  const guint8 *tile = sparse->tile[(y >> WSI_TILE_BITS) * sparse->across + (x >> WSI_TILE_BITS)];
  return tile != NULL ? tile[(y & INSIDE) << WSI_TILE_BITS | (x & INSIDE)] : 0;
}
