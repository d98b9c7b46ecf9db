#include "image/passing.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* The guess is made of so many rows, which have to be there at once. */
#define FIRST_ROWS WSI_SPARSE_ROWS
#define LEAST_GUESSED 500 /* differences */

/* What the picture tells lies between such parts of what they tell.  Of noise one difference in 60
 * is between the limits' parts, hardly a pixel between those of brightness. */
#define BRIGHT_LEAST 0.8
#define BRIGHT_MOST 1.35
#define LIMIT_LEAST 0.75
#define LIMIT_MOST 2.0

/* More to be counted at the end takes more memory than it is worth. */
#define MOST_DOUBTS 300000

/* Counted one by one; differences of noise are mostly smaller. */
#define BINS 16384

/* A difference, or light, that counts where the ground is less bright than its `least`, and the
 * limit above its value. */
typedef struct
{
  guint16 line, least, value;
} Doubt;

/* Likewise, of those that tell the limits. */
typedef struct
{
  guint least, value;
} FirstDoubt;

/* A line's. */
typedef struct
{
  guint32 sum[WSI_N_TRACES], count[WSI_N_TRACES];
} Sums;

/* Of rows, or of columns. */
typedef struct
{
  guint along; /* the direction of the lines' own order: 0 for x */
  Sums *lines;
  GArray *doubts[WSI_N_TRACES];
} Way;

/* Second differences of those pixels that tell the limits. */
typedef struct
{
  guint *count;   /* by size */
  GArray *larger; /* guint */
  GArray *doubts; /* FirstDoubt */
} Differences;

struct WsPassing
{
  guint width, height, step;
  WsPassingLimits told;       /* in the end, */
  WsNoiseGround found;        /* and which */
  gboolean is_lost;           /* nothing is told */
  int bright[2], limit[2][2]; /* guessed, least and most */
  guint n_doubts;
  guint *light;               /* pixels by their light */
  Differences differences[2]; /* along x, along y */
  Way rows, columns;
  guint repeated_rows, n_left; /* columns that had nothing of their own until now */
  guint *left;
};

/* ---- Rows ------------------------------------------------------------------------------------ */

/* Three, one below the other. */
typedef struct
{
  const guint8 *row[3];
  gboolean coded;
  const guint16 *light; /* of codes */
} Rows;

static inline int
light_in (const Rows *rows, guint k, guint x)
{
  return rows->coded ? rows->light[rows->row[k][x]]
                     : ((const guint16 *)(const void *)rows->row[k])[x];
}

static Rows
rows_about (WsSparse *sparse, guint y, const guint16 light[256])
{
  return (Rows){ { wsi_sparse_place (sparse, y - 1), wsi_sparse_place (sparse, y),
                   wsi_sparse_place (sparse, y + 1) },
                 sparse->size == 1,
                 light };
}

/* ---- Lines of their own ---------------------------------------------------------------------- */

/* Of rows the last two. */
static void
compare_rows (WsPassing *passing, const Rows *rows)
{
  const guint step = wsi_passing_step (passing->width);
  for (guint x = 0; x < passing->width; x += step)
    if (light_in (rows, 2, x) != light_in (rows, 1, x))
      return;
  passing->repeated_rows++;
}

/* By the last row. */
static void
compare_columns (WsPassing *passing, const Rows *rows)
{
  guint n = 0;
  for (guint i = 0; i < passing->n_left; i++)
  {
    const guint x = passing->left[i];
    if (light_in (rows, 2, x) == light_in (rows, 2, x - 1))
      passing->left[n++] = x;
  }
  passing->n_left = n;
}

guint
wsi_passing_repeated (const WsPassing *passing, gboolean rows)
{
  return rows ? passing->repeated_rows : passing->n_left;
}

/* ---- Roughness ------------------------------------------------------------------------------- */

static void
doubt (WsPassing *passing, GArray *doubts, Doubt what)
{
  g_array_append_val (doubts, what);
  passing->n_doubts++;
}

/* A pixel's light, and its neighbours' along x and along y. */
typedef struct
{
  int here, beside[2][2];
} Sample;

static inline Sample
sample_at (const Rows *rows, guint x)
{
  return (Sample){ light_in (rows, 1, x),
                   { { light_in (rows, 1, x - 1), light_in (rows, 1, x + 1) },
                     { light_in (rows, 0, x), light_in (rows, 2, x) } } };
}

