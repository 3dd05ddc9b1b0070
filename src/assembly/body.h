/* body.h - a solid outline as the search sees it: rings with arc lengths, corners, and a field of distances.
 *
 * Vocabulary: a BODY is whatever takes up room: a piece, or the CONTAINER, which is all that lies outside the finished outline.
 * Every ring runs so that the solid lies on its left in the algebra of the axes (cross(b - a, p - a) > 0). A BREAK is a point
 * where a ring turns at once by more than a smooth line would; a CORNER is a break sharp enough to fill a gap or to leave one.
 * A stretch of ring between two breaks is smooth. DEPTH is the distance to the nearest point of the rings, positive in the solid.
 *
 *            in         corner: `out` leaves it, `in` arrives at it (unit vectors); the solid fills the angle
 *        ----->+        from `out`, growing, to -`in`: `angle`, below pi where the body is convex.
 *      solid   | out
 *              v        (y runs down, so this ring has its solid on the right as seen)
 *
 * Invariants: 1. ring r holds points [ring_start[r], ring_start[r + 1]); 2. arc[i] grows strictly within a ring, and ring_length
 * closes it; 3. breaks of a ring are in walking order; 4. the field's answer is exact up to `reach`, and clipped beyond.
 */
#ifndef DOVETELL_ASSEMBLY_BODY_H
#define DOVETELL_ASSEMBLY_BODY_H

#include "base/arena.h"
#include <dovetell/geom.h>

typedef struct dt_break {
    uint32_t ring, point;   /* point: index over all points of the body */
    dt_point at, out, in;
    double angle;           /* radians taken up by the solid */
    double arc;             /* where on its ring, mm */
    double ahead, behind;   /* arc length to the next and the previous break; the whole ring when it is the only one */
    bool corner;
    bool sharp;             /* the ring turns in a point there. Where it bends tightly instead, another drawing of the same line may break elsewhere */
    bool parts[2];          /* by dt_way: may lines that ran along each other part here, walking that way? See partings.h */
} dt_break;

typedef struct dt_field {
    dt_point low;
    double cell, reach;
    uint32_t columns, rows;
    uint32_t *first;        /* per cell: its segments are segments[first[i] .. first[i + 1]) */
    uint32_t *segments;     /* a segment has the index of its first point */
    bool *solid;            /* at the anchor of the cell */
    bool beyond;            /* solid outside the grid? */
} dt_field;

typedef struct dt_body {
    uint32_t ring_count, point_count, break_count;
    uint32_t *ring_start;   /* ring_count + 1 */
    double *ring_length;
    dt_point *points, *normals; /* normals[i]: unit, into the solid, at point i */
    uint32_t *next;         /* of a point along its ring */
    double *arc;
    dt_break *breaks;
    dt_field field;
    dt_box box;
    dt_point centre;        /* of the area */
    double area, perimeter, radius; /* radius: farthest point from the centre */
} dt_body;

typedef struct dt_depth {
    double depth;           /* clipped to +-reach */
    dt_point nearest, inward; /* meaningful where |depth| < reach; inward: unit, towards the solid */
    uint32_t segment;
} dt_depth;

/* rings: closed, solid on the left. beyond: is what lies far away solid (the container)? tolerance: mm, how far lines that fit may
 * differ. false: no memory. O(points) up to the field's cells. */
bool dt_body_make(const dt_path *rings, size_t count, bool beyond, double tolerance, dt_arena *arena, dt_body *out);
/* The same turned over (x -> -x). */
bool dt_body_mirror(const dt_body *body, double tolerance, dt_arena *arena, dt_body *out);

dt_depth dt_body_depth(const dt_body *body, dt_point p);
/* Is p deeper in the solid than `depth` (0 < depth < reach)? Answers most points from the grid alone. */
bool dt_body_holds(const dt_body *body, dt_point p, double depth);
/* The point at arc position s (taken modulo the ring's length). O(log points). */
dt_point dt_body_at(const dt_body *body, uint32_t ring, double s);
/* Arc position of the nearest point that dt_body_depth gave. */
double dt_body_arc(const dt_body *body, const dt_depth *hit, uint32_t *ring);

#endif
