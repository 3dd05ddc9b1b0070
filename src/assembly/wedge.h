/* wedge.h - is what a corner leaves of a gap too narrow for any corner? Long straight lines tell angles far better than the few millimetres
 * around a corner do.
 *
 *        across /                  The corner stands along one line of the gap; what it leaves of the gap is a wedge. Where the wedge is
 *              / wedge  .          narrower than every corner of every piece, though all lines were turned by as much as they may miss
 *             /    .  leg          what they lie along, nothing fills it: the corner must lie along both lines of the gap, or not at all.
 *            *------------ along
 */
#ifndef DOVETELL_ASSEMBLY_WEDGE_H
#define DOVETELL_ASSEMBLY_WEDGE_H

#include "assembly/lookup.h"

typedef struct dt_angle {
    double width;            /* radians */
    double error;            /* how far off it may be; INFINITY where the lines are not straight */
} dt_angle;

typedef struct dt_wedges {
    dt_angle *corners;       /* per end of the tables */
    double sharpest;         /* no corner of any piece is narrower, radians */
    double seat;
} dt_wedges;

/* false: no memory. O(ends). */
bool dt_wedges_make(dt_lookup *const lookup[2], double seat, dt_wedges *out);
void dt_wedges_free(dt_wedges *wedges);

/* The angle from one line that leaves a point to another, directions growing. */
dt_angle dt_angle_between(const dt_curve *from, const dt_curve *to, double seat);

/* Does the corner of an end leave less of a gap than any corner needs? */
bool dt_wedge_is_dead(const dt_wedges *wedges, dt_angle gap, uint32_t end);

#endif
