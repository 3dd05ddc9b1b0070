/* blocking.h - in which directions one body stands in another's way, exactly.
 *
 * Body B, moved along d, runs into body A when some point of A lies ahead of some point of B, that is, when d is the
 * direction of a difference a - b (Wilson and Latombe, Geometric reasoning about mechanical assembly, Artificial
 * Intelligence 71, 1994; infinitesimal and extended translations). The source says how the differences are searched.
 */
#ifndef DOVETELL_GRAPH_BLOCKING_H
#define DOVETELL_GRAPH_BLOCKING_H

#include "graph/body.h"
#include "graph/directions.h"

/* Scratch of a search, reused from pair to pair; starts as {0}. */
typedef struct blocking_pair {
    uint32_t a, b; /* nodes of the two trees */
} blocking_pair;
typedef struct blocking_scratch {
    blocking_pair *stack, *later;
    size_t stack_room, later_room;
} blocking_scratch;
void blocking_scratch_free(blocking_scratch *scratch);

/* An arc of all directions in which what lies in box b may run into what lies in box a; false where the boxes meet. */
bool blocking_bound(dt_box a, dt_box b, arc *out);

/* Adds to *blocked all directions in which b, moved, runs into a; stops when they are all. Directions that are in the
 * set already are not looked at, so the set may hold what other bodies block. DT_NO_MEMORY. About O(m log m) for bodies
 * that border on each other along m stretches. */
dt_status blocking_add(const body *a, const body *b, blocking_scratch *scratch, directions *blocked);

/* The same for outlines that are not reduced and may share stretches and corners, but nothing inside (body_of_outline).
 * *blocked must be an open set: what is left of the circle are the directions in which b may slide along a, closed, down to a
 * single one. */
dt_status blocking_add_touching(const body *a, const body *b, blocking_scratch *scratch, directions *blocked);

#endif
