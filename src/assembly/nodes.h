/* nodes.h - the drawing as forced places (forced.h) see it: lines by arc length, and who meets whom at each junction.
 *
 * Vocabulary: a WEDGE is the corner (or the straight stretch) that a piece has at a node. Nodes that only tiny seams
 * part are one. A RIM is a line of the container.
 *
 * Invariants: 1. lines as drawn come before those turned over, by piece, the outline before the holes; 2. wedges of a
 * piece stand together, in walking order; tiny seams have none.
 */
#ifndef DOVETELL_ASSEMBLY_NODES_H
#define DOVETELL_ASSEMBLY_NODES_H

#include "assembly/fillers.h"
#include "assembly/problem.h"
#include <dovetell/pieces.h>

#define DT_SHARP_SCALE_MM 0.15 /* bends of a radius of up to 0.3 mm are sharp: there lines part */
#define DT_KNEE_MM 0.3         /* bends of a radius of up to 0.6 mm may fill a gap */

typedef struct dt_node_wedge {
    uint32_t piece, line; /* line: of `lines` */
    uint32_t in, out;     /* seams: the one by which the piece's line arrives, the one by which it leaves */
    uint32_t node, next;  /* the next wedge at the node, or DT_NONE */
    double at, angle;     /* arc on the line; radians, measured over the knee */
    bool beside_outside;
} dt_node_wedge;

typedef struct dt_node_map {
    const dt_pieces *pieces;
    const dt_region *region;
    dt_arena *arena;
    dt_owned_line *lines;
    size_t line_count;
    dt_line *rims, *rims_over; /* of the container; turned over */
    size_t rim_count;
    dt_node_wedge *wedges;
    size_t wedge_count;
    uint32_t *first_wedge_of_piece; /* wedges of piece p: [first[p], first[p + 1]) */
    uint32_t *first_at_node;        /* or DT_NONE */
    uint32_t *joined;               /* by node: towards the one that stands for it */
    uint32_t node_count;
    uint32_t *depth; /* by piece: how many others lie between it and what is outside; DT_NONE: no way there */
} dt_node_map;

/* Everything lives in the arena. false: no memory. Near linear in the points. */
bool dt_node_map_make(const dt_pieces *pieces, const dt_region *region, bool two_sided, dt_arena *arena,
                      dt_node_map *out);

#endif
