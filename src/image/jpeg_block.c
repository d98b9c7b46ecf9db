#include "image/jpeg_block.h"

#include <string.h>

#ifdef __x86_64__
#include <immintrin.h>
#endif

#define MIDDLE 128
#define WHITE 255

/*
 * libjpeg transforms columns and then rows in whole numbers: factors of 13 bits, two more bits
 * between both, and rounding after each, which is part of what pixels are.  Within each it may be
 * computed in any order.  Here it is a product with the matrix of its factors, two terms at a time
 * (0 and 4, 2 and 6, 1 and 3, 5 and 7), for eight columns, or rows, side by side; so coefficients
 * of such rows lie in pairs, and columns in this order.
 */
#define FACTOR_BITS 13
#define BETWEEN_BITS 2

static const guint8 order[WSI_JPEG_SIDE] = { 0, 4, 2, 5, 1, 6, 3, 7 };

guint
wsi_jpeg_block_place (guint i)
{
  const guint row = order[i / WSI_JPEG_SIDE], column = order[i % WSI_JPEG_SIDE];
  return row / 2 * (2 * WSI_JPEG_SIDE) + 2 * column + row % 2;
}

void
wsi_jpeg_block_make_flat (int first, guint8 *pixels, gsize stride)
{
  const int code = ((first + 4) >> 3) + MIDDLE;
  for (guint i = 0; i < WSI_JPEG_SIDE; i++)
    memset (pixels + i * stride, CLAMP (code, 0, WHITE), WSI_JPEG_SIDE);
}

#ifdef __x86_64__

gboolean
wsi_jpeg_block_can (void)
{
  return __builtin_cpu_supports ("avx2") != 0;
}

#define VECTORS __attribute__ ((target ("avx2"))) static inline

/* Terms 0 and 4, 2 and 6, 1 and 3, 5 and 7, of each column or row. */
typedef struct
{
  __m256i v04, v26, v13, v57;
} Terms;

typedef struct
{
  __m256i v[WSI_JPEG_SIDE];
} Sums;

/* One term times `a` and the other times `b`. */
VECTORS __m256i
product (__m256i terms, int a, int b)
{
  return _mm256_madd_epi16 (terms, _mm256_set1_epi32 ((int)((guint)b << 16 | ((guint)a & 0xFFFF))));
}

/* Factors are sums of those of libjpeg's, which stand for cosines times 2^13. */
VECTORS Sums
transform (Terms t, int drop)
{
  const __m256i half = _mm256_set1_epi32 (1 << (drop - 1));
  const __m256i sum = _mm256_add_epi32 (product (t.v04, 8192, 8192), half);
  const __m256i difference = _mm256_add_epi32 (product (t.v04, 8192, -8192), half);
  const __m256i high = product (t.v26, 10703, 4433), low = product (t.v26, 4433, -10704);
  const __m256i e0 = _mm256_add_epi32 (sum, high), e3 = _mm256_sub_epi32 (sum, high);
  const __m256i e1 = _mm256_add_epi32 (difference, low), e2 = _mm256_sub_epi32 (difference, low);
  const __m256i o0 = _mm256_add_epi32 (product (t.v13, 11363, 9633), product (t.v57, 6437, 2260));
  const __m256i o1 =
    _mm256_add_epi32 (product (t.v13, 9633, -2259), product (t.v57, -11362, -6436));
  const __m256i o2 = _mm256_add_epi32 (product (t.v13, 6437, -11362), product (t.v57, 2261, 9633));
  const __m256i o3 = _mm256_add_epi32 (product (t.v13, 2260, -6436), product (t.v57, 9633, -11363));
  return (Sums){ { _mm256_srai_epi32 (_mm256_add_epi32 (e0, o0), drop),
                   _mm256_srai_epi32 (_mm256_add_epi32 (e1, o1), drop),
                   _mm256_srai_epi32 (_mm256_add_epi32 (e2, o2), drop),
                   _mm256_srai_epi32 (_mm256_add_epi32 (e3, o3), drop),
                   _mm256_srai_epi32 (_mm256_sub_epi32 (e3, o3), drop),
                   _mm256_srai_epi32 (_mm256_sub_epi32 (e2, o2), drop),
                   _mm256_srai_epi32 (_mm256_sub_epi32 (e1, o1), drop),
                   _mm256_srai_epi32 (_mm256_sub_epi32 (e0, o0), drop) } };
}

