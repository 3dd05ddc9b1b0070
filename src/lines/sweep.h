/* sweep.h - which edge lies next to a point, for many points at once. */
#ifndef DOVETELL_LINES_SWEEP_H
#define DOVETELL_LINES_SWEEP_H

#include "net.h"

/* found[q] = the index of the first edge that a ray from points[q] towards smaller x meets, or DT_NO_INDEX. Edges may touch at their
 * ends only. Where the ray passes an end exactly, it counts as running at a hair's breadth smaller y; a point's own edges
 * do not count when they all lead to greater y (or along x). DT_NO_MEMORY. O((n + k) log (n + k)).
 * Source: the plane sweep of Shamos and Hoey, Geometric intersection problems, 1976; balanced by a treap (Seidel and Aragon,
 * Randomized search trees, 1996) whose priorities are a fixed hash of the edge's number. */
dt_status dt_sweep_beside(const dt_cut *edges, size_t count, const dt_gp *points, size_t point_count, uint32_t *found);

#endif
