/* lap.h - an outline as it is walked once round: a measure of likeness that sees bays as well as knobs.
 *
 * A LAP is the outline as a function of the share of its length walked, in Fourier terms Z_k, k = +-1 .. +-8. A turn multiplies all of
 * them by one unit number, a start elsewhere Z_k by exp(ikw), a shift changes Z_0 alone (left out), a flip conjugates. By Parseval, two
 * outlines walked at the same pace cannot be brought nearer in the root mean square than the distance of their |Z_k|, nor nearer than the
 * best correlation leaves (Persoon and Fu, Shape discrimination using Fourier descriptors, 1977).
 */
#ifndef DOVETELL_FIT_LAP_H
#define DOVETELL_FIT_LAP_H

#include <dovetell/geom.h>

enum { DT_LAP_TERMS = 16 }; /* k = 1 .. 8, then -1 .. -8 */

typedef struct dt_lap {
    float re[DT_LAP_TERMS], im[DT_LAP_TERMS];
    float square;    /* sum of |Z_k|^2 */
    dt_point centre; /* Z_0 */
} dt_lap;

/* O(points). */
dt_lap dt_lap_of(dt_path closed);
/* |Z_k|, for an index: Euclidean distances of two keys are at most the root mean square distance of the outlines. Flips change nothing. */
void dt_lap_key(const dt_lap *lap, float key[DT_LAP_TERMS]);
dt_lap dt_lap_flip(const dt_lap *lap);
enum { DT_MOST_LAID = 8 };
/* Lays a on b wherever turn, start and shift bring the laps within a root mean square of d: locally best poses, found to a small part of a
 * degree; the best DT_MOST_LAID of them. None: nothing does. */
size_t dt_laps_lay(const dt_lap *a, const dt_lap *b, double d, dt_pose poses[DT_MOST_LAID]);

#endif
