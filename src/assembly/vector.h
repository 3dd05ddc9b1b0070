/* vector.h - poses that are never flipped, as all poses of the search are: a piece turned over is a body of its own. */
#ifndef DOVETELL_ASSEMBLY_VECTOR_H
#define DOVETELL_ASSEMBLY_VECTOR_H

#include <dovetell/geom.h>
#include <math.h>

static inline dt_point turn_by(dt_pose pose, dt_point v) {
    return (dt_point){pose.c * v.x - pose.s * v.y, pose.s * v.x + pose.c * v.y};
}

static inline dt_point carry(dt_pose pose, dt_point p) {
    return dt_point_add(turn_by(pose, p), pose.shift);
}

#endif
