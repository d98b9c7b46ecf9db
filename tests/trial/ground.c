#include "trial/ground.h"

#include <math.h>

static double
rad (double degrees)
{
  return degrees * G_PI / 180.0;
}

static double
told (const json_t *record, const char *name)
{
  const json_t *number = json_object_get (json_object_get (record, "grinding"), name);
  return json_is_number (number) ? json_number_value (number) : 0.0;
}

static double
told_of_lip (const json_t *record, const char *lip, const char *what)
{
  g_autofree char *name = g_strdup_printf ("lip_%s_%s", lip, what);
  return told (record, name);
}

/* What is left of a notch when `off` came off square to the edge at its place. */
static SceneChip
left_of_chip (const SceneChip *chip, double off)
{
  SceneChip left = *chip;
  left.depth = MAX (chip->depth - off, 0.0);
  return left.depth > 0.0 ? left : (SceneChip){ .depth = 0.0 };
}

/* What is left of an arc that reaches `reach` down the side; told as a whole arc of what is left,
 * of which it is a part. */
static double
left_of_radius (double radius, double reach, double off)
{
  return reach > 0.0 ? radius * MAX (1.0 - off / reach, 0.0) : 0.0;
}

/* ---- Drills ------------------------------------------------------------------------- */

typedef struct
{
  double half_angle; /* after */
  double corner;     /* off the corner along the axis */
  double centre;     /* off the axis */
} Lip;

/* The wheel is set to the angle told, and fed until the corner is down by what is told, or, with
 * nothing to come off the corner, until it touches it. */
static Lip
ground_lip (const SceneDrill *drill, double half_angle, const json_t *record, const char *name)
{
  const double R = 0.5 * drill->diameter;
  const double corner = told_of_lip (record, name, "at_corner_mm");
  const double centre = told_of_lip (record, name, "at_centre_mm");
  if (!(corner > 0.0) && !(centre > 0.0))
    return (Lip){ half_angle, 0.0, 0.0 };
  const double asked = told_of_lip (record, name, "half_angle_deg");
  const double after = fabs (asked - half_angle) >= 0.05 ? asked : half_angle;
  const double gain = R * (1.0 / tan (rad (half_angle)) - 1.0 / tan (rad (after)));
  /* No metal comes on where the told angle is rounded. */
  const double deeper = MAX (-MIN (corner, corner + gain), 0.0);
  return (Lip){ after, corner + deeper, corner + gain + deeper };
}

static double
off_at (const Lip *lip, double place)
{
  return (lip->centre + place * (lip->corner - lip->centre)) * sin (rad (lip->half_angle));
}

static double
reach_of (double radius, double half_angle)
{
  return radius * tan (0.5 * rad (half_angle));
}

SceneDrill
trial_ground_drill (const SceneDrill *drill, const SceneTruth *truth, const json_t *record)
{
  SceneDrill after = *drill;
  const Lip a = ground_lip (drill, truth->half_angle_a_deg, record, "a");
  const Lip b = ground_lip (drill, truth->half_angle_b_deg, record, "b");
  after.half_angle_a = a.half_angle;
  after.half_angle_b = b.half_angle;
  after.offset = 0.0;
  after.height = truth->lip_height_difference_mm - a.corner + b.corner;
  after.chip_a = left_of_chip (&drill->chip_a, off_at (&a, drill->chip_a.place));
  after.chip_b = left_of_chip (&drill->chip_b, off_at (&b, drill->chip_b.place));
  after.corner_a =
    left_of_radius (drill->corner_a, reach_of (drill->corner_a, truth->half_angle_a_deg), a.corner);
  after.corner_b =
    left_of_radius (drill->corner_b, reach_of (drill->corner_b, truth->half_angle_b_deg), b.corner);
  return after;
}

/* ---- Blades ------------------------------------------------------------------------- */

/* A side falls back by its clearance, so the corner is sharper by it. */
static double
reach_at_corner (double radius, double rake_deg, double clearance_deg)
{
  return radius / tan (0.5 * rad (90.0 - rake_deg - clearance_deg));
}

SceneBladePlan
trial_ground_plan (const SceneBladePlan *blade, const SceneBladePlanTruth *truth,
                   const json_t *record)
{
  const gboolean right_leads = blade->rake_deg >= 0.0;
  const double leading = told (record, "front_at_leading_corner_mm");
  const double lagging = told (record, "front_at_lagging_corner_mm");
  const double left = right_leads ? lagging : leading, right = right_leads ? leading : lagging;
  const double W = blade->width, rake = blade->rake_deg;
  SceneBladePlan after = *blade;
  /* Positive where the right corner leads. */
  const double slope = tan (rad (rake)) + (left - right) / W;
  after.rake_deg = atan (slope) * 180.0 / G_PI;
  after.width = W - left * tan (rad (truth->side_clearance_left_deg)) -
                right * tan (rad (truth->side_clearance_right_deg));
  const double at_chip = left + blade->chip.place * (right - left);
  after.chip = left_of_chip (&blade->chip, at_chip * cos (rad (rake)));
  after.radius_left = left_of_radius (
    blade->radius_left, reach_at_corner (blade->radius_left, -rake, blade->clearance_left), left);
  after.radius_right =
    left_of_radius (blade->radius_right,
                    reach_at_corner (blade->radius_right, rake, blade->clearance_right), right);
  return after;
}

SceneBladeSide
trial_ground_side (const SceneBladeSide *blade, const json_t *record)
{
  const double foot = told (record, "front_at_foot_mm"), edge = told (record, "front_at_edge_mm");
  SceneBladeSide after = *blade;
  after.relief_deg =
    atan (tan (rad (blade->relief_deg)) + (foot - edge) / blade->height) * 180.0 / G_PI;
  after.height = blade->height - edge * tan (rad (blade->top_rake_deg));
  return after;
}
