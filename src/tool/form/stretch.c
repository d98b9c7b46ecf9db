#include "tool/form/stretch.h"

#include "base/geometry.h"

/* Stretches that one might as well have taken: parts of the piece from its start.  Own choice: who
 * reads an angle by hand leaves out what looks rounded. */
static const struct
{
  double from, to;
} stretches[] = {
  { 0, 5.0 / 6 }, { 1.0 / 6, 1 }, { 0, 2.0 / 3 }, { 1.0 / 6, 5.0 / 6 }, { 1.0 / 3, 1 }
};

/* Of the five fits to a straight line noise alone turns one by more in a tenth of all lines; what
 * it then tells is no more than the noise.  Less is no form. */
#define LEAST_TURN 2.0

double
wsi_form_stretch_u (const WsPoint *points, const WsChainPiece *piece, double u)
{
  const guint n = piece->to - piece->from;
  g_autofree guint8 *used = g_new (guint8, n + 1);
  double squares = 0, greatest = 0;
  guint fits = 0;
  for (gsize i = 0; i < G_N_ELEMENTS (stretches); i++)
  {
    const guint from = piece->from + (guint)(stretches[i].from * n),
                to = piece->from + (guint)(stretches[i].to * n);
    WsLineFit part;
    if (to - from < WS_LINE_MIN_POINTS || !wsi_line_fit (points + from, to - from, used, &part))
      continue;
    const double turn =
      asin (CLAMP (wsi_point_cross (piece->line.direction, part.direction), -1, 1));
    /* A part of the same points: Var (part - whole) = Var (part) - Var (whole), and a direction's
     * variance goes with the length to the power of -3. */
    const double share = (double)(to - from) / n;
    const double by_noise = u * sqrt (MAX (1 / (share * share * share) - 1, 0));
    greatest = MAX (greatest, fabs (turn) / MAX (by_noise, 1e-9));
    squares += MAX (turn * turn - by_noise * by_noise, 0);
    fits++;
  }
  return greatest > LEAST_TURN ? sqrt (squares / fits) : 0;
}
