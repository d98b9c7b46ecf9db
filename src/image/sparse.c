#include "image/sparse.h"

#include <string.h>

/* Tiles are kept where light in and around them differs by more than this part of its most, and by
 * more than this part of full scale: an edge's step is a quarter of the ground or more, and the
 * darkest ground has 0.025 (edge/find/segment.c). */
#define STEP_PART 0.2
#define STEP_LEAST 0.015

#define INSIDE (WSI_TILE - 1)
#define TILE_PIXELS (WSI_TILE * WSI_TILE)

/* Rows or columns that are kept whole. */
typedef struct
{
  guint length, n;
  guint *place; /* of each one's bytes, from 1 on; 0 for the others */
  guint *at;    /* by place, from 0 on */
  guint8 *codes;
} Whole;

struct WsSparseRest
{
  guint8 *room; /* for all below, and then for all tiles: what isn't used is never touched, and
                   takes no memory */
  gsize used;
  guint stride;         /* pixels */
  guint8 *rows_room;    /* rows of two lines of tiles, and of each column since a line of tiles
                           began */
  guint8 *least, *most; /* the least and the most */
  Whole rows, columns;
  guint step, across;     /* pixels whose places are multiples of the step both ways are kept, */
  guint8 *lattice;        /* so many in a row */
  gsize every, n_samples; /* and each so-many-th */
  guint8 *samples;
  WsSparseAgain again;
  gpointer data;
  GDestroyNotify free_data;
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

/* Pixel `from` of a row becomes the `to`th of those kept. */
static inline void
keep (const WsSparse *sparse, guint8 *kept, gsize to, const guint8 *row, gsize from)
{
  if (sparse->size == 1)
    kept[to] = row[from];
  else
    memcpy (kept + 2 * to, row + 2 * from, 2);
}

static void
keep_samples (WsSparse *sparse, guint y, const guint8 *row)
{
  WsSparseRest *rest = sparse->rest;
  Whole *columns = &rest->columns;
  const gsize row_bytes = (gsize)sparse->width * sparse->size;
  if (rest->rows.place[y] > 0)
    memcpy (rest->rows.codes + (rest->rows.place[y] - 1) * row_bytes, row, row_bytes);
  for (guint k = 0; k < columns->n; k++)
    keep (sparse, columns->codes, (gsize)k * sparse->height + y, row, columns->at[k]);
  if (y % rest->step == 0)
    for (guint x = 0; x < sparse->width; x += rest->step)
      keep (sparse, rest->lattice, (gsize)(y / rest->step) * rest->across + x / rest->step, row, x);
  const gsize begin = (gsize)y * sparse->width, end = begin + sparse->width;
  for (; rest->n_samples * rest->every < end; rest->n_samples++)
    keep (sparse, rest->samples, rest->n_samples, row, rest->n_samples * rest->every - begin);
}

/* ---- Tiles ----------------------------------------------------------------------------------- */

/* Sets `place` to the next `n` pixels, once there is room. */
static void
take_room (WsSparse *sparse, gsize n, guint8 **place)
{
  WsSparseRest *rest = sparse->rest;
  *place = rest->room != NULL ? rest->room + rest->used : NULL;
  rest->used += n * sparse->size;
}

static void
lay_out (WsSparse *sparse)
{
  WsSparseRest *rest = sparse->rest;
  rest->used = 0;
  take_room (sparse, (gsize)rest->rows.n * rest->rows.length, &rest->rows.codes);
  take_room (sparse, (gsize)rest->columns.n * rest->columns.length, &rest->columns.codes);
  take_room (sparse, (gsize)rest->across * (1 + (sparse->height - 1) / rest->step), &rest->lattice);
  take_room (sparse, (gsize)sparse->width * sparse->height / rest->every + 1, &rest->samples);
}

static gboolean
find_room (WsSparse *sparse)
{
  WsSparseRest *rest = sparse->rest;
  const gsize row_bytes = (gsize)rest->stride * sparse->size;
  lay_out (sparse);
  rest->room =
    g_try_malloc (rest->used + (gsize)sparse->across * sparse->down * TILE_PIXELS * sparse->size);
  lay_out (sparse);
  rest->rows_room = g_try_malloc_n (WSI_SPARSE_ROWS + 2, row_bytes);
  if (rest->room == NULL || rest->rows_room == NULL)
    return FALSE;
  rest->least = rest->rows_room + WSI_SPARSE_ROWS * row_bytes;
  rest->most = rest->least + row_bytes;
  return TRUE;
}

WsSparse *
wsi_sparse_new (guint width, guint height, guint size, const WsSparseLooks *looks)
{
  WsSparse *sparse = g_new0 (WsSparse, 1);
  WsSparseRest *rest = sparse->rest = g_new0 (WsSparseRest, 1);
  sparse->width = width;
  sparse->height = height;
  sparse->size = size;
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
  g_free (rest->rows_room);
  if (rest->free_data != NULL)
    rest->free_data (rest->data);
  g_free (rest);
  wsi_boxes_clear (&sparse->boxes);
  if (sparse->passing != NULL)
    sparse->free_passing (sparse->passing);
  g_free (sparse->tile);
  g_free (sparse->range);
  g_free (sparse);
}

void *
wsi_sparse_place (WsSparse *sparse, guint y)
{
  return sparse->rest->rows_room +
         (gsize)(y % WSI_SPARSE_ROWS) * sparse->rest->stride * sparse->size;
}

/* From rows, the first of which lies at `from`, so many pixels apart. */
static void
fill_tile (WsSparse *sparse, guint line, guint column, const guint8 *from, gsize stride)
{
  const guint size = sparse->size;
  guint8 *tile;
  take_room (sparse, TILE_PIXELS, &tile);
  const guint width = MIN (WSI_TILE, sparse->width - column * WSI_TILE);
  const guint height = MIN (WSI_TILE, sparse->height - line * WSI_TILE);
  for (guint y = 0; y < height; y++)
    memcpy (tile + (gsize)y * WSI_TILE * size, from + (y * stride + column * WSI_TILE) * size,
            (gsize)width * size);
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

/* Of a tile, by the least and the most of its columns. */
static WsLightRange
range_of (const WsSparse *sparse, guint column)
{
  const WsSparseRest *rest = sparse->rest;
  WsLightRange range = { G_MAXUINT16, 0 };
  for (guint x = column * WSI_TILE; x < MIN ((column + 1) * WSI_TILE, sparse->width); x++)
  {
    range.least = MIN (range.least, wsi_sparse_code_of (sparse, rest->least, x));
    range.most = MAX (range.most, wsi_sparse_code_of (sparse, rest->most, x));
  }
  return range;
}

static void
set_ranges (WsSparse *sparse, guint line, const guint16 light[256])
{
  for (guint column = 0; column < sparse->across; column++)
  {
    const WsLightRange codes = range_of (sparse, column);
    WsLightRange *range = &sparse->range[line * sparse->across + column];
    *range = codes;
    if (sparse->size != 1)
      continue;
    *range = (WsLightRange){ G_MAXUINT16, 0 };
    /* A profile's curve may go up and down. */
    for (guint code = codes.least; code <= codes.most; code++)
    {
      range->least = MIN (range->least, light[code]);
      range->most = MAX (range->most, light[code]);
    }
  }
}

/* Of many at a time, since none of them overlap. */
static void
widen_bytes (guint8 *restrict least, guint8 *restrict most, const guint8 *restrict row, gsize n)
{
  for (gsize x = 0; x < n; x++)
  {
    least[x] = MIN (least[x], row[x]);
    most[x] = MAX (most[x], row[x]);
  }
}

static void
widen_light (guint16 *restrict least, guint16 *restrict most, const guint16 *restrict row, gsize n)
{
  for (gsize x = 0; x < n; x++)
  {
    least[x] = MIN (least[x], row[x]);
    most[x] = MAX (most[x], row[x]);
  }
}

static void
note_extremes (const WsSparse *sparse, guint y, const void *row)
{
  const WsSparseRest *rest = sparse->rest;
  const gsize row_bytes = (gsize)sparse->width * sparse->size;
  if (y % WSI_TILE == 0)
  {
    memcpy (rest->least, row, row_bytes);
    memcpy (rest->most, row, row_bytes);
  }
  else if (sparse->size == 1)
    widen_bytes (rest->least, rest->most, row, sparse->width);
  else
    widen_light ((void *)rest->least, (void *)rest->most, row, sparse->width);
}

void
wsi_sparse_take (WsSparse *sparse, guint y, const guint16 light[256])
{
  const guint8 *row = wsi_sparse_place (sparse, y);
  const guint line = y / WSI_TILE;
  note_extremes (sparse, y, row);
  if (sparse->size == 1)
    wsi_boxes_add_codes (&sparse->boxes, y, row, light);
  else
    wsi_boxes_add (&sparse->boxes, y, (const void *)row);
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
  g_clear_pointer (&sparse->rest->rows_room, g_free);
}

/* ---- What isn't kept ------------------------------------------------------------------------- */

void
wsi_sparse_keep_file (WsSparse *sparse, WsSparseAgain again, gpointer data,
                      GDestroyNotify free_data)
{
  WsSparseRest *rest = sparse->rest;
  if (rest->free_data != NULL)
    rest->free_data (rest->data);
  rest->again = again;
  rest->data = data;
  rest->free_data = free_data;
}

gpointer
wsi_sparse_file (const WsSparse *sparse)
{
  return sparse->rest->data;
}

/* All tiles. */
static void
decode_again (WsSparse *sparse)
{
  g_autofree guint8 *codes = sparse->rest->again (sparse->rest->data);
  sparse->is_lost = codes == NULL;
  if (codes == NULL)
    return;
  for (guint line = 0; line < sparse->down; line++)
    for (guint column = 0; column < sparse->across; column++)
      if (sparse->tile[line * sparse->across + column] == NULL)
        fill_tile (sparse, line, column,
                   codes + (gsize)line * WSI_TILE * sparse->width * sparse->size, sparse->width);
}

const guint8 *
wsi_sparse_line (const WsSparse *sparse, gboolean column, guint at)
{
  const Whole *whole = column ? &sparse->rest->columns : &sparse->rest->rows;
  return whole->place[at] > 0
           ? whole->codes + (gsize)(whole->place[at] - 1) * whole->length * sparse->size
           : NULL;
}

guint16
wsi_sparse_code (WsSparse *sparse, guint x, guint y)
{
  const WsSparseRest *rest = sparse->rest;
  const guint8 *row = wsi_sparse_line (sparse, FALSE, y);
  const guint8 *column = wsi_sparse_line (sparse, TRUE, x);
  const gsize at = (gsize)y * sparse->width + x;
  if (row != NULL)
    return wsi_sparse_code_of (sparse, row, x);
  if (column != NULL)
    return wsi_sparse_code_of (sparse, column, y);
  if (x % rest->step == 0 && y % rest->step == 0)
    return wsi_sparse_code_of (sparse, rest->lattice,
                               (gsize)(y / rest->step) * rest->across + x / rest->step);
  if (at % rest->every == 0)
    return wsi_sparse_code_of (sparse, rest->samples, at / rest->every);
  if (!sparse->is_lost)
    decode_again (sparse);
  const guint8 *tile = sparse->tile[(y >> WSI_TILE_BITS) * sparse->across + (x >> WSI_TILE_BITS)];
  const gsize within = (y & INSIDE) << WSI_TILE_BITS | (x & INSIDE);
  return tile != NULL ? wsi_sparse_code_of (sparse, tile, within) : 0;
}
