#include <math.h>
#include <whetsight/judge.h>

#include "maths/stats.h"
#include "result/build.h"

/* Decimal inputs such as 116 + 0.3 are rounded to binary; a value exactly one U from a
 * limit must not be decided by that.  Twelve digits are far beyond any measurement here. */
#define ROUNDING 1e-12

static gboolean
at_least (double x, double bound)
{
  return x >= bound - ROUNDING * fmax (fabs (x), fabs (bound));
}

WsVerdict
ws_verdict_for (double value, double U, double lower, double upper)
{
  gboolean has_lower = isfinite (lower);
  gboolean has_upper = isfinite (upper);

  if (!has_lower && !has_upper)
    return WS_VERDICT_NONE;
  if (!isfinite (value) || !isfinite (U) || U < 0.0)
    return WS_VERDICT_UNDECIDED;
  if ((!has_lower || at_least (value - U, lower)) && (!has_upper || at_least (upper, value + U)))
    return WS_VERDICT_ACCEPT;
  if ((has_lower && at_least (lower, value + U)) || (has_upper && at_least (value - U, upper)))
    return WS_VERDICT_REJECT;
  return WS_VERDICT_UNDECIDED;
}

/* Share of the distribution below a limit; a step when there is no uncertainty. */
static double
share_below (double limit, double value, double u)
{
  if (u > 0.0)
    return wsi_normal_cdf ((limit - value) / u);
  return at_least (value, limit) ? 0.0 : 1.0;
}

/* Each side by its own small tail, so that neither drowns in the other's rounding. */
double
ws_conformance_probability (double value, double u, double lower, double upper)
{
  if ((!isfinite (lower) && !isfinite (upper)) || !isfinite (value) || !isfinite (u) || u < 0.0)
    return NAN;
  const double above = isfinite (upper) ? share_below (-upper, -value, u) : 0.0;
  const double below = isfinite (lower) ? share_below (lower, value, u) : 0.0;
  return fmax (1.0 - above - below, 0.0);
}

WsVerdict
ws_verdict_worse (WsVerdict a, WsVerdict b)
{
  return MAX (a, b);
}

/* A limit the card sets on something that couldn't be had (no scale, not seen) has a
 * source but no verdict to follow from numbers: nobody can say that it was met. */
static WsVerdict
verdict_of (const WsQuantity *quantity)
{
  WsVerdict verdict = WS_VERDICT_NONE;
  if (quantity->known)
    verdict = ws_verdict_for (quantity->value, quantity->U, quantity->lower, quantity->upper);
  if (verdict == WS_VERDICT_NONE && quantity->limit_source != NULL)
    return WS_VERDICT_UNDECIDED;
  return verdict;
}

/* What is left of a verdict that came from numbers. */
static WsVerdict
held (WsVerdict verdict, gboolean accept, gboolean reject)
{
  const gboolean holds =
    (accept && verdict == WS_VERDICT_ACCEPT) || (reject && verdict == WS_VERDICT_REJECT);
  return holds ? WS_VERDICT_UNDECIDED : verdict;
}

void
ws_verdicts_apply (WsResult *result)
{
  if (result->reason != WS_RETAKE_NONE)
  {
    result->verdict = WS_VERDICT_RETAKE;
    return;
  }
  result->verdict = result->hold != WS_HOLD_NONE ? WS_VERDICT_UNDECIDED : WS_VERDICT_NONE;
  for (guint i = 0; i < result->quantities->len; i++)
  {
    WsQuantity *quantity = g_ptr_array_index (result->quantities, i);
    quantity->verdict =
      held (verdict_of (quantity), result->hold >= WS_HOLD_ACCEPT, result->hold >= WS_HOLD_VERDICT);
    result->verdict = ws_verdict_worse (result->verdict, quantity->verdict);
  }
  if (result->rejected != NULL && result->hold < WS_HOLD_VERDICT)
    result->verdict = ws_verdict_worse (result->verdict, WS_VERDICT_REJECT);
}

gboolean
ws_verdict_is_withheld (const WsQuantity *quantity)
{
  return quantity->verdict == WS_VERDICT_UNDECIDED && verdict_of (quantity) != WS_VERDICT_UNDECIDED;
}