/* A direction's second difference, and the least of the three that it is made of; FALSE where one
 * of them is off the ground whatever that is. */
static inline gboolean
difference_of (const WsPassing *passing, const Sample *sample, guint d, guint *least, guint *value)
{
  const int a = sample->beside[d][0], b = sample->here, c = sample->beside[d][1];
  const int low = MIN (a, MIN (b, c)), high = MAX (a, MAX (b, c));
  *least = (guint)low;
  *value = (guint)abs (a - 2 * b + c);
  return low > passing->bright[0] && high < WSI_NOISE_CLIPPED;
}

static inline void
add_sample (WsPassing *passing, Way *way, guint line, const Sample *sample)
{
  Sums *sums = &way->lines[line];
  if (sample->here >= WSI_NOISE_CLIPPED || sample->here <= passing->bright[0])
    return;
  if (sample->here > passing->bright[1])
  {
    sums->sum[WSI_LIGHT] += (guint32)sample->here;
    sums->count[WSI_LIGHT]++;
  }
  else
    doubt (passing, way->doubts[WSI_LIGHT],
           (Doubt){ (guint16)line, (guint16)sample->here, (guint16)sample->here });
  for (guint d = 0; d < 2; d++)
  {
    const WsNoiseTrace trace = d == way->along ? WSI_ALONG : WSI_ACROSS;
    guint least, value;
    if (!difference_of (passing, sample, d, &least, &value) || value >= (guint)passing->limit[d][1])
      continue;
    if ((int)least > passing->bright[1] && value < (guint)passing->limit[d][0])
    {
      sums->sum[trace] += value;
      sums->count[trace]++;
    }
    else
      doubt (passing, way->doubts[trace], (Doubt){ (guint16)line, (guint16)least, (guint16)value });
  }
}

/* Whether the row is one of those whose pixels tell the limits. */
static gboolean
tells_limits (const WsPassing *passing, guint y)
{
  return (y - 1) % WSI_NOISE_EVERY == 0 &&
         (y - 1) / WSI_NOISE_EVERY < (passing->height - 2) / WSI_NOISE_EVERY;
}

static guint
across_of (const WsPassing *passing)
{
  return (passing->width - 2) / WSI_NOISE_EVERY;
}

static void
count_light (WsPassing *passing, const Rows *rows)
{
  for (guint i = 0; i < across_of (passing); i++)
    passing->light[light_in (rows, 1, 1 + i * WSI_NOISE_EVERY)]++;
}

static void
count_differences (WsPassing *passing, const Rows *rows)
{
  for (guint i = 0; i < across_of (passing); i++)
  {
    const Sample sample = sample_at (rows, 1 + i * WSI_NOISE_EVERY);
    for (guint d = 0; d < 2; d++)
    {
      Differences *differences = &passing->differences[d];
      guint least, value;
      if (!difference_of (passing, &sample, d, &least, &value))
        continue;
      const FirstDoubt of = { least, value };
      if ((int)least <= passing->bright[1])
        g_array_append_val (differences->doubts, of);
      else if (value < BINS)
        differences->count[value]++;
      else
        g_array_append_val (differences->larger, value);
    }
  }
}

static void
add_row (WsPassing *passing, guint y, const Rows *rows)
{
  const guint width = passing->width;
  for (guint x = 1; x + 1 < width; x += passing->step)
  {
    const Sample sample = sample_at (rows, x);
    add_sample (passing, &passing->rows, y, &sample);
  }
  if ((y - 1) % passing->step != 0)
    return;
  for (guint x = 1; x + 1 < width; x++)
  {
    const Sample sample = sample_at (rows, x);
    add_sample (passing, &passing->columns, x, &sample);
  }
}

/* ---- Limits ---------------------------------------------------------------------------------- */

typedef struct
{
  double sum;
  guint n, zeros;
} Moments;

static void
moments_add (Moments *moments, guint value, guint n)
{
  moments->sum += (double)value * n;
  moments->n += n;
  moments->zeros += value == 0 ? n : 0;
}

