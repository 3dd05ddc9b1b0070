/* mismatch.h - the best rigid fit of one form onto another.
 *
 * MISMATCH of two forms at a pose: the Hausdorff distance of their outlines (and, apart, of all their holes): the largest
 * distance from any point of either line to the other line. Why this one: it is what a gauge would find, it is symmetric, and
 * it knows nothing of vertices or of where an outline starts. What it does not see (a thin band that follows the whole outline
 * of a disc) is kept out by comparing the enclosed areas.
 */
#ifndef DOVETELL_FIT_MISMATCH_H
#define DOVETELL_FIT_MISMATCH_H

#include "fit/form.h"
#include "geom/rigid_fit.h"

#define DT_POSE_OVER ((dt_pose){1.0, 0.0, {0.0, 0.0}, true}) /* x -> -x: from a shape to its flipped form */

enum { DT_FITTER_EXTRAS = 24 };

/* Fits of stretches may be given up a little too soon where lists are cut anyway. Of a thousand ways that a patient fit finds, a hasty one
 * misses a few and the hastiest eight. */
typedef enum dt_haste { DT_PATIENT, DT_HASTY, DT_HASTIEST } dt_haste;

/* Scratch of one fit after another. */
typedef struct dt_fitter {
    dt_pull *pulls;
    dt_minimax_rows *rows;
    size_t room;
    dt_haste haste;
    size_t work;  /* nearest points that the fits of forms asked for so far: what their cost is counted in */
    dt_point extra_a[DT_FITTER_EXTRAS], extra_b[DT_FITTER_EXTRAS]; /* samples added where the exact distance was larger */
    size_t extra_a_count, extra_b_count;
} dt_fitter;

dt_status dt_fitter_new(dt_arena *arena, dt_fitter *out);

/* A turn from which a fit is worth trying. */
typedef struct dt_start {
    double angle;  /* radians, x -> y axis */
    double value;  /* largest distance of a few points there */
} dt_start;
enum { DT_START_TURNS = DT_TURN_STEPS, DT_MOST_STARTS = DT_START_TURNS };

/* Which turns of the grid may hold, or lie next to, a pose with a mismatch of at most limit; needs no grids. */
void dt_forms_turns(const dt_form *a, const dt_form *b, double limit, bool may[DT_START_TURNS]);
/* For each turn on the grid, the largest distance of a few points with the centres laid on each other; INFINITY where the
 * mismatch is proved to be beyond limit. Both forms prepared. */
void dt_forms_glance(dt_fitter *fitter, const dt_form *a, const dt_form *b, double limit, double values[DT_START_TURNS]);
/* All turns, on a grid of DT_START_TURNS, that are locally best among their neighbours and not proved to be beyond limit;
 * best first. Both forms prepared. */
size_t dt_forms_starts(dt_fitter *fitter, const dt_form *a, const dt_form *b, double limit, dt_start starts[DT_MOST_STARTS]);
dt_pose dt_start_pose(const dt_form *a, const dt_form *b, double angle);

/* Improves *pose to a local best; returns the mismatch there, exact to 0.001 mm, or INFINITY when it is beyond limit. */
double dt_forms_refine(dt_fitter *fitter, const dt_form *a, const dt_form *b, double limit, dt_pose *pose, dt_point *differ_at);
/* The mismatch over all turns and shifts of a, without flips; INFINITY when it is beyond limit. */
double dt_forms_fit(dt_fitter *fitter, const dt_form *a, const dt_form *b, double limit, dt_pose *pose, dt_point *differ_at);
/* The same; but copies mostly lie turned as they were drawn: where those differ by no more than `same` mm no turn is tried. */
double dt_forms_fit_copy(dt_fitter *fitter, const dt_form *a, const dt_form *b, double same, double limit, dt_pose *pose,
                         dt_point *differ_at);
/* Does a fit from this pose come within the limit, or so near that a polish may bring it there? A few points refuse most. */
bool dt_forms_promise(dt_fitter *fitter, const dt_form *a, const dt_form *b, double limit, dt_pose pose);
#define DT_POLISH_MM 0.03  /* more than a polish was ever seen to gain (tests/slow: 0.01): a fit this much beyond a limit deserves one */
/* Looks beside a fit for a better one, by starts turned a little from it: where a hundredth of a millimetre matters. */
double dt_forms_polish(dt_fitter *fitter, const dt_form *a, const dt_form *b, double value, dt_pose *pose, dt_point *differ_at);
/* Exact mismatch at one pose. */
double dt_forms_mismatch_at(const dt_form *a, const dt_form *b, dt_pose pose, dt_point *differ_at);
/* About what that costs, in `work`. */
size_t dt_forms_gauge_work(const dt_form *a, const dt_form *b);

#endif
