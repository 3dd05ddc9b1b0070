/* neighbours.h - the pairs of pieces that share a seam, and the lists of who is round whom. */
#ifndef DOVETELL_GRAPH_NEIGHBOURS_H
#define DOVETELL_GRAPH_NEIGHBOURS_H

#include <dovetell/graph.h>

/* pairs: a < b, sorted, border_mm and seams filled. around[start[p]] .. around[start[p + 1] - 1]: the neighbours of
 * piece p, ascending; pair[] beside it: the index of that pair. */
typedef struct neighbours {
    dt_neighbours *pairs;
    size_t pair_count;
    size_t *start;
    dt_piece_id *around;
    size_t *pair;
} neighbours;

dt_status neighbours_new(const dt_pieces *pieces, neighbours *out); /* DT_NO_MEMORY; O(seams log seams) */
void neighbours_free(neighbours *n);
size_t neighbours_find(const neighbours *n, dt_piece_id a, dt_piece_id b); /* SIZE_MAX when they are none */

#endif
