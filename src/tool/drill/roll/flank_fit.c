#include "tool/drill/roll/flank_fit.h"

#include <string.h>

#include "maths/robust.h"
#include "maths/solve.h"
#include "maths/stats.h"

const double wsi_flank_usual[WS_FLANK_N] = { 0.15, 0, 0, 0.25, 0, 0, 0, 0, 0 };
static const double spread[WS_FLANK_N] = { 0.2, 0.2, 0.2, 0.25, 0.15, 0.1, 0.1, 0.05, 0.05 };

/* What of a flank can be told from its rim, its lip and the other flank, and how far behind the lip
 * the terms hold, in radii. */
#define RIM 0.94
#define AT_LIP 0.02
#define FARTHEST 0.5
#define AT_CHISEL 0.004

/* A scale that starts wide narrows by this in every round. */
#define NARROWER 0.6

#define LEAST_SIGMA_PX 0.02

/* So many neighbouring points tell what one does. */
#define SHARED 5.0

/* Of a frame's turn, rad. */
#define TURN_U 0.0007

/* ---- Points -------------------------------------------------------------------------------- */

/* Whether the other flank has cut away what of this one would be seen there. */
static gboolean
is_cut (const WsFlankForm *form, guint k, const WsFlankContact *contact)
{
  return contact->x < 0.4 && wsi_flank_height (form, 1 - k, -contact->x, -contact->y) <
                               wsi_flank_height (form, k, contact->x, contact->y) + AT_CHISEL;
}

void
wsi_flank_fit_touch (WsFlankFit *fit)
{
  const GArray *points = fit->take.points;
  g_array_set_size (fit->touched, points->len);
  for (guint i = 0; i < points->len; i++)
  {
    const WsLipSample *s = &g_array_index (points, WsLipSample, i);
    const WsLipSeen *seen = &g_array_index (fit->take.seen, WsLipSeen, s->frame);
    const double side = (double)s->lip == seen->right ? 1 : -1;
    const double lean = side * (fit->take.x[WS_LIP_LEAN] + seen->lean);
    const WsFlankContact contact = wsi_flank_contact (&fit->form, s->lip, seen, lean, s->at.x);
    const gboolean on_flank = contact.behind > AT_LIP;
    WsFlankTouch *touch = wsi_flank_touch (fit, i);
    touch->contact = contact;
    touch->rest = s->at.y - contact.z;
    touch->on_flank = on_flank;
    touch->counts = contact.found && contact.behind < FARTHEST &&
                    hypot (contact.x, contact.y) < RIM && (on_flank || contact.x > WS_LIP_FROM) &&
                    !is_cut (&fit->form, s->lip, &contact);
  }
}

/* What a frame's slide makes of its rests: their weighted mean, as far as slides go. */
static double
slide_of (const WsFlankFit *fit, guint from, guint to)
{
  double sum = 0, weights = 1e-12;
  for (guint i = from; i < to; i++)
  {
    const WsFlankTouch *touch = wsi_flank_touch (fit, i);
    sum += touch->weight * touch->rest;
    weights += touch->weight;
  }
  const double known = fit->sigma * fit->sigma / (fit->slide * fit->slide);
  return sum / (weights + known);
}

static void
weigh (WsFlankFit *fit)
{
  const guint n = fit->touched->len;
  g_autofree double *off = g_new (double, MAX (n, 1));
  guint used = 0;
  for (guint i = 0; i < n; i++)
    wsi_flank_touch (fit, i)->weight = wsi_flank_touch (fit, i)->counts ? 1 : 0;
  for (guint round = 0; round < 3; round++)
  {
    used = 0;
    for (guint from = 0, to; from < n; from = to)
    {
      to = wsi_flank_fit_next_frame (fit, from);
      const double slide = slide_of (fit, from, to);
      for (guint i = from; i < to; i++)
        if (wsi_flank_touch (fit, i)->counts)
          off[used++] = fabs (wsi_flank_touch (fit, i)->rest - slide);
    }
    fit->sigma = MAX (wsi_absolute_sigma (off, used),
                      MAX (fit->wide, LEAST_SIGMA_PX / fit->take.roll->radius));
    for (guint from = 0, to; from < n; from = to)
    {
      to = wsi_flank_fit_next_frame (fit, from);
      const double slide = slide_of (fit, from, to);
      for (guint i = from; i < to; i++)
      {
        WsFlankTouch *touch = wsi_flank_touch (fit, i);
        touch->weight = touch->counts
                          ? wsi_tukey_weight ((touch->rest - slide) / (WS_TUKEY_REACH * fit->sigma))
                          : 0;
      }
    }
  }
}

/* ---- Fitting ------------------------------------------------------------------------------- */

