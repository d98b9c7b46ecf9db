/*
 * The campaign: pictures that are hard to measure, from harmless to hopeless, and whether the
 * program is ever wrong with confidence about one.
 *
 *   trial hard [--kind KIND] [--view VIEW] [--count N] [--seed S] [--jobs N] [--keep DIR]
 *              [--numbers FILE] PROGRAM
 *
 * A kind is one line of hard_kinds.def and at most two functions in a file hard_NAME.c: one that
 * changes the scene before it is rendered, one that changes the picture, both by the shot's
 * `strength`, 0 (nothing to see) to 1 (hopeless).  The seed alone makes the shot: which of the
 * kind's views, which tool, what strength.  So `--kind KIND --seed S --count 1` makes one again.
 */
#ifndef TRIAL_HARD_H
#define TRIAL_HARD_H

#include <glib.h>
#include <jansson.h>

#include "scene/blade.h"
#include "scene/flank.h"
#include "scene/profile.h"
#include "scene/tip.h"

G_BEGIN_DECLS

/* What scenes there are; by bits in a kind's `scenes`.  HARD_TIP and HARD_END are two generators of
 * the view drill-end. */
typedef enum
{
  HARD_DRILL_SIDE = 1 << 0,
  HARD_FORM_PLAN = 1 << 1,
  HARD_FORM_SIDE = 1 << 2,
  HARD_BLADE_PLAN = 1 << 3,
  HARD_BLADE_SIDE = 1 << 4,
  HARD_BLADE_FACE = 1 << 5,
  HARD_END = 1 << 6,
  HARD_TIP = 1 << 7,
  HARD_RELIEF = 1 << 8
} HardScenes;

#define HARD_N_SCENES 9
#define HARD_BLADES (HARD_BLADE_PLAN | HARD_BLADE_SIDE | HARD_FORM_SIDE)
#define HARD_SILHOUETTES (HARD_DRILL_SIDE | HARD_FORM_PLAN | HARD_BLADES)
#define HARD_FRONT_LIT (HARD_BLADE_FACE | HARD_END | HARD_TIP | HARD_RELIEF)
/* Whose size is on the card. */
#define HARD_SIZED                                                                                 \
  (HARD_DRILL_SIDE | HARD_FORM_PLAN | HARD_BLADE_PLAN | HARD_BLADE_FACE | HARD_END | HARD_TIP)
#define HARD_ALL (HARD_SILHOUETTES | HARD_FRONT_LIT)

/* What is asked of the program. */
typedef enum
{
  HARD_TRUE,         /* numbers that cover the truth, or a retake, or no verdict */
  HARD_NOT_ACCEPTED, /* the card's tool it is not: anything but accepted */
  HARD_NOT_JUDGED,   /* no such tool at all: neither accepted nor rejected */
  HARD_FREE          /* nobody could know: it must only end in order */
} HardExpected;

/* Samples as the file has them, 0 to 1, row by row, channels together. */
typedef struct
{
  guint width, height, channels;
  float *samples;
} HardPicture;

typedef struct HardShot HardShot;

struct HardShot
{
  HardScenes scene; /* one of them */
  guint64 seed;
  guint64 scene_seed; /* made of it: all kinds of the same scenes begin with the same tool */
  double strength;
  SceneRng rng; /* for what kinds draw at random; apart from the scene's */

  /* The scene, of which `scene` says what counts.  `camera` is that of silhouettes. */
  SceneDrill drill; /* also of HARD_TIP and HARD_RELIEF */
  SceneBladePlan plan;
  SceneBladeSide side;
  SceneProfile profile;
  SceneCamera camera;
  SceneFace face;
  SceneEnd end;
  SceneTip tip;
  SceneRelief relief;

  /* Draws something else in place of the scene's tool, when set.  The caller owns the result. */
  SceneImage *(*render) (HardShot *);

  HardPicture picture;
  SceneEncoding encoding; /* of the samples, and whether the file says so */
  gboolean tagged;
  guint bits;
  int jpeg_quality; /* 0: PNG */
  /* Writes the file itself, when set; `extension` is that of its name. */
  gboolean (*write) (const HardShot *, const SceneImage *, const char *path);
  const char *extension;

  /* What the program is told. */
  const char *view;
  double mm_per_px;
  GString *card;      /* the card's text */
  GPtrArray *options; /* further options, owned */

  HardExpected expected;
  json_t *truth; /* by the records' names */
};

typedef struct
{
  const char *name; /* "" for a heading */
  guint scenes;     /* HardScenes */
  void (*before) (HardShot *);
  void (*after) (HardShot *);
  HardExpected expected;
  const char *heading; /* of the kinds that follow, NULL but for headings */
} HardKind;

