#include "image/jpeg_rows.h"

#include <string.h>

#include "image/jpeg_block.h"

#define MARK 0xFF
#define END_OF_IMAGE 0xD9
#define FIRST_RESTART 0xD0
#define N_RESTARTS 8

#define LONGEST_CODE 16
#define LAST_SIZE 15 /* bits behind a code */
#define LONGEST_RUN 15
#define MOST_BLOCKS 10 /* T.81, B.2.3: in what is repeated over a scan of several parts */

/* Codes are looked up by so many bits, with the bits behind them where those are among them. */
#define LOOK_BITS 10

/* ITU-T T.81, figure A.6, by rows. */
static const guint8 zigzag[WSI_JPEG_BLOCK] = { 0,  1,  8,  16, 9,  2,  3,  10, 17, 24, 32, 25, 18,
                                               11, 4,  5,  12, 19, 26, 33, 40, 48, 41, 34, 27, 20,
                                               13, 6,  7,  14, 21, 28, 35, 42, 49, 56, 57, 50, 43,
                                               36, 29, 22, 15, 23, 30, 37, 44, 51, 58, 59, 52, 45,
                                               38, 31, 39, 46, 53, 60, 61, 54, 47, 55, 62, 63 };

/* ---- Bits ------------------------------------------------------------------------------------ */

/* Copied while a block is read, so that it stays in registers. */
typedef struct
{
  const guint8 *at; /* bytes to come */
  guint64 bits;     /* before them, the next one highest */
  guint n;          /* of them */
} Ahead;

/* To what a code and the bits behind it take. */
#define ENOUGH 32

typedef struct
{
  Ahead ahead;
  const guint8 *end;
  guint made_up; /* bits behind the last one that there is */
} Input;

/* A byte of ones is followed by one of zeros, which is no part of the codes; else it is a mark. */
static void
fill_by_bytes (Input *input)
{
  Ahead *ahead = &input->ahead;
  for (; ahead->n <= 56; ahead->n += 8)
  {
    const gsize left = (gsize)(input->end - ahead->at);
    guint64 byte = 0;
    if (left >= 1 && ahead->at[0] != MARK)
      byte = *ahead->at++;
    else if (left >= 2 && ahead->at[1] == 0)
    {
      byte = MARK;
      ahead->at += 2;
    }
    else
      input->made_up += 8;
    ahead->bits |= byte << (56 - ahead->n);
  }
}

static inline gboolean
holds_mark (guint64 bytes)
{
  return ((~bytes - 0x0101010101010101U) & bytes & 0x8080808080808080U) != 0;
}

/* From less than 57 bits to 56 or more. */
G_ALWAYS_INLINE static inline void
fill (Input *input, Ahead *ahead)
{
  guint64 bytes = 0;
  const gboolean are_many = input->end - ahead->at >= (int)sizeof bytes;
  if (are_many)
    memcpy (&bytes, ahead->at, sizeof bytes);
  bytes = GUINT64_FROM_BE (bytes);
  if (!are_many || holds_mark (bytes))
  {
    input->ahead = *ahead;
    fill_by_bytes (input);
    *ahead = input->ahead;
    return;
  }
  /* What is no whole byte comes again. */
  ahead->bits |= bytes >> ahead->n;
  ahead->at += (63 - ahead->n) / 8;
  ahead->n |= 56;
}

/* The next `n` of some bits, 1 .. 32. */
static inline guint
first_bits (guint64 bits, guint n)
{
  return (guint)(bits >> (64 - n));
}

static inline void
drop (Ahead *ahead, guint n)
{
  ahead->bits <<= n;
  ahead->n -= n;
}

/* Whether a mark follows, after less than a byte of what is left over. */
static gboolean
pass_mark (Input *input, guint8 mark)
{
  const Ahead *ahead = &input->ahead;
  if (ahead->n < input->made_up || ahead->n - input->made_up >= 8 || input->end - ahead->at < 2 ||
      ahead->at[0] != MARK || ahead->at[1] != mark)
    return FALSE;
  *input = (Input){ .ahead = { .at = ahead->at + 2 }, .end = input->end };
  return TRUE;
}

/* ---- Codes (T.81, annexes C and F) ----------------------------------------------------------- */

/* What a code and the bits behind it say. */
typedef struct
{
  gint16 value;
  guint8 run;  /* of zeros before it */
  guint8 bits; /* that say it */
} Word;

