#include "tool/drill/side/words.h"

#include "base/number.h"

#include <math.h>

/* Nobody sets a grinder finer than this. */
#define MAX_PLACES_MM 3
#define MAX_PLACES_ANGLE 1

#define MAX_PLACES_PART 2

/* Without a scale mm follow from the card's diameter. */
static gboolean
tells_mm (const WsDrillFacts *drill)
{
  return drill->in_mm || (isfinite (drill->D) && isfinite (drill->card->diameter_mm));
}

/* mm are told, or parts of the diameter, or px. */
static double
per_length (const WsDrillFacts *drill)
{
  if (drill->in_mm || !isfinite (drill->D))
    return 1.0;
  return tells_mm (drill) ? drill->card->diameter_mm / drill->D : 100.0 / drill->D;
}

static guint
places_of (const WsDrillFacts *drill, double U)
{
  return MIN (wsi_number_places (U * per_length (drill)),
              tells_mm (drill) ? MAX_PLACES_MM : MAX_PLACES_PART);
}

static const char *
unit_of (const WsDrillFacts *drill)
{
  return tells_mm (drill) ? " mm" : isfinite (drill->D) ? " % of the diameter" : " px";
}

char *
wsi_drill_say_length (const WsDrillFacts *drill, double length, double U)
{
  g_autofree char *number = wsi_number_format (length * per_length (drill), places_of (drill, U));
  return g_strconcat (number, unit_of (drill), NULL);
}

double
wsi_drill_told_length (const WsDrillFacts *drill, double length, double U)
{
  const double per = per_length (drill);
  return wsi_number_round_up (length * per, places_of (drill, U)) / per;
}

/* "0.085 ± 0.004 mm", and so on. */
static char *
say_measured_length (const WsDrillFacts *drill, double length, double U)
{
  const double per = per_length (drill);
  const guint places = wsi_number_places (U * per);
  g_autofree char *number = wsi_number_format (length * per, places);
  g_autofree char *uncertainty = wsi_number_format (U * per, places);
  return g_strdup_printf ("%s ± %s%s", number, uncertainty, unit_of (drill));
}

static char *
say_measured_angle (double angle, double U)
{
  guint places = wsi_number_places (U);
  g_autofree char *number = wsi_number_format (angle, places);
  g_autofree char *uncertainty = wsi_number_format (U, places);
  return g_strdup_printf ("%s ± %s°", number, uncertainty);
}

double
wsi_drill_told_angle (double angle)
{
  const double tenths = pow (10.0, MAX_PLACES_ANGLE);
  return round (angle * tenths) / tenths;
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