/* Of differences below `most`. */
static Moments
moments_of (const Differences *differences, int bright, double most)
{
  Moments moments = { 0 };
  for (guint value = 0; value < BINS && value < most; value++)
    moments_add (&moments, value, differences->count[value]);
  for (guint i = 0; i < differences->larger->len; i++)
  {
    const guint value = g_array_index (differences->larger, guint, i);
    if (value < most)
      moments_add (&moments, value, 1);
  }
  for (guint i = 0; i < differences->doubts->len; i++)
  {
    const FirstDoubt *of = &g_array_index (differences->doubts, FirstDoubt, i);
    if ((int)of->least > bright && of->value < most)
      moments_add (&moments, of->value, 1);
  }
  return moments;
}

/* FALSE where too little is seen, or no noise. */
static gboolean
limit_of (const Differences *differences, int bright, guint least, int *limit)
{
  const Moments all = moments_of (differences, bright, HUGE_VAL);
  if (all.n < least || all.zeros > WSI_NOISE_MOST_ZEROS * all.n)
    return FALSE;
  const Moments most = moments_of (differences, bright, WSI_NOISE_FIRST_REACH * (all.sum / all.n));
  *limit = (int)ceil (WSI_NOISE_REACH * (most.n > 0 ? most.sum / most.n : 0));
  return TRUE;
}

static WsPassingLimits
find_limits (WsPassing *passing)
{
  if (passing->is_lost)
    return WS_PASSING_UNTOLD;
  const guint down = (passing->height - 2) / WSI_NOISE_EVERY;
  const int bright = wsi_noise_bright (passing->light, across_of (passing) * down);
  passing->found.bright = bright;
  if (bright < passing->bright[0] || bright > passing->bright[1])
    return WS_PASSING_UNTOLD;
  for (guint d = 0; d < 2; d++)
  {
    const int *guessed = passing->limit[d];
    int *limit = &passing->found.limit[d];
    if (!limit_of (&passing->differences[d], bright, WSI_NOISE_LEAST_LINES, limit))
      return WS_PASSING_NO_NOISE;
    if (*limit < guessed[0] || *limit > guessed[1])
      return WS_PASSING_UNTOLD;
  }
  return WS_PASSING_TOLD;
}

WsPassingLimits
wsi_passing_limits (const WsPassing *passing, WsNoiseGround *ground)
{
  ground->bright = passing->found.bright;
  memcpy (ground->limit, passing->found.limit, sizeof ground->limit);
  return passing->told;
}

/* ---- The guess ------------------------------------------------------------------------------- */

static gboolean
guess_limits (WsPassing *passing, int bright)
{
  for (guint d = 0; d < 2; d++)
  {
    int limit;
    if (!limit_of (&passing->differences[d], bright, LEAST_GUESSED, &limit))
      return FALSE;
    passing->limit[d][0] = (int)(LIMIT_LEAST * limit);
    passing->limit[d][1] = (int)MIN (LIMIT_MOST * limit, G_MAXUINT16);
  }
  return TRUE;
}

/* By the first rows, and counts them. */
static void
guess (WsPassing *passing, WsSparse *sparse, const guint16 light[256])
{
  guint n = 0;
  for (guint y = 1; y + 1 < FIRST_ROWS; y++)
    if (tells_limits (passing, y))
    {
      const Rows rows = rows_about (sparse, y, light);
      count_light (passing, &rows);
      n += across_of (passing);
    }
  const int bright = wsi_noise_bright (passing->light, n);
  passing->bright[0] = (int)(BRIGHT_LEAST * bright);
  passing->bright[1] = (int)(BRIGHT_MOST * bright);
  for (guint y = 1; y + 1 < FIRST_ROWS; y++)
    if (tells_limits (passing, y))
    {
      const Rows rows = rows_about (sparse, y, light);
      count_differences (passing, &rows);
    }
  if (!guess_limits (passing, bright))
  {
    passing->is_lost = TRUE;
    return;
  }
  for (guint y = 1; y + 1 < FIRST_ROWS; y++)
  {
    const Rows rows = rows_about (sparse, y, light);
    add_row (passing, y, &rows);
  }
}

/* ---- All of it ------------------------------------------------------------------------------- */

static void
way_init (Way *way, guint along, guint n)
{
  way->along = along;
  way->lines = g_new0 (Sums, n);
  for (guint t = 0; t < WSI_N_TRACES; t++)
    way->doubts[t] = g_array_new (FALSE, FALSE, sizeof (Doubt));
}

static void
forget_doubts (Way *way)
{
  for (guint t = 0; t < WSI_N_TRACES; t++)
    g_clear_pointer (&way->doubts[t], g_array_unref);
}