typedef struct
{
  Word quick[1 << LOOK_BITS];    /* `bits` 0 where they are too few to tell */
  guint32 end[LONGEST_CODE + 1]; /* by length: what begins below, 16 bits, is no longer one */
  int offset[LONGEST_CODE + 1];  /* from a code to its symbol's place */
  guint8 symbols[256];
} Codes;

static inline gint16
value_of (guint bits, guint size)
{
  return (gint16)(bits < 1U << (size - 1) ? (int)bits - (1 << size) + 1 : (int)bits);
}

/* Of a code of `n` bits. */
static void
add_quick (Codes *codes, guint code, guint n, guint symbol)
{
  const guint rest = LOOK_BITS - n, size = symbol & LAST_SIZE;
  if (size > rest)
    return;
  for (guint i = 0; i < 1U << rest; i++)
    codes->quick[code << rest | i] = (Word){
      .value = size > 0 ? value_of (i >> (rest - size), size) : 0,
      .run = (guint8)(symbol >> 4),
      .bits = (guint8)(n + size),
    };
}

/* FALSE where they are no codes, or of a first coefficient and not of its kind. */
static gboolean
codes_init (Codes *codes, const JHUFF_TBL *table, gboolean is_first)
{
  guint code = 0, k = 0;
  if (table == NULL)
    return FALSE;
  memset (codes, 0, sizeof *codes);
  memcpy (codes->symbols, table->huffval, sizeof codes->symbols);
  for (guint n = 1; n <= LONGEST_CODE; n++)
  {
    const guint count = table->bits[n];
    if (k + count > G_N_ELEMENTS (codes->symbols) || (count > 0 && code + count >= 1U << n))
      return FALSE;
    codes->offset[n] = (int)k - (int)code;
    for (const guint last = k + count; k < last; k++, code++)
    {
      if (is_first && codes->symbols[k] > LAST_SIZE)
        return FALSE;
      if (n <= LOOK_BITS)
        add_quick (codes, code, n, codes->symbols[k]);
    }
    codes->end[n] = code << (LONGEST_CODE - n);
    code <<= 1;
  }
  return TRUE;
}

/* `bits` 0 where it is no code. */
static Word
long_word (guint64 bits, const Codes *codes)
{
  const guint next = first_bits (bits, LONGEST_CODE);
  guint n = 1;
  while (n <= LONGEST_CODE && next >= codes->end[n])
    n++;
  if (n > LONGEST_CODE)
    return (Word){ 0 };
  const guint symbol = codes->symbols[(int)(next >> (LONGEST_CODE - n)) + codes->offset[n]];
  const guint size = symbol & LAST_SIZE;
  return (Word){
    .value = size > 0 ? value_of (first_bits (bits << n, size), size) : 0,
    .run = (guint8)(symbol >> 4),
    .bits = (guint8)(n + size),
  };
}

G_ALWAYS_INLINE static inline Word
read_word (Input *input, Ahead *ahead, const Codes *codes)
{
  if (ahead->n < LOOK_BITS)
    fill (input, ahead);
  Word word = codes->quick[first_bits (ahead->bits, LOOK_BITS)];
  if (word.bits == 0)
  {
    if (ahead->n < ENOUGH)
      fill (input, ahead);
    word = long_word (ahead->bits, codes);
  }
  drop (ahead, word.bits);
  return word;
}

/* ---- Blocks ---------------------------------------------------------------------------------- */

/* Brightness, or one of both colours, of which nothing is kept. */
typedef struct
{
  const Codes *first, *others;
  gint32 steps[WSI_JPEG_BLOCK]; /* by zigzag; of colours 0 */
  guint across, down;           /* blocks in what is repeated */
  int last;                     /* its last block's first coefficient */
  gboolean is_kept;
} Part;

/* Blocks are transformed so many at a time: what was just written bit by bit is slow to read. */
#define WAITING 16

typedef struct
{
  const WsJpegRows *rows;
  Input input;
  Codes codes[2][NUM_HUFF_TBLS];
  Part parts[MAX_COMPS_IN_SCAN];
  guint n_parts;
  guint width, height;           /* pixels */
  guint across;                  /* of what is repeated */
  guint interval, n_read;        /* of them between marks, and so far */
  guint8 places[WSI_JPEG_BLOCK]; /* in a block, by zigzag */
  guint n_waiting;
  guint8 *pixels[WAITING];                /* where each will be put */
  gint16 blocks[WAITING][WSI_JPEG_BLOCK]; /* 0 but for coefficients of those and the next one */
} Reader;

