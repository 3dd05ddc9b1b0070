/* search.h - all ways to fill the container: a depth-first search over gaps.
 *
 * Vocabulary: a FILLING is a set of placements, one for each tile. The search is EXHAUSTED when it has tried everything; it is BLIND
 * where ground is left that no gap leads to, or where a filling could be neither accepted nor refused: then "no other" is not proved.
 */
#ifndef DOVETELL_ASSEMBLY_SEARCH_H
#define DOVETELL_ASSEMBLY_SEARCH_H

#include "assembly/lists.h"

typedef enum dt_acceptance { DT_FITS, DT_FITS_NOT, DT_FITS_PERHAPS } dt_acceptance;

typedef struct dt_search_options {
    uint64_t steps;          /* placements and table entries tried, at most */
    bool all;                /* count every filling; else stop at the first one that is not the drawn one */
    const dt_watch *watch;
    /* Is the filling true? poses: per tile, from its drawn place; NULL = all are. */
    dt_acceptance (*accept)(void *context, const dt_pose *poses);
    void *context;
} dt_search_options;

typedef struct dt_search_result {
    bool found_drawn, found_other;
    bool exhausted, blind, stopped;
    bool counted;              /* fillings and distinct leave out none that was met */
    double fillings, distinct; /* seen so far */
    uint64_t steps;
    dt_pose *other;            /* per tile: from its drawn place to the first other filling; NULL where none. Free with free(). */
} dt_search_result;

/* DT_NO_MEMORY. */
dt_status dt_search_run(const dt_problem *problem, const dt_search_options *options, dt_search_result *out);

#endif
