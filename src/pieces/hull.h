/* hull.h - convex hulls and the smallest rectangle round them. */
#ifndef DOVETELL_PIECES_HULL_H
#define DOVETELL_PIECES_HULL_H

#include <dovetell/geom.h>

/* Corners of the convex hull in walking order of positive area, none in line with its neighbours. Andrew's monotone chain
 * (Information Processing Letters 9, 1979), exact by dt_orientation. The caller frees *hull. O(n log n). */
dt_status hull_of(dt_path path, dt_point **hull, size_t *count);

typedef struct rectangle {
    double length, width; /* length >= width */
} rectangle;

/* Rectangle of least area round a convex polygon: it shares a direction with one of the sides (Freeman and Shapira, CACM 18, 1975).
 * Where several are least (a triangle has three) the narrowest. O(n^2) in the hull's corners, which are few. */
rectangle hull_rectangle(dt_path hull);

#endif
