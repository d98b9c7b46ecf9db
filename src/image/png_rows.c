#include "image/png_rows.h"

#include <stdlib.h>
#include <string.h>

#ifdef WS_HAVE_ISAL
#include "late/isal.h"
#endif

/* ---- Filters ------------------------------------------------------------------------------- */

/* Of one channel after the other: each byte waits for the one before it, which so stays in a
 * register. */
static void
undo_sub (const guint8 *from, gsize n, guint pixel_bytes, guint8 *row)
{
  for (guint channel = 0; channel < pixel_bytes; channel++)
  {
    guint8 left = 0;
    for (gsize i = channel; i < n; i += pixel_bytes)
      row[i] = left = (guint8)(left + from[i]);
  }
}

static void
undo_up (const guint8 *from, const guint8 *above, gsize n, guint8 *row)
{
  for (gsize i = 0; i < n; i++)
    row[i] = (guint8)(from[i] + above[i]);
}

static void
undo_average (const guint8 *from, const guint8 *above, gsize n, guint pixel_bytes, guint8 *row)
{
  for (guint channel = 0; channel < pixel_bytes; channel++)
  {
    guint left = 0;
    for (gsize i = channel; i < n; i += pixel_bytes)
      row[i] = (guint8)(left = (from[i] + ((left + above[i]) >> 1)) & 0xFF);
  }
}

static inline int
paeth (int a, int b, int c)
{
  const int pa = abs (b - c), pb = abs (a - c), pc = abs (a + b - 2 * c);
  const int of_two = pa <= pb ? a : b;
  return MIN (pa, pb) <= pc ? of_two : c;
}

static void
undo_paeth (const guint8 *from, const guint8 *above, gsize n, guint pixel_bytes, guint8 *row)
{
  for (guint channel = 0; channel < pixel_bytes; channel++)
  {
    int left = 0, above_left = 0;
    for (gsize i = channel; i < n; i += pixel_bytes)
    {
      row[i] = (guint8)(left = (from[i] + paeth (left, above[i], above_left)) & 0xFF);
      above_left = above[i];
    }
  }
}

gboolean
wsi_png_unfilter (guint filter, const guint8 *from, const guint8 *above, gsize n, guint pixel_bytes,
                  guint8 *row)
{
  switch (filter)
  {
  case 0:
    memcpy (row, from, n);
    return TRUE;
  case 1:
    undo_sub (from, n, pixel_bytes, row);
    return TRUE;
  case 2:
    undo_up (from, above, n, row);
    return TRUE;
  case 3:
    undo_average (from, above, n, pixel_bytes, row);
    return TRUE;
  case 4:
    undo_paeth (from, above, n, pixel_bytes, row);
    return TRUE;
  default:
    return FALSE;
  }
}

/* ---- Chunks -------------------------------------------------------------------------------- */

#ifdef WS_HAVE_ISAL

/* Beside a chunk's data: length and name before, check sum behind. */
#define BEFORE 8U
#define BEHIND 4U

/* Texts behind the pixels, which say when a picture was made; more of them are libpng's. */
#define MAX_TEXTS 8
#define MAX_TEXT 4096

/* Unpacked at a time, so that it stays in the cache. */
#define BATCH 49152

/* Less is unpacked before a library is opened. */
#define WORTHWHILE 65536

/* ISA-L counts in 32 bits. */
#define MOST_BYTES ((guint64)G_MAXUINT32 / 2)

/* Summed and unpacked at a time. */
#define PIECE 32768

typedef struct
{
  const WsPngRows *rows;
  const guint8 *in; /* of the file */
  gsize n_in;
  gboolean in_chunk;
  guint32 left, crc;           /* of its data; of what was taken of them, and the name */
  struct inflate_state *state; /* its input: of a chunk of pixels */
  guint8 *batch;               /* filtered rows, each with its filter's byte first */
  guint8 *room;                /* two rows, where there is no plane, and one of zeros */
  guint y;                     /* next row */
} Reader;

/* ISA-L leaves the upper halves of vector registers in use, and all computing that doesn't know of
 * them takes longer from then on, up to twice as long. */
