/*
 * One side of a drill's silhouette, from the point down as if lip b's, and what is wrong with it.
 */
#ifndef SCENE_SIDE_H
#define SCENE_SIDE_H

#include "solid.h"

G_BEGIN_DECLS

/* Breaks a chip out; returns its depth below the lip line. */
double side_break_chip (GArray *side, const LipLine *line, double radius, const SceneChip *chip);

/* Rounds the corner with an arc that touches the lip line and the envelope. */
void side_round_corner (GArray *side, const LipLine *line, double radius, double rho);

/* Adds points so that none are further apart than `step`, in the part above `bottom`. */
void side_densify (GArray *side, double bottom, double step);

double side_distance (const GArray *side, ScenePoint c);

G_END_DECLS

#endif