/* From rows, whose columns stand in their order, to terms of each row. */
VECTORS Terms
turn (Sums rows)
{
  const __m256i r04 = _mm256_packs_epi32 (rows.v[0], rows.v[4]);
  const __m256i r15 = _mm256_packs_epi32 (rows.v[1], rows.v[5]);
  const __m256i r26 = _mm256_packs_epi32 (rows.v[2], rows.v[6]);
  const __m256i r37 = _mm256_packs_epi32 (rows.v[3], rows.v[7]);
  const __m256i r01 = _mm256_unpacklo_epi32 (r04, r15), r23 = _mm256_unpacklo_epi32 (r26, r37);
  const __m256i r45 = _mm256_unpackhi_epi32 (r04, r15), r67 = _mm256_unpackhi_epi32 (r26, r37);
  const __m256i upper04_13 = _mm256_unpacklo_epi64 (r01, r23);
  const __m256i upper26_57 = _mm256_unpackhi_epi64 (r01, r23);
  const __m256i lower04_13 = _mm256_unpacklo_epi64 (r45, r67);
  const __m256i lower26_57 = _mm256_unpackhi_epi64 (r45, r67);
  return (Terms){ _mm256_permute2x128_si256 (upper04_13, lower04_13, 0x20),
                  _mm256_permute2x128_si256 (upper26_57, lower26_57, 0x20),
                  _mm256_permute2x128_si256 (upper04_13, lower04_13, 0x31),
                  _mm256_permute2x128_si256 (upper26_57, lower26_57, 0x31) };
}

/* Four columns of pixels to rows, 0 to 3 and 4 to 7. */
VECTORS __m256i
pack (const __m256i *columns)
{
  const __m256i together = _mm256_packs_epi16 (_mm256_packs_epi32 (columns[0], columns[1]),
                                               _mm256_packs_epi32 (columns[2], columns[3]));
  const __m256i by_rows = _mm256_setr_epi8 (0, 4, 8, 12, 1, 5, 9, 13, 2, 6, 10, 14, 3, 7, 11, 15, 0,
                                            4, 8, 12, 1, 5, 9, 13, 2, 6, 10, 14, 3, 7, 11, 15);
  return _mm256_shuffle_epi8 (_mm256_add_epi8 (together, _mm256_set1_epi8 ((char)MIDDLE)), by_rows);
}

VECTORS void
store_two (__m128i rows, guint8 *pixels, gsize stride)
{
  _mm_storel_epi64 ((__m128i *)(void *)pixels, rows);
  _mm_storeh_pd ((double *)(void *)(pixels + stride), _mm_castsi128_pd (rows));
}

__attribute__ ((target ("avx2"))) void
wsi_jpeg_block_make (const gint16 block[WSI_JPEG_BLOCK], guint8 *pixels, gsize stride)
{
  const __m256i *pairs = (const __m256i *)(const void *)block;
  const Terms terms = { _mm256_loadu_si256 (pairs), _mm256_loadu_si256 (pairs + 1),
                        _mm256_loadu_si256 (pairs + 2), _mm256_loadu_si256 (pairs + 3) };
  const Sums rows = transform (terms, FACTOR_BITS - BETWEEN_BITS);
  const Sums columns = transform (turn (rows), FACTOR_BITS + BETWEEN_BITS + 3);
  const __m256i left = pack (columns.v), right = pack (columns.v + 4);
  const __m256i even = _mm256_unpacklo_epi32 (left, right);
  const __m256i odd = _mm256_unpackhi_epi32 (left, right);
  store_two (_mm256_castsi256_si128 (even), pixels, stride);
  store_two (_mm256_castsi256_si128 (odd), pixels + 2 * stride, stride);
  store_two (_mm256_extracti128_si256 (even, 1), pixels + 4 * stride, stride);
  store_two (_mm256_extracti128_si256 (odd, 1), pixels + 6 * stride, stride);
}

#else

gboolean
wsi_jpeg_block_can (void)
{
  return FALSE;
}

void
wsi_jpeg_block_make (const gint16 block[WSI_JPEG_BLOCK], guint8 *pixels, gsize stride)
{
  (void)block;
  (void)pixels;
  (void)stride;
}

#endif