/* Weighted squares, slides and what is known beforehand among them. */
static double
cost_of (const WsFlankFit *fit)
{
  const double s2 = fit->sigma * fit->sigma;
  double cost = 0;
  for (guint from = 0, to; from < fit->touched->len; from = to)
  {
    to = wsi_flank_fit_next_frame (fit, from);
    const double slide = slide_of (fit, from, to);
    for (guint i = from; i < to; i++)
    {
      const double off = wsi_flank_touch (fit, i)->rest - slide;
      cost += wsi_flank_touch (fit, i)->weight * off * off;
    }
    cost += slide * slide * s2 / (fit->slide * fit->slide);
  }
  for (guint j = 0; j < WS_FLANK_N_UNKNOWNS; j++)
  {
    const double d =
      (fit->form.fall[j / WS_FLANK_N][j % WS_FLANK_N] - wsi_flank_usual[j % WS_FLANK_N]) /
      spread[j % WS_FLANK_N];
    cost += s2 * d * d;
  }
  return cost;
}

/* Adds the points of a frame to its equations. */
static void
add_frame (WsFlankFit *fit, guint from, guint to, double *A, double *b)
{
  double mean[WS_FLANK_N_UNKNOWNS] = { 0 }, rest = 0;
  double weights = fit->sigma * fit->sigma / (fit->slide * fit->slide);
  for (guint i = from; i < to; i++)
  {
    const WsFlankTouch *touch = wsi_flank_touch (fit, i);
    const guint k = g_array_index (fit->take.points, WsLipSample, i).lip;
    double row[WS_FLANK_N] = { 0 };
    if (touch->on_flank)
      wsi_flank_terms (&fit->form, k, touch->contact.x, touch->contact.y, row);
    weights += touch->weight;
    rest += touch->weight * touch->rest;
    for (guint j = 0; j < WS_FLANK_N; j++)
    {
      /* The outline stays a maximum as the form changes, so only the height there counts. */
      row[j] = -row[j];
      mean[k * WS_FLANK_N + j] += touch->weight * row[j];
      b[k * WS_FLANK_N + j] += touch->weight * row[j] * touch->rest;
      for (guint l = 0; l < WS_FLANK_N; l++)
        A[(k * WS_FLANK_N + j) * WS_FLANK_N_UNKNOWNS + k * WS_FLANK_N + l] +=
          touch->weight * row[j] * row[l];
    }
  }
  for (guint j = 0; j < WS_FLANK_N_UNKNOWNS; j++)
  {
    b[j] -= mean[j] * rest / weights;
    for (guint l = 0; l < WS_FLANK_N_UNKNOWNS; l++)
      A[j * WS_FLANK_N_UNKNOWNS + l] -= mean[j] * mean[l] / weights;
  }
}

/* Of a term; those that aren't free are known. */
static double
prior_weight (const WsFlankFit *fit, guint term)
{
  const double u = term < fit->n_terms ? spread[term] : 1e-6;
  return fit->sigma * fit->sigma / (u * u);
}

static void
make_equations (WsFlankFit *fit)
{
  memset (fit->whole, 0, sizeof fit->whole);
  memset (fit->wb, 0, sizeof fit->wb);
  for (guint from = 0, to; from < fit->touched->len; from = to)
  {
    to = wsi_flank_fit_next_frame (fit, from);
    add_frame (fit, from, to, fit->whole, fit->wb);
  }
  for (guint j = 0; j < WS_FLANK_N_UNKNOWNS; j++)
  {
    const double known = prior_weight (fit, j % WS_FLANK_N);
    fit->whole[j * WS_FLANK_N_UNKNOWNS + j] += known;
    fit->wb[j] +=
      known * (wsi_flank_usual[j % WS_FLANK_N] - fit->form.fall[j / WS_FLANK_N][j % WS_FLANK_N]);
  }
}

/* The step that the equations call for. */
static gboolean
solve (const WsFlankFit *fit, double *by)
{
  double A[WS_FLANK_N_UNKNOWNS * WS_FLANK_N_UNKNOWNS];
  memcpy (A, fit->whole, sizeof A);
  if (!wsi_invert_spd (A, WS_FLANK_N_UNKNOWNS))
    return FALSE;
  for (guint j = 0; j < WS_FLANK_N_UNKNOWNS; j++)
  {
    by[j] = 0;
    for (guint k = 0; k < WS_FLANK_N_UNKNOWNS; k++)
      by[j] += A[j * WS_FLANK_N_UNKNOWNS + k] * fit->wb[k];
  }
  return TRUE;
}

static void
move (WsFlankForm *form, const double *by, double part)
{
  for (guint j = 0; j < WS_FLANK_N_UNKNOWNS; j++)
    form->fall[j / WS_FLANK_N][j % WS_FLANK_N] += part * by[j];
}

gboolean
wsi_flank_fit_run (WsFlankFit *fit, guint rounds, double wide)
{
  wsi_flank_fit_touch (fit);
  for (guint round = 0; round < rounds; round++)
  {
    double by[WS_FLANK_N_UNKNOWNS], part = 1;
    fit->wide = wide * pow (NARROWER, round);
    weigh (fit);
    make_equations (fit);
    const double was = cost_of (fit);
    if (!solve (fit, by))
      return FALSE;
    move (&fit->form, by, part);
    wsi_flank_fit_touch (fit);
    while (part > 0.1 && !(cost_of (fit) <= was))
    {
      part *= 0.5;
      move (&fit->form, by, -part);
      wsi_flank_fit_touch (fit);
    }
  }
  fit->wide = 0;
  weigh (fit);
  make_equations (fit);
  return TRUE;
}