/* What only reading needs. */
static void
forget (WsPassing *passing)
{
  g_clear_pointer (&passing->light, g_free);
  g_clear_pointer (&passing->left, g_free);
  for (guint d = 0; d < 2; d++)
  {
    g_clear_pointer (&passing->differences[d].count, g_free);
    g_clear_pointer (&passing->differences[d].larger, g_array_unref);
    g_clear_pointer (&passing->differences[d].doubts, g_array_unref);
  }
  forget_doubts (&passing->rows);
  forget_doubts (&passing->columns);
}

static void
free_passing (WsPassing *passing)
{
  forget (passing);
  g_free (passing->rows.lines);
  g_free (passing->columns.lines);
  g_free (passing);
}

WsPassing *
wsi_passing_begin (WsSparse *sparse)
{
  const guint width = sparse->width, height = sparse->height;
  WsPassing *passing = sparse->passing = g_new0 (WsPassing, 1);
  sparse->free_passing = free_passing;
  passing->width = width;
  passing->height = height;
  passing->step = wsi_noise_step (width, height);
  passing->light = g_new0 (guint, WS_IMAGE_FULL_SCALE + 1);
  for (guint d = 0; d < 2; d++)
    passing->differences[d] =
      (Differences){ g_new0 (guint, BINS), g_array_new (FALSE, FALSE, sizeof (guint)),
                     g_array_new (FALSE, FALSE, sizeof (FirstDoubt)) };
  way_init (&passing->rows, 1, height);
  way_init (&passing->columns, 0, width);
  passing->left = g_new (guint, width);
  for (guint x = 1; x < width; x++)
    passing->left[passing->n_left++] = x;
  /* Places are kept in 16 bits; and without as many rows there is no guess. */
  passing->is_lost = MAX (width, height) > G_MAXUINT16 || height < FIRST_ROWS + 1;
  return passing;
}

/* The row before the last, with what lies above and below it. */
static void
note (WsPassing *passing, guint y, const Rows *rows)
{
  if (tells_limits (passing, y))
  {
    count_light (passing, rows);
    count_differences (passing, rows);
  }
  add_row (passing, y, rows);
  passing->is_lost = passing->n_doubts > MOST_DOUBTS;
}

void
wsi_passing_take (WsSparse *sparse, guint y, const guint16 light[256])
{
  WsPassing *passing = sparse->passing;
  /* Above the first two rows lies nothing, and nothing is looked at. */
  const Rows rows = rows_about (sparse, y + WSI_SPARSE_ROWS - 1, light);
  if (y % wsi_passing_step (passing->height) == 0)
    compare_columns (passing, &rows);
  if (y > 0)
    compare_rows (passing, &rows);
  if (passing->is_lost)
    return;
  if (y + 1 == FIRST_ROWS)
    guess (passing, sparse, light);
  else if (y >= FIRST_ROWS)
    note (passing, y - 1, &rows);
}

/* Counts what was kept to be counted now. */
static void
settle (const WsNoiseGround *ground, Way *way)
{
  for (guint t = 0; t < WSI_N_TRACES; t++)
  {
    /* Light has no limit. */
    const int limit = t == WSI_LIGHT                          ? G_MAXINT
                      : (t == WSI_ALONG) == (way->along == 0) ? ground->limit[0]
                                                              : ground->limit[1];
    for (guint i = 0; i < way->doubts[t]->len; i++)
    {
      const Doubt *of = &g_array_index (way->doubts[t], Doubt, i);
      if (of->least <= ground->bright || of->value >= limit)
        continue;
      way->lines[of->line].sum[t] += of->value;
      way->lines[of->line].count[t]++;
    }
  }
}

void
wsi_passing_end (WsPassing *passing)
{
  passing->told = find_limits (passing);
  if (passing->told == WS_PASSING_TOLD)
  {
    settle (&passing->found, &passing->rows);
    settle (&passing->found, &passing->columns);
  }
  forget (passing);
}

void
wsi_passing_sum (const WsPassing *passing, gboolean of_columns, WsNoiseLines *lines)
{
  const Way *way = of_columns ? &passing->columns : &passing->rows;
  for (guint t = 0; t < WSI_N_TRACES; t++)
    for (guint i = 0; i < lines->n; i++)
    {
      lines->sum[t][i] = way->lines[i].sum[t];
      lines->count[t][i] = way->lines[i].count[t];
    }
}
