/* body.h - the outline of a piece, reduced by half a kerf, with a tree of boxes over it.
 *
 * REDUCED by r: the points of the piece that are at least r away from its border (its erosion by a disc). CHAIN:
 * consecutive points of the border of the reduced piece. LEAF: up to BODY_LEAF stretches of one chain; neighbouring
 * leaves of a chain share a point.
 *
 *     boxes[1] = all          boxes[i] holds boxes[2i] and boxes[2i+1]; leaf k has boxes[leaf_count + k]
 *     boxes[2]   boxes[3]
 *
 * Invariants: at least one leaf; a leaf has at least two points (the same one twice where the body is a point).
 */
#ifndef DOVETELL_GRAPH_BODY_H
#define DOVETELL_GRAPH_BODY_H

#include <dovetell/pieces.h>

#define BODY_LEAF 4

typedef struct body_leaf {
    uint32_t start, count; /* of points */
} body_leaf;

typedef struct body {
    dt_point *points;
    body_leaf *leaves;
    dt_box *boxes;
    uint32_t point_count, leaf_count;
} body;

/* The reduced outline of a closed path of positive area with holes (closed, negative area). Holes take away from the
 * body, but only its outline is kept: a straight move never goes from outside into a hole without crossing the outline.
 * `inside` stands for a piece of which nothing is left. DT_NO_MEMORY. O(n log n) where few stretches lie within r of
 * each other. */
dt_status body_new(dt_path outline, const dt_path *holes, size_t hole_count, double r, dt_point inside, body *out);
/* The outline as it is. */
dt_status body_of_outline(dt_path outline, body *out);
dt_status body_of_piece(const dt_piece *piece, double r, body *out);
void body_free(body *b);

static inline dt_box body_box(const body *b) {
    return b->boxes[1];
}

#endif
