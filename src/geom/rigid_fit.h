/* rigid_fit.h - the rigid motion that makes the largest of many distances as small as possible.
 *
 * Vocabulary: a PULL says that one distance, now `distance`, grows with the motion of the point `at` along `direction`. For a
 * small shift v and turn w (radians) about a centre c it becomes |distance + direction . (v + w J(at - c))|, with J the quarter
 * turn (x, y) -> (-y, x).
 */
#ifndef DOVETELL_GEOM_RIGID_FIT_H
#define DOVETELL_GEOM_RIGID_FIT_H

#include <dovetell/geom.h>

typedef struct dt_pull {
    dt_point at, direction; /* direction has length 1 */
    double distance;
} dt_pull;

/* The pulls at a pose (at most `room` of them, the same number at every pose is not needed); returns the largest distance, for
 * which no pull may be missing. */
typedef double (*dt_pull_source)(void *context, dt_pose pose, dt_pull *pulls, size_t room, size_t *count);

/* Two rows of the linear program, |g . x + distance| <= t, side by side, so that a processor takes them in one. Of an odd number the
 * last one stands twice. */
typedef double dt_two __attribute__((vector_size(16)));
typedef struct dt_minimax_rows {
    dt_two g[3], distance;
} dt_minimax_rows;

typedef struct dt_rigid_fit {
    dt_pull_source source;
    void *context;
    dt_point centre;      /* in the axes of the target: turns are about here */
    double radius;        /* mm: a turn by w moves points by about radius * w */
    double enough_mm;     /* stop as soon as the largest distance is no more than this; below 0 = never */
    double hopeless_mm;   /* stop when it seems to stay above this; INFINITY = never */
    bool hasty;           /* ... as soon as one step promises no less: right all but a few times in a thousand */
    double give_up_mm;    /* stop at once when it begins above this; 0 = never. The source need not go on looking beyond it */
    double step_mm;       /* stop when the next step promises less than this */
    dt_pull *pulls;       /* scratch: room of each */
    dt_minimax_rows *rows; /* half as many are used */
    size_t room;
} dt_rigid_fit;

/* Improves *pose until no small motion promises to make the largest distance smaller by step_mm; returns that distance.
 * Method: sequential linear programming with a trust region: each step solves
 *     min t  subject to  |distance_i + gradient_i . x| <= t,  |x_k| <= trust
 * exactly by the dual simplex method (four variables), is kept when the true largest distance falls, and else the region
 * shrinks. Source: Madsen, An algorithm for minimax solution of overdetermined systems of non-linear equations, 1975. */
double dt_rigid_fit_run(const dt_rigid_fit *fit, dt_pose *pose);

/* The smallest t with |g_i . x + distance_i| <= t for all rows and |x_k| <= trust, and the x that reaches it. */
double dt_minimax_step(const dt_minimax_rows *rows, size_t count, double trust, double x[3]);
/* Row `index` of the rows. */
void dt_minimax_put(dt_minimax_rows *rows, size_t index, const double g[3], double distance);

#endif
