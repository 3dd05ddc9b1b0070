/* stretch.h - how well a stretch of one outline lies along a side.
 *
 * Vocabulary: a LOOP is a ring of a piece (outline or hole) made ready for fitting, walked as the piece walks it. A COURSE is an
 * open side, walked likewise. At a pose of the loop, the FEET of the course's ends are the points of the loop nearest to them; the
 * STRETCH is the loop from the first foot to the second, in walking order.
 * DEVIATION: the largest distance from any point of the course to the loop and from any point of the stretch to the course.
 * It knows nothing of vertices, junctions or lengths, so a side may match the middle of a longer one or run over a corner.
 */
#ifndef DOVETELL_FIT_STRETCH_H
#define DOVETELL_FIT_STRETCH_H

#include "fit/mismatch.h"
#include "fit/track.h"
#include <math.h>

enum { DT_COURSE_POINTS = 32 };  /* evenly spaced by length, for first alignments */

typedef struct dt_loop {
    dt_path path;
    const double *at;           /* by vertex: length walked; one more entry: the whole length */
    double length;
    dt_track_line line;         /* its near is left out: a loop may be copied */
    dt_near near;               /* span i runs from vertex i to the next */
    const dt_point *samples;    /* evenly spaced points and sharp corners */
    const double *sample_at;    /* ascending */
    size_t sample_count;
} dt_loop;

typedef struct dt_course {
    dt_path path;
    double length;
    const double *at;           /* by vertex: length walked */
    dt_track_line line;         /* likewise */
    dt_near near;
    double step;                /* mm between samples */
    const dt_point *samples;
    const double *sample_at;    /* ascending */
    size_t sample_count;
    dt_point centre;            /* of the even points */
    double radius;              /* of the samples about it */
    dt_point even[DT_COURSE_POINTS]; /* relative to centre */
    double spread;              /* sum of squares of even */
} dt_course;

/* Both are sampled every step_mm (and at sharp corners): a deviation is true to about step^2 / 16 over the radius of the curve.
 * Steps that grow with the eye keep the answers the same when a draft is scaled. */
dt_status dt_loop_new(dt_path closed, double step_mm, dt_arena *arena, dt_loop *out);
/* The same where the grid of the one path was made already; it is borrowed. */
dt_status dt_loop_on(const dt_near *near, dt_path closed, double step_mm, dt_arena *arena, dt_loop *out);
/* Length, even points, centre and spread only. */
dt_status dt_course_measure(dt_path open, dt_course *out);
dt_status dt_course_new(dt_path open, double step_mm, dt_arena *arena, dt_course *out);

/* `count` points of an open path, at from, from + step, ... from its start. O(points). */
void dt_path_points(dt_path open, double from, double step, size_t count, dt_point *points);
/* The leg on which the loop has been walked for `at` mm (cyclic). */
uint32_t dt_loop_leg(const dt_loop *loop, double at);
/* `count` points of the loop, at from, from + step, ... walked (cyclic). O(count + vertices passed). */
void dt_loop_points(const dt_loop *loop, double from, double step, size_t count, dt_point *points);
/* The pose that lays the stretch of the course's length from `from` along the course by least squares over corresponding
 * lengths; *rms_mm is what remains. */
dt_pose dt_stretch_align(const dt_course *course, const dt_loop *loop, double from, double *rms_mm);

/* A line as long as `length` between two points whose distance has this square strays no farther than this from their chord, nor the chord
 * from it. */
static inline double dt_sag(double length, double chord_square) {
    double square = length * length - chord_square;
    return square > 0.0 ? 0.5 * sqrt(square) : 0.0;
}

/* A course laid on a loop, by every stride-th sample of both (1 = all; a larger stride never makes the deviation larger). */
typedef struct dt_lay {
    const dt_course *course;
    const dt_loop *loop;
    size_t stride;
    double give_up;   /* stop looking as soon as a distance is beyond this */
    double tracked;   /* a distance up to this may be that to the part of the line where the walk goes on, though another part be
                         nearer (and much faster); 0 = always the nearest point */
} dt_lay;
/* The pulls of a lay, as dt_pull_source; returns the deviation. */
double dt_lay_pulls(const dt_lay *lay, dt_pose pose, dt_pull *pulls, size_t room, size_t *count);
/* Deviation at one pose of the loop; INFINITY where the feet lie the wrong way round. */
double dt_stretch_deviation(dt_fitter *fitter, const dt_course *course, const dt_loop *loop, dt_pose pose);
/* Is there a pose near this one with a deviation of at most limit? Improves *pose until it is found; gives the deviation there,
 * or INFINITY. leg: of the loop, about where the course begins (any will do, a good one saves time). */
double dt_stretch_reach(dt_fitter *fitter, const dt_course *course, const dt_loop *loop, uint32_t leg, double limit, dt_pose *pose);
/* Improves a pose whose deviation is `known` to a local best; returns the deviation there. */
double dt_stretch_refine(dt_fitter *fitter, const dt_course *course, const dt_loop *loop, double known, dt_pose *pose);

#endif