guint
wsi_flank_fit_next_frame (const WsFlankFit *fit, guint from)
{
  const GArray *points = fit->take.points;
  guint to = from;
  while (to < points->len && g_array_index (points, WsLipSample, to).frame ==
                               g_array_index (points, WsLipSample, from).frame)
    to++;
  return to;
}

gboolean
wsi_flank_fit_is_likely (const WsFlankFit *fit, double spreads)
{
  for (guint k = 0; k < 2; k++)
    for (guint j = WS_FLANK_FIRST_BENT; j < WS_FLANK_N; j++)
      if (fabs (fit->form.fall[k][j] - wsi_flank_usual[j]) > spreads * spread[j])
        return FALSE;
  return TRUE;
}

/* ---- Uncertainty ----------------------------------------------------------------------------- */

/* How fast a point's height changes as the drill turns. */
static double
change_by_turn (const WsFlankFit *fit, guint i)
{
  const WsLipSample *s = &g_array_index (fit->take.points, WsLipSample, i);
  WsLipSeen seen = g_array_index (fit->take.seen, WsLipSeen, s->frame);
  const double side = (double)s->lip == seen.right ? 1 : -1;
  const double lean = side * (fit->take.x[WS_LIP_LEAN] + seen.lean), by = 1e-4;
  seen.c = cos (seen.turn + by);
  seen.s = sin (seen.turn + by);
  return (wsi_flank_contact (&fit->form, s->lip, &seen, lean, s->at.x).z -
          wsi_flank_touch (fit, i)->contact.z) /
         by;
}

/* What a frame's turn, wrong by 1, adds to the right-hand sides. */
static void
add_turn (const WsFlankFit *fit, guint from, guint to, double b[WS_FLANK_N_UNKNOWNS])
{
  double mean[WS_FLANK_N_UNKNOWNS] = { 0 }, sum = 0;
  double weights = fit->sigma * fit->sigma / (fit->slide * fit->slide);
  for (guint j = 0; j < WS_FLANK_N_UNKNOWNS; j++)
    b[j] = 0;
  for (guint i = from; i < to; i++)
  {
    const WsFlankTouch *touch = wsi_flank_touch (fit, i);
    const guint k = g_array_index (fit->take.points, WsLipSample, i).lip;
    const double change = touch->weight > 0 ? change_by_turn (fit, i) : 0;
    double row[WS_FLANK_N] = { 0 };
    if (touch->on_flank)
      wsi_flank_terms (&fit->form, k, touch->contact.x, touch->contact.y, row);
    weights += touch->weight;
    sum += touch->weight * change;
    for (guint j = 0; j < WS_FLANK_N; j++)
    {
      mean[k * WS_FLANK_N + j] -= touch->weight * row[j];
      b[k * WS_FLANK_N + j] -= touch->weight * row[j] * change;
    }
  }
  for (guint j = 0; j < WS_FLANK_N_UNKNOWNS; j++)
    b[j] -= mean[j] * sum / weights;
}

gboolean
wsi_flank_fit_covariance (const WsFlankFit *fit,
                          double C[WS_FLANK_N_UNKNOWNS * WS_FLANK_N_UNKNOWNS])
{
  const double s2 = fit->sigma * fit->sigma;
  double M[WS_FLANK_N_UNKNOWNS * WS_FLANK_N_UNKNOWNS];
  memcpy (C, fit->whole, sizeof M);
  memcpy (M, fit->whole, sizeof M);
  for (guint j = 0; j < WS_FLANK_N_UNKNOWNS * WS_FLANK_N_UNKNOWNS; j++)
    C[j] /= SHARED;
  for (guint j = 0; j < WS_FLANK_N_UNKNOWNS; j++)
    C[j * WS_FLANK_N_UNKNOWNS + j] += (1 - 1 / SHARED) * prior_weight (fit, j % WS_FLANK_N);
  if (!wsi_invert_spd (C, WS_FLANK_N_UNKNOWNS) || !wsi_invert_spd (M, WS_FLANK_N_UNKNOWNS))
    return FALSE;
  for (guint j = 0; j < WS_FLANK_N_UNKNOWNS * WS_FLANK_N_UNKNOWNS; j++)
    C[j] *= s2;
  for (guint from = 0, to; from < fit->touched->len; from = to)
  {
    double b[WS_FLANK_N_UNKNOWNS], by[WS_FLANK_N_UNKNOWNS] = { 0 };
    to = wsi_flank_fit_next_frame (fit, from);
    add_turn (fit, from, to, b);
    for (guint j = 0; j < WS_FLANK_N_UNKNOWNS; j++)
      for (guint k = 0; k < WS_FLANK_N_UNKNOWNS; k++)
        by[j] += M[j * WS_FLANK_N_UNKNOWNS + k] * b[k] * TURN_U;
    for (guint j = 0; j < WS_FLANK_N_UNKNOWNS; j++)
      for (guint k = 0; k < WS_FLANK_N_UNKNOWNS; k++)
        C[j * WS_FLANK_N_UNKNOWNS + k] += by[j] * by[k];
  }
  return TRUE;
}
