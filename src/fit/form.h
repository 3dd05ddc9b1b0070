/* form.h - a shape made ready for fitting: nearest-point grids, sample points, and measures that no turn or shift changes.
 *
 * The measures rest on the support function h(u) of the convex hull. When two shapes lie so that no point of either outline is
 * more than d from the other, their support functions differ by at most d everywhere. Hence, with c_k the Fourier terms of h (a
 * shift changes c_1 alone, a turn by w multiplies c_k by exp(-ikw), a flip conjugates):
 *   - (c_0, sqrt 2 |c_2|, sqrt 2 |c_3|, ...) differ by at most d in Euclidean distance (Bessel's inequality);
 *   - the Steiner points, (1/pi) integral of h(u) u, lie within 4/pi d of each other.
 * So every rejection below is proved, not guessed. Source: Schneider, Convex bodies: the Brunn-Minkowski theory, 2014, chapter 1.
 */
#ifndef DOVETELL_FIT_FORM_H
#define DOVETELL_FIT_FORM_H

#include "geom/nearest.h"
#include <dovetell/fit.h>

enum { DT_FORM_TERMS = 14 };  /* c_0 .. c_13; c_1 stays 0 */
enum { DT_FORM_KEYS = 10 };   /* entries of the index key */

typedef struct dt_samples {
    const dt_point *points;
    size_t count;
} dt_samples;

typedef struct dt_form {
    dt_shape shape;             /* borrowed; in the arena of dt_form_prepare for one turned over */
    double area, perimeter;     /* of the outline alone */
    dt_point centre;            /* Steiner point of the convex hull */
    double radius;              /* largest distance from centre to the outline */
    double re[DT_FORM_TERMS], im[DT_FORM_TERMS];
    bool over;                  /* stands for the shape turned over (x -> -x); `shape` is so from dt_form_prepare on */
    bool prepared;              /* the rest is filled */
    dt_near outline, holes;     /* holes: count 0 when there are none */
    dt_samples outline_samples, hole_samples; /* evenly spaced points and all sharp corners */
} dt_form;

/* Does the line turn by more than 20 degrees at p? Such corners become samples. */
bool dt_turns_sharply(dt_point before, dt_point p, dt_point after);

/* Measures only: O(n log n). The shape must outlive the form. */
dt_status dt_form_measure(dt_shape shape, dt_arena *scratch, dt_form *out);
/* Grids and samples too; idempotent. */
dt_status dt_form_prepare(dt_form *form, dt_arena *arena);
/* The form turned over (x -> -x), measured, not prepared. form itself must not have been flipped. O(1). */
dt_form dt_form_flip(const dt_form *form);

void dt_form_key(const dt_form *form, float key[DT_FORM_KEYS]);
/* How far apart keys may lie when the mismatch is at most d: d, and room for the rounding to float. */
float dt_form_key_within(double d);
/* False only when no turn, shift or flip can bring the shapes within d of each other. */
bool dt_form_may_fit(const dt_form *a, const dt_form *b, double d);
/* For each turn of a by step * 2 pi / DT_TURN_STEPS radians (x -> y axis): the root mean square by which the support functions
 * differ when the Steiner points lie on each other; INFINITY where it is more than `most`. With a shift t besides, the mean
 * square is larger by t^2 / 2, since a shift is the one term that is left out. */
enum { DT_TURN_STEPS = 128 };
void dt_form_gaps(const dt_form *a, const dt_form *b, double most, double gaps[DT_TURN_STEPS]);
/* By how much that bound can change for each radian. */
double dt_form_gap_slope(const dt_form *a);

#endif
