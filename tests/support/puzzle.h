/* puzzle.h - a draft with its net, pieces and neighbour graph, checked, for tests of whole drafts. */
#ifndef DOVETELL_TESTS_PUZZLE_H
#define DOVETELL_TESTS_PUZZLE_H

#include "draft.h"

#include <dovetell/graph.h>

typedef struct puzzle {
    draft *d;
    dt_net *net;
    dt_pieces *pieces;
    dt_graph *graph;
    uint32_t count; /* of pieces */
} puzzle;

/* Takes the draft over. The test fails when a stage fails, or when an invariant of the net, the pieces or the graph is
 * broken. */
puzzle puzzle_of(draft *d, double kerf_mm);
void puzzle_free(puzzle *p);

/* How deep the direction (degrees) lies inside the widest free interval of a joint; negative outside. */
double puzzle_depth(const dt_neighbours *n, double degrees);

#endif
