/* net.h - what the files of lines/ share: grid points, noded cuts, and the inside of a dt_net.
 *
 * A GRID POINT has whole micrometres as coordinates, so that turns and areas are exact in 64-bit integers. A CUT is a straight
 * piece of a stroke between two grid points. NODED cuts meet at their ends only.
 */
#ifndef DOVETELL_LINES_NET_H
#define DOVETELL_LINES_NET_H

#include <dovetell/lines.h>

#include "base/array.h"

typedef struct dt_gp {
    int32_t x, y;
} dt_gp;

typedef struct dt_cut {
    dt_gp a, b;
    uint32_t stroke; /* index of the stroke it comes from, or DT_NO_INDEX */
} dt_cut;

typedef DT_ARRAY(dt_cut) dt_cuts;
typedef DT_ARRAY(dt_fault) dt_faults;

/* Farther than this from the origin no laser cuts; differences of coordinates stay below 2^30 micrometres and their cross
 * products below 2^62. */
#define DT_REACH_MM 500000.0

/* What lies nearer than this is drawn in the same place: twice the flatness of curves, a tenth of a kerf. Joined or dropped
 * without a word. */
#define DT_SAME_MM 0.02

/* So near on the grid: 20 micrometres are a gap, however their distance in millimetres rounds. */
static inline bool dt_is_same_place(double mm) {
    return mm < DT_SAME_MM - DT_GRID_MM / 2;
}

/* A dangle no longer than this that begins at a junction is a tail: the pen ran on past the line. */
#define DT_TAIL_MM 3.0

struct dt_net {
    dt_node *nodes;
    dt_arc *arcs;
    dt_face *faces;
    size_t node_count, arc_count, face_count;
    dt_faults faults;
    double cut_length;
    dt_point *points;   /* of all arcs */
    uint32_t *strokes;  /* of all arcs */
    uint32_t *halves;   /* of all rings */
    dt_ring *holes;     /* of all faces */
    dt_path *loose;     /* its paths point into loose_points */
    dt_point *loose_points;
    size_t loose_count;
    double outlines_apart_mm, looser_mm;
};

static inline dt_gp dt_gp_of(dt_point p) {
    double x = p.x / DT_GRID_MM, y = p.y / DT_GRID_MM;
    return (dt_gp){(int32_t)(x < 0 ? x - 0.5 : x + 0.5), (int32_t)(y < 0 ? y - 0.5 : y + 0.5)};
}

/* The nearest double to the whole number of micrometres: division rounds correctly, multiplication by 0.001 does not. */
static inline dt_point dt_gp_mm(dt_gp p) {
    return (dt_point){p.x / 1000.0, p.y / 1000.0};
}

static inline uint64_t dt_gp_key(dt_gp p) {
    return (uint64_t)(uint32_t)p.x << 32 | (uint32_t)p.y;
}

static inline bool dt_gp_same(dt_gp a, dt_gp b) {
    return a.x == b.x && a.y == b.y;
}

/* Cross product of b - a and c - a: exact. */
static inline int64_t dt_gp_cross(dt_gp a, dt_gp b, dt_gp c) {
    return ((int64_t)b.x - a.x) * ((int64_t)c.y - a.y) - ((int64_t)b.y - a.y) * ((int64_t)c.x - a.x);
}

#endif
