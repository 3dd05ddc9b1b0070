/* lookup.h - which corners of which bodies could lie along a given line?
 *
 * Vocabulary: a CURVE is a smooth stretch of line that leaves a point, known by its points at arc lengths 1.5, 3, 6, 12 ... mm. A
 * corner has two: AHEAD of it and BEHIND it. Two curves are compared over the shorter of the two, in the frame of its last chord.
 */
#ifndef DOVETELL_ASSEMBLY_LOOKUP_H
#define DOVETELL_ASSEMBLY_LOOKUP_H

#include "assembly/problem.h"

enum { DT_CURVE_LEVELS = 12, DT_END_SAMPLES = 16, DT_RAIL_SAMPLES = 32 };

typedef enum dt_way { DT_AHEAD, DT_BEHIND } dt_way;

typedef struct dt_curve {
    uint32_t levels;                 /* how many of the points there are */
    dt_point at[DT_CURVE_LEVELS];    /* from the corner; in the body's axes or those of the plane */
    double length;                   /* to the next parting */
    bool straight;                   /* all the way, to within a few micrometres */
    double bend[DT_CURVE_LEVELS];    /* radians turned up to there, without regard to sign */
} dt_curve;

typedef struct dt_end {
    uint32_t body, corner;           /* corner: index into its breaks; it is convex */
    double angle;                    /* of the corner, radians */
    dt_curve curve;
    dt_point samples[DT_END_SAMPLES]; /* along the whole curve in equal steps, the last at its end; from the corner, in the body's axes */
    uint32_t rail_count, tip;        /* tip: the number of the arc length nearest to the curve's end */
    dt_point rail[DT_RAIL_SAMPLES + 1];  /* at the arc lengths of dt_rail_arc, as far as the curve goes, then its end; from the corner, in the body's axes */
} dt_end;

typedef struct dt_lookup dt_lookup;

/* The ends of all bodies on one way. NULL: no memory. O(n log n). */
dt_lookup *dt_lookup_new(const dt_problem *problem, dt_way way);
void dt_lookup_free(dt_lookup *lookup);
/* Both tables list the same corners in the same order. */
uint32_t dt_lookup_count(const dt_lookup *lookup);
const dt_end *dt_lookup_end(const dt_lookup *lookup, uint32_t index);

/* Arc length of a curve's level and of a rail's sample, mm. */
double dt_level_arc(uint32_t level);
double dt_rail_arc(uint32_t sample);
/* The distance from there to the farthest arc length that is nearest to it, mm. */
double dt_rail_gap(uint32_t sample);

/* Calls found for each end that could lie along the curve; stops and returns false when found does. O(log n + looked at). */
bool dt_lookup_find(const dt_lookup *lookup, const dt_curve *curve, double tolerance,
                    bool (*found)(void *context, uint32_t index), void *context);

/* Could both lines of a corner, an end and its curve on the other way, follow two lines that leave one point, given in the same axes?
 * O(levels). */
bool dt_lookup_spans(const dt_end *end, const dt_curve *other_way, const dt_curve *along, const dt_curve *across, double tolerance);

/* How far the points of two curves at a level may lie apart though their lines follow each other within the tolerance, mm. */
double dt_lookup_allowance(const dt_curve *curve, uint32_t level, double tolerance);

/* The curve that leaves arc position s of a ring, ahead or behind, as far as the next parting. */
dt_curve dt_curve_of(const dt_body *body, uint32_t ring, double s, dt_way way);

#endif
