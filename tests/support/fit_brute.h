/* fit_brute.h - fitting done the slow, plain way, sharing no code with src/: twins for the tests of src/fit. */
#ifndef DOVETELL_TESTS_FIT_BRUTE_H
#define DOVETELL_TESTS_FIT_BRUTE_H

#include <dovetell/fit.h>

/* Hausdorff distance of the outlines (and, apart, of the holes) with a at the pose: every point of a dense sample
 * against every segment. */
double brute_hausdorff(dt_shape a, dt_shape b, dt_pose pose);
/* Smallest over shifts and all turns: a grid over turns, then a grid search in shift and turn that closes in. No flips.
 */
double brute_mismatch(dt_shape a, dt_shape b);

/* Seeded shapes. points must have room for 400. */
dt_path brute_blob(uint64_t *state, double radius, bool smooth, dt_point *points);
void brute_move(dt_path path, dt_pose pose, dt_point *points);
dt_pose brute_random_pose(uint64_t *state, bool flipped);

#endif
