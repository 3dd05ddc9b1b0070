/* geom.h - points, boxes, poses and polylines in the plane.
 *
 * Lengths are millimetres. x runs to the right and y DOWN, as on the drawing. The signed area of a closed path is the
 * shoelace sum in these axes, so a path of positive area runs CLOCKWISE as seen on the drawing, and what it encloses
 * lies on its right-hand side as seen, which is "left" in the algebra of the axes: cross(b - a, p - a) > 0.
 *
 *        (0,0) ---> x        path (0,0)(1,0)(1,1)(0,1): area +1
 *          |
 *          v  y
 */
#ifndef DOVETELL_GEOM_H
#define DOVETELL_GEOM_H

#include <dovetell/status.h>
#include <math.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef struct dt_point {
    double x, y;
} dt_point;

typedef struct dt_box {
    dt_point low, high; /* empty when low.x > high.x */
} dt_box;
#define DT_BOX_EMPTY ((dt_box){{INFINITY, INFINITY}, {-INFINITY, -INFINITY}})

/* A polyline seen, not owned. Closed where the holder says so; a closed path does not repeat its first point. */
typedef struct dt_path {
    const dt_point *points;
    size_t count;
} dt_path;

/* A rigid motion: first, if flipped, x -> -x (turning the sheet over about the y axis); then the rotation
 * (x, y) -> (c x - s y, s x + c y); then the shift. c^2 + s^2 = 1. */
typedef struct dt_pose {
    double c, s;
    dt_point shift;
    bool flipped;
} dt_pose;
#define DT_POSE_IDENTITY ((dt_pose){1.0, 0.0, {0.0, 0.0}, false})

/* Inline: they are called hundreds of millions of times. */
static inline dt_point dt_point_add(dt_point a, dt_point b) {
    return (dt_point){a.x + b.x, a.y + b.y};
}
static inline dt_point dt_point_sub(dt_point a, dt_point b) {
    return (dt_point){a.x - b.x, a.y - b.y};
}
static inline dt_point dt_point_scale(dt_point a, double factor) {
    return (dt_point){a.x * factor, a.y * factor};
}
static inline double dt_point_dot(dt_point a, dt_point b) {
    return a.x * b.x + a.y * b.y;
}
static inline double dt_point_cross(dt_point a, dt_point b) {
    return a.x * b.y - a.y * b.x;
}
/* For lengths from 1e-150 to 1e150 mm: hypot would reach farther, but takes ten times as long. */
static inline double dt_point_distance(dt_point a, dt_point b) {
    return sqrt((a.x - b.x) * (a.x - b.x) + (a.y - b.y) * (a.y - b.y));
}

dt_box dt_box_of(dt_path path);
dt_box dt_box_join(dt_box a, dt_box b);
dt_box dt_box_grown(dt_box box, double margin);
bool dt_box_meets(dt_box a, dt_box b);
bool dt_box_is_empty(dt_box box);

dt_point dt_pose_apply(dt_pose pose, dt_point point);
dt_pose dt_pose_compose(dt_pose second, dt_pose first); /* apply first, then second */
dt_pose dt_pose_inverse(dt_pose pose);
/* The turn in degrees, counter-clockwise positive as seen on the drawing, in (-180, 180]. */
double dt_pose_turn(dt_pose pose);
/* The pose that turns by `turn` degrees (as above) after an optional flip and then carries `from` onto `to`. */
dt_pose dt_pose_about(double turn, bool flipped, dt_point from, dt_point to);

double dt_path_length(dt_path path);      /* open: first to last point */
double dt_path_perimeter(dt_path path);   /* closed: with the stretch from last to first */
double dt_path_area(dt_path path);        /* closed, signed as described above; 0 for fewer than 3 points */
dt_point dt_path_centroid(dt_path path);  /* closed: of the area; of the points where the area is 0 */

/* Distance from p to the segment a-b; *nearest (may be NULL) is the point of the segment that is nearest. */
double dt_segment_distance(dt_point p, dt_point a, dt_point b, dt_point *nearest);
/* Distance from p to a path (open, or closed with its last stretch), by all segments: O(count). INFINITY if empty. */
double dt_path_distance(dt_path path, bool closed, dt_point p);
/* Even-odd: is p inside the closed path? Points on the border may go either way. O(count). */
bool dt_path_contains(dt_path path, dt_point p);

/* Sign of the turn a -> b -> c: +1 when c lies where the area of (a, b, c) is positive, -1 when negative, 0 when the
 * three are in line. Exact: a floating-point filter, then exact expansion arithmetic (Shewchuk, Adaptive precision
 * floating-point arithmetic and fast robust geometric predicates, 1997). */
int dt_orientation(dt_point a, dt_point b, dt_point c);

#endif
