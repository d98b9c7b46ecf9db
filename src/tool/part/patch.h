/*
 * A part of a surface's picture and its spectrum at one frequency.
 */
#ifndef WS_TOOL_PART_PATCH_H
#define WS_TOOL_PART_PATCH_H

#include <whetsight/image.h>
#include <whetsight/result.h>

G_BEGIN_DECLS

/* One family of parallel marks. */
typedef struct
{
  double fx, fy;      /* cycles a px, fx >= 0 */
  double frequency;   /* their length */
  double direction;   /* of it, across the marks: -90 .. 90 deg as rad, from x toward y */
  double above;       /* power over that of its surroundings */
  double contrast;    /* amplitude, as a part of the light */
  double u_frequency; /* standard uncertainty, cycles a px, */
  double u_direction; /* and rad */
  guint parts;        /* of the four quarters that show it too */
} WsMarkFamily;

/* A part of the picture, its slow changes taken out and its border faded. */
typedef struct
{
  float *value; /* side x side */
  guint side;
  double radius, sum2; /* px; sum of the squared weights */
  double sum;          /* of the weights */
  double texture;
} WsPatch;

/* What is looked at: a circle in the middle, so many px across at most; larger pictures are taken
 * smaller first, so that coarse marks have their periods too. */
#define WS_PATCH_MOST_RADIUS 256
#define WS_PATCH_MOST_SIDE (2 * WS_PATCH_MOST_RADIUS + 1)
#define WS_PATCH_PART 0.45

/* The picture's middle, `by` x `by` pixels as one; FALSE when that is too small.  Free `value` with
 * g_free(). */
gboolean wsi_patch_take (const WsImage *image, guint by, WsPatch *patch);

/* Sums across a direction, rad, one for each px along it: `sums` has room for side + 2; and their
 * power at a frequency: (S2). */
void wsi_patch_project (const WsPatch *patch, double angle, double *sums);
double wsi_patch_power_of (const double *sums, guint n, double frequency);

/* Power at a frequency, cycles a px of the patch. */
double wsi_patch_power (const WsPatch *patch, double fx, double fy);

/* To the top of the peak there; returns its power. */
double wsi_patch_climb (const WsPatch *patch, double *fx, double *fy);

/* Frequency and direction from fx and fy, which are made to point right. */
void wsi_mark_family_set_direction (WsMarkFamily *family);

/* What the patch's quarters make of the family: how many show it, and its u. */
void wsi_patch_ask_quarters (const WsPatch *patch, WsMarkFamily *family);

G_END_DECLS

#endif
