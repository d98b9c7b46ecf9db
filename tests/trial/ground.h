/*
 * What a grinder makes of a scene's tool who does as a record's `grinding` says, exactly.  What
 * damage is left is drawn no smaller than it would be.
 */
#ifndef TRIAL_GROUND_H
#define TRIAL_GROUND_H

#include <jansson.h>

#include "scene/blade.h"

/* `truth` is that of the drill before. */
SceneDrill trial_ground_drill (const SceneDrill *drill, const SceneTruth *truth,
                               const json_t *record);

SceneBladePlan trial_ground_plan (const SceneBladePlan *blade, const SceneBladePlanTruth *truth,
                                  const json_t *record);

SceneBladeSide trial_ground_side (const SceneBladeSide *blade, const json_t *record);

#endif
