/* strands.h - which segments of many lines come near each other.
 *
 * A STRAND is a run of segments that follow on each other on one line and go one way, both in x and in y:
 *
 *         __.--'    one strand        /\    two strands, which meet at the tip
 *     _.-'                           /  \
 *
 * Two places of one strand are no farther apart along it than 1.42 times the straight way between them, so a strand
 * neither crosses itself nor runs beside itself, and its own segments need not be compared. A curve falls into few
 * strands: comparing the boxes of strands, by way of a tree, costs a small part of comparing those of segments.
 * (Monotone chains are textbook.)
 *
 *     dt_strands strands = {0};
 *     if (!dt_strands_add(&strands, a, b, line, true)) goto done;        // segments 0, 1, 2, ...; false: no memory
 *     if (!dt_strands_close(&strands)) goto done;
 *     dt_strands_join(&strands, reach, most_work, look, context);        // look(context, i, j) for whatever comes near
 *     dt_strands_free(&strands);
 */
#ifndef DOVETELL_GEOM_STRANDS_H
#define DOVETELL_GEOM_STRANDS_H

#include "base/array.h"
#include <dovetell/geom.h>

typedef struct dt_strand {
    uint32_t first, count; /* segments */
    uint32_t line;
    uint8_t ways; /* directions that it may still go in */
    bool fresh;
    dt_box box;
} dt_strand;

typedef struct dt_strand_segment {
    dt_point a, b;
} dt_strand_segment;

typedef struct dt_strands {
    DT_ARRAY(dt_strand_segment) segments;
    DT_ARRAY(dt_strand) strands;
    dt_box *boxes; /* 1 .. 2n - 1: box i holds 2i and 2i + 1; the boxes of the n strands come last */
    bool *fresh;   /* of each box: one of its strands is */
    uint64_t work; /* boxes and segments compared since the strands were closed */
} dt_strands;

/* Two segments, i > j, of different strands. False ends the join. */
typedef bool dt_strands_look(void *context, uint32_t i, uint32_t j);

/* The next segment. It goes on with the strand of the one before if that is of the same line, ends at a, and leads the
 * same way. Only pairs of which one at least is fresh are compared. False: no memory. */
bool dt_strands_add(dt_strands *strands, dt_point a, dt_point b, uint32_t line, bool fresh);

/* Once all segments are there: sorts the strands and makes the tree. False: no memory. O(n). */
bool dt_strands_close(dt_strands *strands);

/* look() for each two segments of different strands whose boxes come within `reach` of each other in x and in y, once,
 * in an order that depends on nothing but the segments. False: look() or the limit on work ended it. O(n log n + pairs)
 * for lines as people draw them. */
bool dt_strands_join(dt_strands *strands, double reach, uint64_t most_work, dt_strands_look *look, void *context);

void dt_strands_free(dt_strands *strands);

#endif
