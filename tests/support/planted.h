/* planted.h - random dissections at free angles with another assembly that is known from how they are made: a convex
 * CORE of a few pieces lies amid others that fit in one way only, and may be turned, turned over, or exchanged with
 * another core as a whole. */
#ifndef DOVETELL_TESTS_PLANTED_H
#define DOVETELL_TESTS_PLANTED_H

#include "draft.h"

typedef enum planting {
    HALF_TURN,  /* the core looks the same turned by half a turn; its pieces do not */
    TURNED_OVER, /* the core is its own mirror image; its pieces are not: for two-sided puzzles */
    EXCHANGED,  /* two cores alike in outline, cut differently */
    NOT_PLANTED, /* the core has no symmetry: nothing is promised */
    PLANTINGS
} planting;

extern const char *const planting_names[PLANTINGS];

/* About 120 x 90 mm, ten to twenty pieces. curved: the cores' borders and cuts are curves. The same seed gives the same
 * drawing. */
void draw_planted(draft *d, planting kind, bool curved, uint64_t seed);

#endif
