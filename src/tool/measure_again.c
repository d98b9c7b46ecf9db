#include "tool/measure_again.h"

#include <math.h>
#include <string.h>

#include <whetsight/judge.h>

#include "base/number.h"
#include "tool/advise.h"

typedef enum
{
  CURE_PICTURE,
  CURE_BLUR,
  CURE_TONE,
  CURE_SCALE,
  CURE_LENS,
  CURE_CALIBRATION,
  CURE_PLANE,
  CURE_TURN,
  CURE_WEB,
  CURE_LEAN,
  CURE_PIXELS,
  CURE_SHAPE,
  CURE_END_AXIS,
  CURE_TILT,
  CURE_FEED,
  CURE_FIXTURE,
  CURE_BASE,
  CURE_SQUARE,
  CURE_LIGHT,
  CURE_CARD_RAKE,
  CURE_SIZE,
  CURE_BURR,
  N_CURES
} Cure;

static const char *const words[N_CURES] = {
  [CURE_PICTURE] = "the edge larger and sharper in the picture, from nearer by",
  [CURE_BLUR] = "a sharper picture",
  [CURE_TONE] = "a picture as the sensor gave it, without tone curve or sharpening",
  [CURE_SCALE] = "the scale known better (--scale-u, or a calibration)",
  [CURE_LENS] = "the lens calibrated (--calib), or a better one (--lens-distortion)",
  [CURE_CALIBRATION] = "a better calibration, from more pictures",
  [CURE_PLANE] = "the tool laid in the plane that was calibrated",
  [CURE_TURN] = "the lips square to the camera (roll the drill, or use a fixture)",
  [CURE_WEB] = "the web's thickness on the card (web_mm), or the lips square to the camera",
  [CURE_LEAN] =
    "more of the body in the picture, or a fixture that is known to hold it level (--lean-max)",
  [CURE_PIXELS] = "a picture that is neither resized nor skewed",
  [CURE_SHAPE] =
    "a picture as the camera took it, PNG or TIFF without compression (or a calibrated camera)",
  [CURE_END_AXIS] = "the camera in line with the drill's axis, from farther off",
  [CURE_TILT] = "the blade lying flat, square to the camera's view",
  [CURE_FEED] = "the side that the holder guides on the card (reference_side)",
  [CURE_FIXTURE] = "the body's direction measured in the fixture (--fixture-direction)",
  [CURE_BASE] = "the base in the picture",
  [CURE_SQUARE] = "the flank square to the camera's view",
  [CURE_LIGHT] = "softer and more even light",
  [CURE_CARD_RAKE] = "the side rake measured from above and put on the card (side_rake_deg)",
  [CURE_SIZE] = "the tool's own size measured more exactly",
  [CURE_BURR] = "the edge clean and its wire edge honed off lightly",
};

/* Lines by how their names begin; the first that fits.  All others are cured by a better picture.
 */
static const struct
{
  const char *line;
  Cure cure;
} lines[] = {
  { "scale", CURE_SCALE },
  { "unknown lens", CURE_LENS },
  { "lens distortion left over", CURE_CALIBRATION },
  { "distortion left over", CURE_CALIBRATION },
  { "calibration", CURE_CALIBRATION },
  { "alignment: axis off the calibrated plane", CURE_PLANE },
  { "alignment: blade off the calibrated plane", CURE_PLANE },
  { "alignment: lips turned", CURE_WEB },
  { "web and flank unknown", CURE_WEB },
  { "model of flank and margin", CURE_TURN },
  { "alignment: axis leaning", CURE_LEAN },
  { "skew of the picture", CURE_PIXELS },
  { "pixel aspect", CURE_PIXELS },
  { "alignment: picture squeezed or skewed", CURE_SHAPE },
  { "alignment: camera off the axis", CURE_END_AXIS },
  { "perspective", CURE_END_AXIS },
  { "alignment: view not square to the margin", CURE_TURN },
  { "alignment: blade tilted", CURE_TILT },
  { "alignment: plate leaning", CURE_TILT },
  { "alignment: feed", CURE_FEED },
  { "alignment: fixture's direction", CURE_FIXTURE },
  { "alignment: reference side against the body", CURE_FIXTURE },
  { "alignment: unground top", CURE_BASE },
  { "alignment: flank foreshortened", CURE_SQUARE },
  { "corner rounded by blur", CURE_BLUR },
  { "notch rounded by blur", CURE_BLUR },
  { "rounding by blur", CURE_BLUR },
  { "form softened by blur", CURE_BLUR },
  { "smallest notch seen", CURE_BLUR },
  { "narrowest land seen", CURE_BLUR },
  { "tonal encoding", CURE_TONE },
  { "light along the edge", CURE_LIGHT },
  { "where the colour fades out", CURE_LIGHT },
  { "smallest colour seen", CURE_LIGHT },
  { "uneven border", CURE_LIGHT },
  { "where the land ends", CURE_LIGHT },
  { "side rake by the tool card", CURE_CARD_RAKE },
  { "given size", CURE_SIZE },
  { "hidden by what stands proud", CURE_BURR },
  { "corner that is no arc", CURE_BURR },
};

/* A cure that takes less than this part off U isn't worth the trouble. */
#define WORTH_PART 0.05
#define MOST_CURES 3