/* Of hard_kinds.def; the one after the last has no name. */
const HardKind *hard_kinds (void);

/* A kind that leaves scene or picture as it is. */
void hard_nothing (HardShot *shot);

/* What changes them. */
#define HARD_KIND(name, scenes, before, after, expected)                                           \
  void before (HardShot *shot);                                                                    \
  void after (HardShot *shot);
#define HARD_HEADING(text)
#include "hard_kinds.def"
#undef HARD_KIND
#undef HARD_HEADING

/* ---- Shots (hard_shot.c) --------------------------------------------------------------- */

/* Which of the scenes a seed chooses. */
HardScenes hard_scene_of (guint scenes, guint64 seed);

/* The picture rendered last, which kinds that leave the scene alone have in common. */
typedef struct
{
  GMutex lock;
  HardScenes scene;
  guint64 scene_seed;
  HardPicture picture;
  SceneEncoding encoding;
  gboolean tagged;
  guint bits;
  double mm_per_px;
  json_t *truth;
} HardCache;

void hard_cache_init (HardCache *cache);
void hard_cache_clear (HardCache *cache);

/* Free with hard_shot_free(). */
HardShot *hard_shot_new (const HardKind *kind, guint64 seed, HardCache *cache);
void hard_shot_free (HardShot *shot);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (HardShot, hard_shot_free)

/* Between `low` at strength 0 and `high` at 1. */
double hard_between (const HardShot *shot, double low, double high);

/* The truth of a quantity; NAN takes it away. */
void hard_set_truth (HardShot *shot, const char *quantity, double value);

/* The least standard deviation that the point angle of a drill's silhouette can be had with, and
 * its lips' mean length in px; NAN for other scenes.  Cramer-Rao bound of a straight edge blurred
 * by a Gaussian s, in white noise sigma over a contrast C, N px long: its direction is known to
 * sqrt (24 sqrt(pi) s) sigma / (C N^1.5), with 1/12 px^2 for the pixels added to s^2; the angle
 * between two, sqrt (2) times.  From the information of independent pixels, S. M. Kay, Fundamentals
 * of Statistical Signal Processing: Estimation Theory, 1993, chapter 3. */
double hard_lip_bound_deg (const HardShot *shot, guint *lip_px);

/* Tells the program of another scene's view, tool and size in place of its own. */
void hard_shot_tell (HardShot *shot, HardScenes other);

/* Writes picture and card into `folder` and gives the picture's name there, NULL when it can't.
 * Free with g_free(). */
char *hard_shot_save (const HardShot *shot, const char *folder, const char *name);

/* ---- Pictures (hard_picture.c) ----------------------------------------------------------- */

HardPicture hard_picture_new (guint width, guint height, guint channels);
HardPicture hard_picture_copy (const HardPicture *picture);
void hard_picture_clear (HardPicture *picture);

gsize hard_n_samples (const HardPicture *picture);

/* The old samples are freed. */
void hard_picture_take (HardPicture *picture, HardPicture taken);

/* A sample; places outside are the nearest inside. */
float *hard_sample (const HardPicture *picture, int x, int y, guint channel);

/* Bilinear. */
double hard_between_samples (const HardPicture *picture, double x, double y, guint channel);

/* Samples to linear light and back, as the shot's encoding says. */
void hard_to_light (HardShot *shot);
void hard_from_light (HardShot *shot);

/* By a Gaussian; sigma in px. */
void hard_blur (HardPicture *picture, double sigma);

/* Each sample by `curve`. */
void hard_map (HardPicture *picture, double (*curve) (double sample, const HardShot *shot),
               const HardShot *shot);

/* From another place of the old picture each, bilinear: `from` gives it for (x, y). */
void hard_warp (HardShot *shot, guint width, guint height,
                ScenePoint (*from) (const HardShot *shot, double x, double y));

HardPicture hard_picture_of (const SceneImage *image);
SceneImage *hard_image_of (const HardShot *shot);

/* ---- Running (hard.c) -------------------------------------------------------------------- */

/* The verb; gives the exit status: 0 when nothing was wrong with confidence. */
int hard_main (int argc, char **argv);

/* ---- Reporting (hard_report.c) ------------------------------------------------------------- */

/* trial report NUMBERS…: the page docs/accuracy.md, of what --numbers wrote. */
int report_main (int argc, char **argv);

/* The greatest share that k of n leave possible with 95 % confidence, one-sided: where so few are
 * as likely as 5 % (C. J. Clopper and E. S. Pearson, Biometrika 26, 1934, 404 to 413). */
double hard_most_possible (guint k, guint n);

G_END_DECLS

#endif
