/*
 * Light that falls unevenly on a plain ground: a quadratic of the place.
 */
#ifndef WS_EDGE_FIND_FIELD_H
#define WS_EDGE_FIND_FIELD_H

#include "maths/least_squares.h"

G_BEGIN_DECLS

#define WS_FIELD_TERMS 6

typedef struct
{
  double c[WS_FIELD_TERMS]; /* 1, u, v, u^2, uv, v^2; u = x / width, v = y / height */
} WsField;

static inline WsField
wsi_field_even (double level)
{
  return (WsField){ { level, 0, 0, 0, 0, 0 } };
}

static inline double
wsi_field_at (const WsField *field, double u, double v)
{
  const double *c = field->c;
  return c[0] + v * (c[2] + v * c[5]) + u * (c[1] + v * c[4] + u * c[3]);
}

/* The quadratic of u along a row. */
typedef struct
{
  double flat, slope, bend;
} WsFieldRow;

static inline WsFieldRow
wsi_field_row (const WsField *field, double v)
{
  const double *c = field->c;
  return (WsFieldRow){ c[0] + v * (c[2] + v * c[5]), c[1] + v * c[4], c[3] };
}

/* Least squares through cells of the ground. */
typedef struct
{
  guint width, height; /* cells */
  guint n;             /* cells taken */
  WsLeastSquares sums;
} WsFieldFit;

void wsi_field_fit_init (WsFieldFit *fit, guint width, guint height);
void wsi_field_fit_add (WsFieldFit *fit, guint x, guint y, double level);

/*
 * `ridge` holds terms that the cells don't tell near 0, where all may lie along one side of the
 * picture: it is as good as so many cells for each cell taken.  FALSE, and `field` as it was, when
 * the cells are too few or don't tell the terms.
 */
gboolean wsi_field_fit_solve (const WsFieldFit *fit, double ridge, WsField *field);

G_END_DECLS

#endif
