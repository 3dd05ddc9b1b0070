/* flatten.h - curves as polylines, and the boxes of curves.
 *
 * A cubic is a Bezier curve by its four control points. An ARC is a stretch of an ellipse, or of any affine image of a
 * circle: p(t) = centre + cos(t) u + sin(t) v for t from `from` to `from + sweep` (radians); u and v are conjugate
 * half-diameters, so an affine map carries an arc to an arc. `end` is where it ends, given so that rounding opens no
 * gap.
 *
 * The polyline of a curve and of the same curve reversed hold the same points but for rounding.
 */
#ifndef DOVETELL_GEOM_FLATTEN_H
#define DOVETELL_GEOM_FLATTEN_H

#include "base/array.h"
#include <dovetell/geom.h>

typedef DT_ARRAY(dt_point) dt_points;

typedef struct dt_arc {
    dt_point centre, u, v;
    double from, sweep;
    dt_point end;
} dt_arc;

/* Appends the points of the curve after its first one, the last one included, so that the polyline stays within
 * tolerance of the curve and the curve within tolerance of the polyline. A cubic is halved at most 16 times over, an
 * arc divided into at most 65536 parts. All numbers finite, at most 1e12. False: no memory. O(points). */
bool dt_flatten_cubic(dt_points *out, const dt_point control[4], double tolerance);
bool dt_flatten_arc(dt_points *out, const dt_arc *arc, double tolerance);

/* The smallest box around the curve itself (not around its control points). */
dt_box dt_cubic_box(const dt_point control[4]);
dt_box dt_arc_box(const dt_arc *arc);

dt_point dt_arc_at(const dt_arc *arc, double t);

#endif
