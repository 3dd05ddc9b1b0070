/* plane.h - a few of the small functions of geom.h as inline code, for innermost loops alone. */
#ifndef DOVETELL_GEOM_PLANE_H
#define DOVETELL_GEOM_PLANE_H

#include <dovetell/geom.h>
#include <math.h>

/* The turn of the pose (and its flip), without the shift. */
static inline dt_point dt_plane_turn(dt_pose pose, dt_point v) {
    if (pose.flipped) v.x = -v.x;
    return (dt_point){pose.c * v.x - pose.s * v.y, pose.s * v.x + pose.c * v.y};
}

static inline dt_point dt_plane_carry(dt_pose pose, dt_point p) {
    dt_point q = dt_plane_turn(pose, p);
    return (dt_point){q.x + pose.shift.x, q.y + pose.shift.y};
}

static inline dt_point dt_plane_sub(dt_point a, dt_point b) {
    return (dt_point){a.x - b.x, a.y - b.y};
}

/* Without hypot's care for overflow: millimetres on a sheet. */
static inline double dt_plane_length(dt_point v) {
    return sqrt(v.x * v.x + v.y * v.y);
}

static inline double dt_plane_larger(double a, double b) {
    return a > b ? a : b;
}

static inline double dt_plane_smaller(double a, double b) {
    return a < b ? a : b;
}

#endif
