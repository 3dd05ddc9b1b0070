/* held.h - which pieces cannot leave the finished puzzle alone. */
#ifndef DOVETELL_GRAPH_HELD_H
#define DOVETELL_GRAPH_HELD_H

#include "graph/neighbours.h"
#include "graph/solids.h"

/* The piece that leaves most freely: by its free directions added up, then by its number. */
typedef struct loosest_piece {
    bool any;
    uint32_t piece;
    arc widest;
    double degrees;
} loosest_piece;

/* held[p] for every piece; false for a piece that is a puzzle by itself, as nothing holds it. freedoms[i] belongs to
 * pairs[i]. Reports nothing of loose pieces in such puzzles. */
dt_status held_find(const solids *s, solids_scratch *scratch, const neighbours *n, const freedom *freedoms, bool *held,
                    loosest_piece *loosest);

#endif