#ifdef __x86_64__
__attribute__ ((target ("avx"))) static void
clear_upper_halves (void)
{
  __builtin_ia32_vzeroupper ();
}
#endif

static void
leave_vectors_clear (void)
{
#ifdef __x86_64__
  if (__builtin_cpu_supports ("avx"))
    clear_upper_halves ();
#endif
}

static guint32
number_at (const guint8 *bytes)
{
  return (guint32)bytes[0] << 24 | (guint32)bytes[1] << 16 | (guint32)bytes[2] << 8 | bytes[3];
}

/* What comes next of the file, at most `most`; NULL at its end. */
static const guint8 *
take_piece (Reader *reader, gsize most, gsize *n)
{
  const WsPngRows *rows = reader->rows;
  if (reader->n_in == 0 && rows->more != NULL)
    reader->n_in = rows->more (rows->more_data, &reader->in);
  *n = MIN (reader->n_in, most);
  const guint8 *piece = reader->in;
  reader->in += *n;
  reader->n_in -= *n;
  return *n > 0 ? piece : NULL;
}

static gboolean
take_bytes (Reader *reader, guint8 *to, gsize n)
{
  while (n > 0)
  {
    gsize taken;
    const guint8 *piece = take_piece (reader, n, &taken);
    if (piece == NULL)
      return FALSE;
    memcpy (to, piece, taken);
    to += taken;
    n -= taken;
  }
  return TRUE;
}

/* Of a chunk's data; NULL where the file ends. */
static const guint8 *
take_data (Reader *reader, guint32 *n)
{
  gsize taken;
  const guint8 *piece = take_piece (reader, MIN (PIECE, reader->left), &taken);
  if (piece != NULL)
    reader->crc = crc32_gzip_refl (reader->crc, piece, taken);
  reader->left -= (guint32)taken;
  *n = (guint32)taken;
  return piece;
}

static gboolean
end_chunk (Reader *reader)
{
  guint8 sum[BEHIND];
  reader->in_chunk = FALSE;
  return reader->left == 0 && take_bytes (reader, sum, sizeof sum) &&
         number_at (sum) == reader->crc;
}

/* Of this name. */
static gboolean
begin_chunk (Reader *reader, guint8 name[4])
{
  guint8 head[BEFORE];
  if (!take_bytes (reader, head, sizeof head))
    return FALSE;
  memcpy (name, head + 4, 4);
  reader->left = number_at (head);
  reader->crc = crc32_gzip_refl (0, head + 4, 4);
  reader->in_chunk = TRUE;
  return TRUE;
}

/* More to unpack; FALSE where there is none. */
static gboolean
feed (Reader *reader)
{
  guint8 name[4];
  while (reader->left == 0)
    if ((reader->in_chunk && !end_chunk (reader)) || !begin_chunk (reader, name) ||
        memcmp (name, "IDAT", 4) != 0)
      return FALSE;
  reader->state->next_in = (guint8 *)take_data (reader, &reader->state->avail_in);
  return reader->state->next_in != NULL;
}

/* Fills `n` bytes; FALSE where there are no such.  Some may be waiting when all has been fed. */
static gboolean
unpack (Reader *reader, guint8 *to, gsize n)
{
  struct inflate_state *state = reader->state;
  state->next_out = to;
  state->avail_out = (guint32)n;
  while (state->avail_out > 0)
  {
    const guint32 before = state->avail_out;
    if (isal_inflate (state) != ISAL_DECOMP_OK ||
        (state->avail_out == before && (state->avail_in > 0 || !feed (reader))))
      return FALSE;
  }
  return TRUE;
}

/* What is left of the packed data makes no more bytes, and their sum is right. */
static gboolean
ends_well (Reader *reader)
{
  struct inflate_state *state = reader->state;
  guint8 more;
  while (state->block_state != ISAL_BLOCK_FINISH)
  {
    const guint32 before = state->avail_in;
    state->next_out = &more;
    state->avail_out = 1;
    if (isal_inflate (state) != ISAL_DECOMP_OK || state->avail_out != 1)
      return FALSE;
    if (state->block_state != ISAL_BLOCK_FINISH &&
        (state->avail_in == 0 ? !feed (reader) : state->avail_in == before))
      return FALSE;
  }
  return state->avail_in == 0 && end_chunk (reader) &&
         state->total_out == reader->rows->n_rows * (1 + reader->rows->row_bytes);
}

