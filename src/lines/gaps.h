/* gaps.h - loose ends that stop short of the line they aim for. */
#ifndef DOVETELL_LINES_GAPS_H
#define DOVETELL_LINES_GAPS_H

#include "chains.h"
#include "ghosts.h"

typedef struct dt_gap_options {
    double join_mm;         /* farthest that a loose end may be from what it is joined to */
    const dt_ghosts *ghosts;
    uint32_t first_stroke;  /* the cut that closes gap i is marked with stroke first_stroke + i */
} dt_gap_options;

/* Finds the loose ends (corners of degree one) that can be joined and appends to cuts what joins them, to be noded again, and to
 * gaps a fault for each such cut, in the same order; size_mm is 0 for a gap that is not worth a word: narrower than
 * DT_SAME_MM, or made by leaving out a ghost. DT_NO_MEMORY, or DT_TOO_LARGE with a sentence. O((n + pairs within reach) log). */
dt_status dt_gaps_close(const dt_chains *chains, const dt_gap_options *options, dt_cuts *cuts, dt_faults *gaps,
                        dt_error *error);

#endif
