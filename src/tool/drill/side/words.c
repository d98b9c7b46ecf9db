#include "tool/drill/side/words.h"

#include "base/number.h"

#include <math.h>

/* Nobody sets a grinder finer than this. */
#define MAX_PLACES_MM 3
#define MAX_PLACES_ANGLE 1

char *
wsi_drill_say_length (const WsDrillFacts *drill, double length, double U)
{
  if (drill->in_mm)
  {
    g_autofree char *mm = wsi_number_format (length, MIN (wsi_number_places (U), MAX_PLACES_MM));
    return g_strconcat (mm, " mm", NULL);
  }
  double scale = isfinite (drill->D) ? 100.0 / drill->D : 1.0;
  g_autofree char *part =
    wsi_number_format (length * scale, MIN (wsi_number_places (U * scale), 2));
  return g_strconcat (part, isfinite (drill->D) ? " % of the diameter" : " px", NULL);
}

/* "0.085 ± 0.004 mm", and so on. */
static char *
say_measured_length (const WsDrillFacts *drill, double length, double U)
{
  double scale = drill->in_mm || !isfinite (drill->D) ? 1.0 : 100.0 / drill->D;
  const char *unit = drill->in_mm ? "mm" : isfinite (drill->D) ? "% of the diameter" : "px";
  guint places = wsi_number_places (U * scale);
  g_autofree char *number = wsi_number_format (length * scale, places);
  g_autofree char *uncertainty = wsi_number_format (U * scale, places);
  return g_strdup_printf ("%s ± %s %s", number, uncertainty, unit);
}

static char *
say_measured_angle (double angle, double U)
{
  guint places = wsi_number_places (U);
  g_autofree char *number = wsi_number_format (angle, places);
  g_autofree char *uncertainty = wsi_number_format (U, places);
  return g_strdup_printf ("%s ± %s°", number, uncertainty);
}

char *
wsi_drill_say_angle (double angle)
{
  g_autofree char *number = wsi_number_format (angle, MAX_PLACES_ANGLE);
  return g_strconcat (number, "°", NULL);
}

char *
wsi_drill_say_measured (const WsDrillFacts *drill, const WsQuantity *quantity)
{
  return quantity->info->unit == WS_UNIT_DEGREE
           ? say_measured_angle (fabs (quantity->value), quantity->U)
           : say_measured_length (drill, fabs (quantity->value), quantity->U);
}
