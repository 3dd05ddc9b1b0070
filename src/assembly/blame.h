/* blame.h - which laid placements a dead end is due to, so that the search can go back to the last of them at once.
 *
 * A gap that nothing fills stays so while the placements that bound it lie, and for each of its candidates one that lies in its way. A set
 * of them is a row of bits, one for each placement in the order in which they were laid, the container left out. Sets may hold too many,
 * never too few. The method: P. Prosser, "Hybrid algorithms for the constraint satisfaction problem", 1993 (conflict-directed backjumping).
 */
#ifndef DOVETELL_ASSEMBLY_BLAME_H
#define DOVETELL_ASSEMBLY_BLAME_H

#include "assembly/state.h"

typedef struct dt_blame {
    size_t words;            /* of a set */
    DT_ARRAY(uint64_t) sets; /* set after set */
} dt_blame;

static inline uint64_t *dt_blame_set(dt_blame *blame, size_t index) {
    return blame->sets.items + index * blame->words;
}

/* false: no memory. */
bool dt_blame_push(dt_blame *blame);
void dt_blame_all(uint64_t *set, size_t count);
/* The placements in state->near. */
void dt_blame_near(const dt_state *state, uint64_t *set);
/* All that keeps the gap of a spot from being filled by one of its candidates. O(candidates). false: no memory. */
bool dt_blame_gap(dt_state *state, uint32_t spot, const dt_gap *gap, dt_way way, uint64_t *set);
/* The last of a set, or DT_NONE. */
uint32_t dt_blame_last(const dt_blame *blame, const uint64_t *set);

#endif