static Cure
cure_of (const WsToolCard *card, const char *line)
{
  for (gsize i = 0; i < G_N_ELEMENTS (lines); i++)
    if (g_str_has_prefix (line, lines[i].line))
      return lines[i].cure == CURE_WEB && isfinite (card->web_mm) ? CURE_TURN : lines[i].cure;
  return CURE_PICTURE;
}

/* ---- What each would bring ------------------------------------------------------------- */

/* Sum of squared contributions by cure. */
static double
sums_of (const WsToolCard *card, const WsQuantity *quantity, double sums[N_CURES])
{
  double all = 0.0;
  for (guint i = 0; i < quantity->budget->len; i++)
  {
    const WsBudgetLine *line = &g_array_index (quantity->budget, WsBudgetLine, i);
    const double contribution = ws_budget_line_contribution (line);
    sums[cure_of (card, line->name)] += contribution * contribution;
    all += contribution * contribution;
  }
  return all;
}

static gboolean
would_tell (const WsQuantity *quantity, double U)
{
  return ws_verdict_for (quantity->value, U, quantity->lower, quantity->upper) !=
         WS_VERDICT_UNDECIDED;
}

static void
append_cure (GString *text, const WsQuantity *quantity, Cure cure, double U)
{
  const guint places = wsi_number_places (MAX (U, 0.01 * quantity->U));
  g_autofree char *before = wsi_number_format (quantity->U, wsi_number_places (quantity->U));
  g_autofree char *after = wsi_number_format (U, places);
  if (text->len == 0)
    g_string_append_printf (text, "with %s, U falls from %s to at best %s", words[cure], before,
                            after);
  else
    g_string_append_printf (text, "; with %s, to %s", words[cure], after);
  if (would_tell (quantity, U))
    g_string_append (text, ", enough to tell");
}

char *
wsi_measuring_cures (const WsToolCard *card, const WsQuantity *quantity)
{
  double sums[N_CURES] = { 0.0 };
  const double all = sums_of (card, quantity, sums);
  GString *text = g_string_new (NULL);
  for (guint n = 0; n < MOST_CURES; n++)
  {
    Cure best = CURE_PICTURE;
    for (Cure cure = 0; cure < N_CURES; cure++)
      if (sums[cure] > sums[best])
        best = cure;
    const double U = quantity->k * sqrt (MAX (all - sums[best], 0.0));
    if (sums[best] <= 0.0 || (n > 0 && U > (1.0 - WORTH_PART) * quantity->U))
      break;
    append_cure (text, quantity, best, U);
    sums[best] = 0.0;
  }
  return g_string_free (text, FALSE);
}

/* ---- Advice ------------------------------------------------------------------------------ */

/* Form tools have dozens of quantities: the rest is told by its number. */
#define MOST_TOLD 4

/* "118.02 ± 0.06°". */
static char *
say_measured (const WsQuantity *quantity)
{
  static const char *const units[] = {
    [WS_UNIT_DEGREE] = "°", [WS_UNIT_LENGTH] = " mm", [WS_UNIT_SHARE] = ""
  };
  const gboolean in_px = g_str_has_suffix (quantity->name, "_px");
  const guint places = wsi_number_places (quantity->U);
  g_autofree char *value = wsi_number_format (quantity->value, places);
  g_autofree char *U = wsi_number_format (quantity->U, places);
  return g_strdup_printf ("%s ± %s%s", value, U, in_px ? " px" : units[quantity->info->unit]);
}

static char *
say_undecided (const WsToolCard *card, const WsQuantity *quantity, WsSayUnseen say_unseen)
{
  char *own = quantity->known || say_unseen == NULL ? NULL : say_unseen (quantity);
  if (own != NULL)
    return own;
  const char *label = quantity->info->label;
  /* A limit in mm, of the card; one in parts of the diameter holds in px, too. */
  if (g_str_has_suffix (quantity->name, "_px") && !isfinite (quantity->lower) &&
      !isfinite (quantity->upper))
    return g_strdup_printf ("%s: the tool card sets a limit that this picture can't check. Measure "
                            "again with a known scale.",
                            label);
  if (!quantity->known)
    return g_strdup_printf ("%s: the tool card sets a limit that this picture can't check. Measure "
                            "again so that it shows.",
                            label);
  g_autofree char *value = say_measured (quantity);
  g_autofree char *cures = wsi_measuring_cures (card, quantity);
  if (*cures == '\0')
    return g_strdup_printf ("%s: %s is too near a limit to tell with this picture.", label, value);
  return g_strdup_printf (
    "%s: %s is too near a limit to tell with this picture. Measure again: %s.", label, value,
    cures);
}

void
wsi_advise_measuring_again (const WsToolCard *card, WsResult *result, WsSayUnseen say_unseen)
{
  guint n = 0;
  for (guint i = 0; i < result->quantities->len; i++)
  {
    const WsQuantity *quantity = g_ptr_array_index (result->quantities, i);
    if (quantity->verdict != WS_VERDICT_UNDECIDED || ws_verdict_is_withheld (quantity) ||
        n++ >= MOST_TOLD)
      continue;
    wsi_advise (result, WS_WORK_NONE, say_undecided (card, quantity, say_unseen));
  }
  if (n > MOST_TOLD)
    wsi_advise (result, WS_WORK_NONE,
                g_strdup_printf ("%u more quantities can't be told either; the record's budgets "
                                 "say why.",
                                 n - MOST_TOLD));
}