/* Returns what the sizes of a block's coefficients add up to, or more than may be where they are no
 * sound ones.  Sets `last` to the place of the last one. */
static guint64
read_coefficients (Reader *reader, Part *part, guint *last)
{
  gint16 *block = reader->blocks[reader->n_waiting];
  Ahead ahead = reader->input.ahead;
  Word word = read_word (&reader->input, &ahead, part->first);
  part->last += word.value;
  if (word.bits == 0 || ABS (part->last) > G_MAXINT16)
    return G_MAXUINT32;
  const int first = part->last * part->steps[0];
  guint64 sizes = (guint)ABS (first);
  block[0] = (gint16)first;
  *last = 0;
  for (guint k = 1; k < WSI_JPEG_BLOCK; k++)
  {
    word = read_word (&reader->input, &ahead, part->others);
    k += word.run;
    if (word.value == 0 && word.run != LONGEST_RUN)
    {
      sizes = word.bits > 0 ? sizes : G_MAXUINT32;
      break;
    }
    if (word.value == 0)
      continue;
    if (k >= WSI_JPEG_BLOCK)
      return G_MAXUINT32;
    const int value = word.value * part->steps[k];
    sizes += (guint)ABS (value);
    block[reader->places[k]] = (gint16)value;
    *last = k;
  }
  reader->input.ahead = ahead;
  return sizes;
}

static void
make_waiting (Reader *reader)
{
  for (guint i = 0; i < reader->n_waiting; i++)
    wsi_jpeg_block_make (reader->blocks[i], reader->pixels[i], reader->rows->stride);
  memset (reader->blocks, 0, reader->n_waiting * sizeof reader->blocks[0]);
  reader->n_waiting = 0;
}

static gboolean
read_block (Reader *reader, Part *part, guint8 *pixels)
{
  guint last = 0;
  if (read_coefficients (reader, part, &last) > WSI_JPEG_MOST)
    return FALSE;
  if (!part->is_kept)
    return TRUE;
  if (last == 0)
  {
    wsi_jpeg_block_make_flat (reader->blocks[reader->n_waiting][0], pixels, reader->rows->stride);
    return TRUE;
  }
  reader->pixels[reader->n_waiting++] = pixels;
  if (reader->n_waiting == WAITING)
    make_waiting (reader);
  return TRUE;
}

/* ---- Rows ------------------------------------------------------------------------------------ */

static gboolean
pass_restart (Reader *reader)
{
  const guint n = reader->n_read++;
  if (reader->interval == 0 || n == 0 || n % reader->interval != 0)
    return TRUE;
  for (guint i = 0; i < reader->n_parts; i++)
    reader->parts[i].last = 0;
  return pass_mark (&reader->input,
                    (guint8)(FIRST_RESTART + (n / reader->interval - 1) % N_RESTARTS));
}

/* What is repeated over the picture: blocks of all parts. */
static gboolean
read_blocks (Reader *reader, guint8 *pixels)
{
  const gsize stride = reader->rows->stride;
  for (guint i = 0; i < reader->n_parts; i++)
  {
    Part *part = &reader->parts[i];
    for (guint y = 0; y < part->down; y++)
      for (guint x = 0; x < part->across; x++)
        if (!read_block (reader, part, pixels + WSI_JPEG_SIDE * (y * stride + x)))
          return FALSE;
  }
  return reader->input.ahead.n >= reader->input.made_up;
}

static gboolean
read_rows (Reader *reader, const Part *kept)
{
  const WsJpegRows *rows = reader->rows;
  const guint side = WSI_JPEG_SIDE * kept->across, height = WSI_JPEG_SIDE * kept->down;
  for (guint y = 0; y < reader->height; y += height)
  {
    guint8 *pixels = rows->place (rows->data, y);
    for (guint i = 0; i < reader->across; i++)
      if (!pass_restart (reader) || !read_blocks (reader, pixels + (gsize)i * side))
        return FALSE;
    make_waiting (reader);
    for (guint k = 0; k < MIN (height, reader->height - y); k++)
      rows->take (rows->data, y + k);
  }
  return pass_mark (&reader->input, END_OF_IMAGE);
}

