/* shore.h - could a corner of a piece stand beside a line? Quick answers on the safe side, before anything is laid.
 *
 * Vocabulary: a SHORE is the line of a body that leaves a point, with the ground near it. A LEG is one of the two lines of a corner, set
 * on a shore. A corner that fills a gap alone stands on two legs.
 *
 *         shore  |   piece             "No" is certain: then, within the tolerances, either a leg leaves its shore before its line or
 *                |______ leg           the shore's may part, or the two bodies overlap. "Yes" says nothing.
 *        ______foot______
 */
#ifndef DOVETELL_ASSEMBLY_SHORE_H
#define DOVETELL_ASSEMBLY_SHORE_H

#include "assembly/halo.h"
#include "assembly/lookup.h"

/* What is known of the ground that each body takes up; the container has the number after the last. Made when first asked for. */
typedef struct dt_grounds {
    const dt_problem *problem;
    dt_bitmap *halos, *cores;
    dt_point **feelers;      /* points of the outline, the first few of them far apart */
    uint32_t *feeler_count;
} dt_grounds;

bool dt_grounds_make(const dt_problem *problem, dt_grounds *out);
void dt_grounds_free(dt_grounds *grounds);

typedef struct dt_shore {
    dt_laid laid;
    uint32_t body, ring;
    double arc;
    dt_curve curve;          /* in the axes of the plane */
    dt_point foot;           /* the point in the axes of the body */
} dt_shore;

typedef struct dt_leg {
    const dt_shore *shore;
    const dt_end *end;
    double sign;             /* of arc lengths along the end */
    double length;           /* over which the two are compared, mm */
} dt_leg;

/* The line that leaves the point at `foot`, arc position `arc` of a ring, that way. */
dt_shore dt_shore_at(const dt_problem *problem, uint32_t body, dt_pose pose, dt_point foot, uint32_t ring, double arc, dt_way way);
/* way: of the end. */
dt_leg dt_leg_on(const dt_shore *shore, const dt_end *end, dt_way way);
bool dt_leg_is_straight(const dt_leg *leg);

/* Could the one or two legs of a corner stand on their shores? Two have been asked whether they span the gap: dt_lookup_spans. *yes is
 * set. false: no memory. */
bool dt_legs_could_stand(dt_grounds *grounds, const dt_leg *legs, size_t count, bool *yes);

#endif
