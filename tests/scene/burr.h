/*
 * What stands proud of a ground lip: a wire edge, and how far it has been rolled over.
 */
#ifndef SCENE_BURR_H
#define SCENE_BURR_H

#include "solid.h"

G_BEGIN_DECLS

/* Height of the burr over the lip line, `place` in radii from the axis. */
double burr_height (const SceneBurr *burr, double radius, double place);

/* What came of one: greatest height, and its length between the outermost places of a quarter of
 * it.
 */
typedef struct
{
  double height, length;
} BurrTruth;

/* Raises it along one side of the silhouette; its greatest height. */
BurrTruth side_raise_burr (GArray *side, const LipLine *line, double radius, const SceneBurr *burr);

G_END_DECLS

#endif
