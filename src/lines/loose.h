/* loose.h - what is said of the lines that bound no face: tails and strays. */
#ifndef DOVETELL_LINES_LOOSE_H
#define DOVETELL_LINES_LOOSE_H

#include "gaps.h"
#include "prune.h"

/* A line that stops in the open: its last point, and the fault that tells of it. */
typedef struct dt_open_end {
    dt_point at;
    dt_point ahead;   /* unit vector: where the line would go on */
    uint32_t chain;   /* number of its chain among those of dt_loose_report */
    double length;    /* of that chain */
    uint32_t fault;   /* index of its stray or tail in faults */
    bool tail;
    bool hung;        /* the line begins at a kept one, */
    dt_point root;    /* here */
    uint32_t stroke;
} dt_open_end;
typedef DT_ARRAY(dt_open_end) dt_open_ends;

/* Adds a fault for each connected group of chains that fate does not keep: a tail when it is at most DT_TAIL_MM long and hangs on
 * one kept line, else a stray; nothing when it is shorter than DT_SAME_MM or ends on a ghost. Gaps (as dt_gaps_close made
 * them) that were closed in vain, because the line bounds no face all the same, get size_mm 0. The loose ends go to
 * `ends`. DT_NO_MEMORY. O(n log n). */
dt_status dt_loose_report(const dt_chains *chains, const dt_chain_fate *fate, const dt_gap_options *options, dt_faults *gaps,
                          dt_faults *faults, dt_open_ends *ends);

#endif
