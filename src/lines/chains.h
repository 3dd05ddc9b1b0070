/* chains.h - noded cuts as a graph of CHAINS: the longest walks of cuts through points where just two cuts meet.
 *
 *      A CORNER is a point where one, three or more cuts meet, or one point of a closed chain without such.
 *
 *          corner >--o--o--o--< corner      o = points inside the chain
 *
 * Invariants: each different cut lies in exactly one chain; a chain's first and last point are corners; chains are
 * numbered in the order of their corners' first appearance in the cuts.
 */
#ifndef DOVETELL_LINES_CHAINS_H
#define DOVETELL_LINES_CHAINS_H

#include "net.h"

typedef struct dt_chain {
    uint32_t first, count;          /* in dt_chains.walk: numbers of points */
    uint32_t stroke_first, stroke_count; /* in dt_chains.strokes, ascending */
    uint32_t from, to;              /* corners */
} dt_chain;

typedef struct dt_chains {
    dt_gp *points;                  /* every different end of a cut */
    uint32_t point_count;
    uint32_t *corner_point;         /* of each corner */
    uint32_t *corner_degree;        /* chain ends at each corner */
    uint32_t corner_count;
    DT_ARRAY(dt_chain) chains;
    DT_ARRAY(uint32_t) walk;
    DT_ARRAY(uint32_t) strokes;
} dt_chains;

/* Chains of noded cuts; equal cuts become one with the strokes of both, cuts of no length are dropped. dt_chains_free also
 * after a failure (DT_NO_MEMORY). O(n) expected, and a sort of the strokes of each chain. */
dt_status dt_chains_init(dt_chains *chains, const dt_cut *cuts, size_t count);
void dt_chains_free(dt_chains *chains);
/* Replaces chains by those of their kept ones alone: corners where two chains are left are no corners any more. */
dt_status dt_chains_keep(dt_chains *chains, const bool *keep);

/* The cuts of all chains again, once for each stroke of the chain. keep (may be NULL) says which chains; moved (may be NULL)
 * has a new place for each point. False: no memory. */
bool dt_chains_cut(const dt_chains *chains, const bool *keep, const dt_gp *moved, dt_cuts *out);

double dt_chain_length(const dt_chains *chains, const dt_chain *chain); /* mm */
dt_gp dt_chain_point(const dt_chains *chains, const dt_chain *chain, uint32_t index);

#endif
