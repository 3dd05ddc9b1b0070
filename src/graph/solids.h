/* solids.h - all pieces reduced by half a kerf, and how freely they leave each other.
 *
 * FREEDOM of (a, b): the directions in which b leaves a. Those in which a leaves b are the opposite ones. Pieces are
 * indices here.
 *
 *     members: pieces by puzzle, then by number     | puzzle 0     | puzzle 1 | ...
 *                                             start[0]       start[1]   start[2]
 *
 * Puzzle k has a tree of boxes as in body.h at boxes + 2 start[k], whose leaf i is member start[k] + i.
 */
#ifndef DOVETELL_GRAPH_SOLIDS_H
#define DOVETELL_GRAPH_SOLIDS_H

#include "graph/blocking.h"

typedef struct freedom {
    uint32_t a, b;
    bool any;       /* else the pair is locked */
    arc widest;     /* of the free directions: all of them, unless the kerf cuts a piece apart */
    double degrees; /* all free directions added up */
} freedom;

typedef struct solids {
    body *bodies;
    body *outlines; /* not reduced; NULL where there is a kerf */
    uint32_t *puzzle; /* of each piece */
    uint32_t *members, *start;
    dt_box *boxes;
    uint32_t count, puzzle_count;
    unsigned threads;      /* as in the settings */
} solids;

/* What one thread needs to work out joints; {0} to begin with. */
typedef struct solids_scratch {
    blocking_scratch blocking;
    directions set, touch;
} solids_scratch;

void solids_scratch_free(solids_scratch *scratch);

static inline uint32_t solids_puzzle_size(const solids *s, uint32_t puzzle) {
    return s->start[puzzle + 1] - s->start[puzzle];
}

dt_status solids_new(const dt_pieces *pieces, const dt_settings *settings, solids *out);
void solids_free(solids *s);

dt_status solids_freedom(const solids *s, solids_scratch *scratch, uint32_t a, uint32_t b, freedom *out);

/* The freedom without any play, exactly, where there is no kerf: *f is what solids_freedom found, and changes. Where only the
 * grid of a micrometre stands in the way it stays as it is. */
dt_status solids_sharpen(const solids *s, solids_scratch *scratch, freedom *f);

/* Adds to *blocked the directions in which piece p runs into any other piece of its puzzle, across voids and bays too.
 * Only pieces that could add something are looked at: O(log n) where the set holds what p's neighbours block. */
dt_status solids_add_blocked(const solids *s, solids_scratch *scratch, uint32_t p, directions *blocked);

/* Calls `each` for the pieces of p's puzzle that may lie ahead of p in direction `turn` (by their boxes), in order. A
 * status other than DT_OK ends the walk. */
typedef dt_status solids_visit(void *context, uint32_t p, uint32_t other);
dt_status solids_ahead(const solids *s, uint32_t p, double turn, solids_visit *each, void *context);

#endif
