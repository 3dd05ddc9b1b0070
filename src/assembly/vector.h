/* vector.h - the vector operations of geom.h once more, where the compiler can see through them: half of the search's time went into
 * calling them. */
#ifndef DOVETELL_ASSEMBLY_VECTOR_H
#define DOVETELL_ASSEMBLY_VECTOR_H

#include <dovetell/geom.h>
#include <math.h>

static inline dt_point plus(dt_point a, dt_point b) {
    return (dt_point){a.x + b.x, a.y + b.y};
}

static inline dt_point minus(dt_point a, dt_point b) {
    return (dt_point){a.x - b.x, a.y - b.y};
}

static inline dt_point times(dt_point a, double factor) {
    return (dt_point){a.x * factor, a.y * factor};
}

static inline double dot(dt_point a, dt_point b) {
    return a.x * b.x + a.y * b.y;
}

static inline double cross(dt_point a, dt_point b) {
    return a.x * b.y - a.y * b.x;
}

static inline double apart(dt_point a, dt_point b) {
    return sqrt(dot(minus(a, b), minus(a, b)));
}

/* Poses of the search are never flipped. */
static inline dt_point turn_by(dt_pose pose, dt_point v) {
    return (dt_point){pose.c * v.x - pose.s * v.y, pose.s * v.x + pose.c * v.y};
}

static inline dt_point carry(dt_pose pose, dt_point p) {
    return plus(turn_by(pose, p), pose.shift);
}

#endif
