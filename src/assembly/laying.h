/* laying.h - lays a corner of a piece on one shore or two, so that its lines follow theirs. */
#ifndef DOVETELL_ASSEMBLY_LAYING_H
#define DOVETELL_ASSEMBLY_LAYING_H

#include "assembly/shore.h"

/* Strays: no pose at all keeps the legs within a seat of their shores. Doubtful: the one that was found does not. */
typedef enum dt_lie { DT_STRAYS, DT_DOUBTFUL, DT_LIES } dt_lie;

/* The pose that lays the corner of one leg, or the two of one corner, at a point of the axes that the shores are given in. O(samples). */
dt_lie dt_legs_lie(const dt_problem *problem, const dt_leg *legs, size_t count, dt_point at, dt_pose *pose);

/* Over how much of the plane the legs hold the corner, mm. */
double dt_legs_span(const dt_body *body, const dt_leg *legs, size_t count);

/* Does a corner of the one lie deeper than `loose` in the other? O(corners). */
bool dt_corners_clash(dt_laid a, dt_laid b, double loose);

#endif