static gboolean
skip_chunk (Reader *reader)
{
  guint32 n;
  while (reader->left > 0)
    if (take_data (reader, &n) == NULL)
      return FALSE;
  return end_chunk (reader);
}

/* Behind the pixels. */
static gboolean
has_nothing_else (Reader *reader)
{
  guint8 name[4];
  for (guint i = 0; i <= MAX_TEXTS; i++)
  {
    if (!begin_chunk (reader, name))
      return FALSE;
    if (memcmp (name, "IEND", 4) == 0)
      return end_chunk (reader);
    if (memcmp (name, "tEXt", 4) != 0 || reader->left > MAX_TEXT || !skip_chunk (reader))
      return FALSE;
  }
  return FALSE;
}

/* ---- Rows ---------------------------------------------------------------------------------- */

static guint8 *
place_of (const Reader *reader, guint y)
{
  const WsPngRows *rows = reader->rows;
  return rows->plane != NULL ? rows->plane + y * rows->row_bytes
                             : reader->room + (1 + y % 2) * rows->row_bytes;
}

static gboolean
take_batch (Reader *reader, guint n)
{
  const WsPngRows *rows = reader->rows;
  const gsize size = 1 + rows->row_bytes;
  const gboolean unpacked = unpack (reader, reader->batch, n * size);
  leave_vectors_clear ();
  if (!unpacked)
    return FALSE;
  for (guint i = 0; i < n; i++, reader->y++)
  {
    const guint8 *from = reader->batch + i * size;
    const guint8 *above = reader->y > 0 ? place_of (reader, reader->y - 1) : reader->room;
    guint8 *row = place_of (reader, reader->y);
    if (!wsi_png_unfilter (*from, from + 1, above, rows->row_bytes, rows->pixel_bytes, row))
      return FALSE;
    rows->take (rows->data, reader->y, row);
  }
  return TRUE;
}

static gboolean
read_rows (Reader *reader)
{
  const WsPngRows *rows = reader->rows;
  const guint most = (guint)MAX (1, BATCH / (1 + rows->row_bytes));
  reader->state = g_try_new (struct inflate_state, 1);
  reader->batch = g_try_malloc_n (most, 1 + rows->row_bytes);
  reader->room = g_try_malloc0_n (3, rows->row_bytes);
  if (reader->state == NULL || reader->batch == NULL || reader->room == NULL)
    return FALSE;
  isal_inflate_init (reader->state);
  reader->state->crc_flag = ISAL_ZLIB;
  if (!feed (reader))
    return FALSE;
  while (reader->y < rows->n_rows)
    if (!take_batch (reader, MIN (most, rows->n_rows - reader->y)))
      return FALSE;
  return ends_well (reader) && has_nothing_else (reader);
}

gboolean
wsi_png_rows_read (const WsPngRows *rows)
{
  const gsize from = rows->at - BEFORE;
  Reader reader = { .rows = rows, .in = rows->bytes + from, .n_in = rows->n_bytes - from };
  if ((rows->more == NULL && rows->n_bytes - rows->at < WORTHWHILE) ||
      rows->n_rows * (guint64)(1 + rows->row_bytes) > MOST_BYTES || !wsi_png_rows_can ())
    return FALSE;
  const gboolean done = read_rows (&reader);
  leave_vectors_clear ();
  g_free (reader.state);
  g_free (reader.batch);
  g_free (reader.room);
  return done;
}

gboolean
wsi_png_rows_can (void)
{
  return wsi_late_has_isal (NULL);
}

#else

gboolean
wsi_png_rows_can (void)
{
  return FALSE;
}

gboolean
wsi_png_rows_read (const WsPngRows *rows)
{
  (void)rows;
  return FALSE;
}

#endif

gboolean
wsi_png_rows_open (GError **error)
{
  (void)error;
  wsi_png_rows_can ();
  return TRUE;
}
