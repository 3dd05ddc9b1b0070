/* beside.h - which part of one segment runs near another. */
#ifndef DOVETELL_GEOM_BESIDE_H
#define DOVETELL_GEOM_BESIDE_H

#include <dovetell/geom.h>

/* The part of p - q within distance r of the segment c - d: one interval of t, 0 <= *from < *to <= 1, since the distance to a convex set
 * is convex. False when there is none, or just a point. Exact up to rounding. */
bool dt_part_beside(dt_point p, dt_point q, dt_point c, dt_point d, double r, double *from, double *to);

#endif
