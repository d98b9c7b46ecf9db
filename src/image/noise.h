/*
 * How rough a picture's ground is, line by line: second differences of light, whose means tell what
 * noise is left.
 */
#ifndef WS_IMAGE_NOISE_H
#define WS_IMAGE_NOISE_H

#include <whetsight/image.h>

#include "image/cells.h"

G_BEGIN_DECLS

/* The ground, where nobody says what is: brighter than this part of what a tenth of the picture
 * exceeds, below full scale. */
#define WSI_NOISE_BRIGHT_PART 0.5
#define WSI_NOISE_BRIGHT_SHARE 0.9
#define WSI_NOISE_CLIPPED 65200

/* Differences of more than so many times the mean are edges. */
#define WSI_NOISE_FIRST_REACH 5.0
#define WSI_NOISE_REACH 4.0

/* Of second differences that are exactly 0: coarse quantisation has left no noise to speak of. */
#define WSI_NOISE_MOST_ZEROS 0.6

/* Pictures with fewer lines are left out. */
#define WSI_NOISE_LEAST_LINES 200

/* What is bright, and how far differences go, is told by each so-many-th pixel both ways, from the
 * second on. */
#define WSI_NOISE_EVERY 7

typedef enum
{
  WSI_ALONG,  /* second differences along the lines' own order */
  WSI_ACROSS, /* along each line */
  WSI_LIGHT,
  WSI_N_TRACES
} WsNoiseTrace;

typedef struct
{
  guint n;
  guint64 *sum[WSI_N_TRACES]; /* whole numbers, which no order of summing changes */
  guint *count[WSI_N_TRACES];
} WsNoiseLines;

void wsi_noise_lines_init (WsNoiseLines *lines, guint n);
void wsi_noise_lines_clear (WsNoiseLines *lines);

typedef struct
{
  const WsImage *image;
  const WsImageCells *cells; /* NULL: what is bright */
  int bright, limit[2];      /* of second differences along x and along y */
} WsNoiseGround;

/* FALSE where too little is seen, or no noise. */
gboolean wsi_noise_set_limits (WsNoiseGround *ground);

/* But for the first and last. */
void wsi_noise_sum_rows (const WsNoiseGround *ground, WsNoiseLines *lines);
void wsi_noise_sum_columns (const WsNoiseGround *ground, WsNoiseLines *lines);

/* Of rows each so-many-th pixel is looked at, and of columns. */
guint wsi_noise_step (guint width, guint height);

/* Where the ground begins, by how many of `n` pixels have each light. */
int wsi_noise_bright (const guint *count, guint n);

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (WsNoiseLines, wsi_noise_lines_clear)

G_END_DECLS

#endif
