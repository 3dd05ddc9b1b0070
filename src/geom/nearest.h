/* nearest.h - a polyline made ready for "what is the nearest point of it?", and the distance of two polylines.
 *
 * A dt_near holds the segments of one or more paths, sorted into a uniform grid. Invariants: every segment is entered in every
 * cell that it touches; `starts` has cells + 1 entries, ascending. Memory belongs to the arena given to dt_near_new.
 */
#ifndef DOVETELL_GEOM_NEAREST_H
#define DOVETELL_GEOM_NEAREST_H

#include "base/arena.h"
#include <dovetell/geom.h>

typedef struct dt_span {
    dt_point a, b;
} dt_span;

typedef struct dt_near {
    const dt_span *spans;
    size_t count;
    dt_box box;
    double cell, per_mm;   /* mm; cells a mm */
    int columns, rows;     /* 0: no grid, every segment is looked at */
    const uint32_t *starts, *entries;
} dt_near;

typedef struct dt_hit {
    double distance;
    dt_point at;           /* the nearest point */
    uint32_t span;         /* the segment that it lies on */
} dt_hit;

/* Segments of all paths, in order. closed: each path also has the segment from its last to its first point. DT_BAD_ARGUMENT
 * when there is no segment at all. O(points + cells touched). */
dt_status dt_near_new(const dt_path *paths, size_t path_count, bool closed, dt_arena *arena, dt_near *out);

/* The same without a grid, for lines that are asked little: O(points), and so is each question. */
dt_status dt_near_plain(dt_path path, bool closed, dt_arena *arena, dt_near *out);

/* The nearest point to p. hint is a segment to look at first (any valid index; a good one saves time, a bad one costs
 * none). About constant time near the line, O(cells) far from it. */
dt_hit dt_near_find(const dt_near *near, dt_point p, uint32_t hint);

/* The same where only distances up to `within` matter: beyond it, some distance that is no smaller than the true one. */
dt_hit dt_near_find_within(const dt_near *near, dt_point p, uint32_t hint, double within);

/* The same where distances up to `least` are all alike: where the walk from the hint comes that near, it goes no farther. */
dt_hit dt_near_find_beyond(const dt_near *near, dt_point p, uint32_t hint, double least, double within);

/* Directed Hausdorff distance: the largest distance from a point of `from`, carried by pose, to `to`, exact to `tolerance`
 * (never above the true value; below it by no more than tolerance); *where is the point, in the axes of `to`. floor is a
 * value known already: where nothing exceeds it, floor comes back and *where stays untouched.
 * Method: a segment is halved while its ends leave room for more; the distance to one segment is convex, so the nearest
 * segment of either end bounds the whole stretch. */
double dt_near_farthest(const dt_near *from, dt_pose pose, const dt_near *to, double floor, double tolerance, dt_point *where);

#endif
