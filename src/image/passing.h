/*
 * What a lossless picture's pixels tell of what was done to it, noted while its rows pass: whether
 * lines repeat the one before (image/repeated.h), and how rough its ground is (image/noise.h), of
 * which only pixels all over it tell.  What counts as ground is known only at the end; so it is
 * guessed from the first rows, and what lies near the guess is kept to be counted then.  Numbers
 * are those of a look at the whole picture, or none is told.
 */
#ifndef WS_IMAGE_PASSING_H
#define WS_IMAGE_PASSING_H

#include "image/noise.h"
#include "image/sparse.h"

G_BEGIN_DECLS

typedef enum
{
  WS_PASSING_UNTOLD,   /* the first rows aren't like the rest */
  WS_PASSING_NO_NOISE, /* or too little is seen */
  WS_PASSING_TOLD,
} WsPassingLimits;

/* Of a picture that is read sparsely: `sparse` has it from then on. */
WsPassing *wsi_passing_begin (WsSparse *sparse);

/* Once row `y` lies where `sparse` has it, from 0 on. */
void wsi_passing_take (WsSparse *sparse, guint y, const guint16 light[256]);

/* After the last row. */
void wsi_passing_end (WsPassing *passing);

/* How many rows, or columns, repeat the one before by the samples that are looked at, so many along
 * a line. */
#define WSI_PASSING_SAMPLES 512
guint wsi_passing_repeated (const WsPassing *passing, gboolean rows);

/* From one of them to the next along `n` pixels. */
static inline guint
wsi_passing_step (guint n)
{
  return MAX (1, n / WSI_PASSING_SAMPLES);
}

/* Sets what wsi_noise_set_limits() would. */
WsPassingLimits wsi_passing_limits (const WsPassing *passing, WsNoiseGround *ground);

/* What wsi_noise_sum_rows() or _columns() would, with limits that were told. */
void wsi_passing_sum (const WsPassing *passing, gboolean of_columns, WsNoiseLines *lines);

G_END_DECLS

#endif
