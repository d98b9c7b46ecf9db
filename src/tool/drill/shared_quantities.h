/*
 * Quantities that several silhouettes of a drill tell, so that all say the same of them.
 */
#ifndef WS_TOOL_DRILL_SHARED_QUANTITIES_H
#define WS_TOOL_DRILL_SHARED_QUANTITIES_H

#include <whetsight/result.h>

/* What follows from the two lip lines, the axis and the envelope, in this order. */
#define WS_DRILL_LIP_QUANTITIES                                                                    \
  { "point_angle", WS_UNIT_DEGREE, "SIG", "Point angle", "Sum of the two half angles." },          \
    { "half_angle_a", WS_UNIT_DEGREE, NULL, "Half angle a",                                        \
      "Angle between lip a, the left one with the point up, and the axis." },                      \
    { "half_angle_b", WS_UNIT_DEGREE, NULL, "Half angle b",                                        \
      "Angle between lip b, the right one with the point up, and the axis." },                     \
    { "half_angle_difference", WS_UNIT_DEGREE, NULL, "Half angle a - b",                           \
      "Half angle a minus half angle b." },                                                        \
    { "lip_length_a", WS_UNIT_LENGTH, NULL, "Lip length a",                                        \
      "Along lip line a from the envelope to the apex." },                                         \
    { "lip_length_b", WS_UNIT_LENGTH, NULL, "Lip length b",                                        \
      "Along lip line b from the envelope to the apex." },                                         \
    { "lip_length_difference", WS_UNIT_LENGTH, NULL, "Lip length a - b",                           \
      "Length of lip a minus length of lip b." },                                                  \
    { "lip_height_difference", WS_UNIT_LENGTH, NULL, "Lip height a - b",                           \
      "Height along the axis of lip a minus lip b, both at the envelope radius." },                \
  {                                                                                                \
    "point_offset", WS_UNIT_LENGTH, NULL, "Point offset",                                          \
      "Distance of the apex from the axis, positive toward lip b."                                 \
  }

/* Of the flutes. */
#define WS_DRILL_FLUTE_QUANTITIES                                                                  \
  { "helix", WS_UNIT_DEGREE, "FHA", "Helix angle", "Of the flutes at the envelope." },             \
  {                                                                                                \
    "lead", WS_UNIT_LENGTH, NULL, "Lead of the flutes", "Along the axis for one turn."             \
  }

#endif