/* ---- What the header says -------------------------------------------------------------------- */

static gboolean
is_power (int number)
{
  return (number & (number - 1)) == 0;
}

static gboolean
is_common (const struct jpeg_decompress_struct *jpeg)
{
  const jpeg_component_info *brightness = &jpeg->comp_info[0];
  return !jpeg->progressive_mode && !jpeg->arith_code && jpeg->data_precision == 8 &&
         jpeg->out_color_space == JCS_GRAYSCALE && jpeg->dct_method == JDCT_ISLOW &&
         jpeg->comps_in_scan == jpeg->num_components && jpeg->Ss == 0 &&
         jpeg->Se == WSI_JPEG_BLOCK - 1 && jpeg->Ah == 0 && jpeg->Al == 0 &&
         brightness->h_samp_factor == jpeg->max_h_samp_factor &&
         brightness->v_samp_factor == jpeg->max_v_samp_factor &&
         is_power (brightness->h_samp_factor) && is_power (brightness->v_samp_factor);
}

static gboolean
part_init (Reader *reader, const struct jpeg_decompress_struct *jpeg,
           const jpeg_component_info *component, Part *part)
{
  /* The library looks at these numbers later. */
  if (component->quant_tbl_no >= NUM_QUANT_TBLS || component->dc_tbl_no >= NUM_HUFF_TBLS ||
      component->ac_tbl_no >= NUM_HUFF_TBLS)
    return FALSE;
  const JQUANT_TBL *steps = jpeg->quant_tbl_ptrs[component->quant_tbl_no];
  Codes *first = &reader->codes[0][component->dc_tbl_no];
  Codes *others = &reader->codes[1][component->ac_tbl_no];
  if (steps == NULL || !codes_init (first, jpeg->dc_huff_tbl_ptrs[component->dc_tbl_no], TRUE) ||
      !codes_init (others, jpeg->ac_huff_tbl_ptrs[component->ac_tbl_no], FALSE))
    return FALSE;
  const gboolean is_alone = jpeg->comps_in_scan == 1;
  *part = (Part){
    .first = first,
    .others = others,
    .across = is_alone ? 1 : (guint)component->h_samp_factor,
    .down = is_alone ? 1 : (guint)component->v_samp_factor,
    .is_kept = component == &jpeg->comp_info[0],
  };
  for (guint k = 0; part->is_kept && k < WSI_JPEG_BLOCK; k++)
    part->steps[k] = steps->quantval[zigzag[k]];
  return TRUE;
}

/* Returns the part that is kept, or NULL. */
static const Part *
parts_init (Reader *reader, const struct jpeg_decompress_struct *jpeg)
{
  const Part *kept = NULL;
  guint n_blocks = 0;
  reader->n_parts = (guint)jpeg->comps_in_scan;
  for (guint i = 0; i < reader->n_parts; i++)
  {
    Part *part = &reader->parts[i];
    if (!part_init (reader, jpeg, jpeg->cur_comp_info[i], part))
      return NULL;
    n_blocks += part->across * part->down;
    kept = part->is_kept ? part : kept;
  }
  return n_blocks <= MOST_BLOCKS ? kept : NULL;
}

gboolean
wsi_jpeg_rows_read (const struct jpeg_decompress_struct *jpeg, const WsJpegRows *rows)
{
  if (!wsi_jpeg_block_can () || !is_common (jpeg))
    return FALSE;
  g_autofree Reader *reader = g_new0 (Reader, 1);
  const guint8 *bytes = jpeg->src->next_input_byte;
  reader->rows = rows;
  reader->input = (Input){ .ahead = { .at = bytes }, .end = bytes + jpeg->src->bytes_in_buffer };
  reader->width = jpeg->image_width;
  reader->height = jpeg->image_height;
  reader->interval = jpeg->restart_interval;
  for (guint k = 0; k < WSI_JPEG_BLOCK; k++)
    reader->places[k] = (guint8)wsi_jpeg_block_place (zigzag[k]);
  const Part *kept = parts_init (reader, jpeg);
  if (kept == NULL)
    return FALSE;
  const guint side = WSI_JPEG_SIDE * kept->across;
  reader->across = (reader->width + side - 1) / side;
  return read_rows (reader, kept);
}
