/* How far a stretch of a loop and a course lie apart at a pose, and the poses at which they lie nearer: see stretch.h.
 *
 * A fit begins with a SKETCH: every few samples of the course, to the loop. What a sketch leaves out is borne out by bounds between
 * its samples, or shows a place that is farther off; that becomes part of the sketch, and the fit goes on (an exchange method).
 * Invariant: no fit is accepted on a sketch alone. */
#include "fit/stretch.h"

#include <math.h>
#include <string.h>

static const double MOST_LENGTH_RATIO = 2.5; /* a stretch longer than this times the side goes round by another way */
static const double REACH_SHARE = 0.01, REFINE_SHARE = 0.03; /* a fit that promises less than this part of a sample step is at its best */
static const double HOPE_SHARE[] = {1.3, 1.1, 1.0}; /* by haste: a fit goes on while it promises this many times the limit */
static const double FIRST_AIM = 0.9, NEXT_AIM = 0.97; /* what a sketch calls this part of the limit is within it for most */
static const double BOUND_SHARE = 0.1;       /* of the limit: to this a deviation within it is told */
static const double DOUBT_SHARE = 0.02;      /* of the limit: between two samples no more is asked */
/* Times the limit: nothing that far off at first was ever brought within it; but, by haste, one in a hundred and fifty of what was. */
static const double HOPELESS[] = {2.3, 2.3, 2.0};
enum { FEW_STRIDE = 6, FEW_LAID = 4, MOST_FEET = 1024, MOST_STRAYS = 16, MOST_ROUNDS = 12, MOST_PASSED = 64 };

/* ---- pulls ---- */

typedef struct bundle {
    dt_pull *pulls;
    size_t count, room;
    double most;
} bundle;

static inline void add_pull(bundle *list, dt_point moving, dt_point direction, double distance) {
    list->most = dt_plane_larger(list->most, distance);
    if (list->count < list->room) list->pulls[list->count++] = (dt_pull){moving, direction, distance};
}

/* The track stands on the loop, at the foot of `still`, a point of the course. */
static inline void pull_loop(bundle *list, const dt_track *t, dt_pose pose, dt_point still) {
    dt_point toward = dt_plane_turn(pose, t->toward);
    double distance = t->foot.distance;
    add_pull(list, (dt_point){still.x - distance * toward.x, still.y - distance * toward.y}, (dt_point){-toward.x, -toward.y}, distance);
}

static inline dt_track track_on(const dt_track_line *line, const dt_near *near, double enough) {
    dt_track t;
    t.line = *line;
    t.line.near = near;
    t.enough = enough;
    t.foot.leg = 0;
    t.foot.foot = 0.0;
    return t;
}

static inline dt_track track_on_loop(const dt_loop *loop, double enough) {
    return track_on(&loop->line, &loop->near, enough);
}

static inline dt_track track_on_course(const dt_course *course, double enough) {
    return track_on(&course->line, &course->near, enough);
}

/* ---- deviation ---- */

/* Course to loop; gives the feet of both ends. A tracked foot no farther off than the largest distance so far leaves that as it is. */
static void pull_course(bundle *list, const dt_lay *l, dt_pose pose, double feet[2]) {
    const dt_course *course = l->course;
    dt_pose back = dt_pose_inverse(pose);
    dt_track t = track_on_loop(l->loop, l->tracked);
    size_t last = course->sample_count - 1, next;
    dt_track_start(&t, dt_plane_carry(back, course->samples[0]), 0);
    feet[0] = t.foot.foot;
    for (size_t i = 0;; i = next) {
        pull_loop(list, &t, pose, course->samples[i]);
        if (list->most > l->give_up || i == last) break;
        next = i + l->stride < last ? i + l->stride : last;
        t.enough = dt_plane_larger(l->tracked, list->most);
        dt_track_walk(&t, dt_plane_carry(back, course->samples[next]), course->sample_at[next] - course->sample_at[i]);
    }
    feet[1] = t.foot.foot;
}

static size_t first_sample(const dt_loop *loop, double at) {
    size_t low = 0, high = loop->sample_count;
    while (low < high) {
        size_t middle = (low + high) / 2;
        if (loop->sample_at[middle] < at) low = middle + 1;
        else high = middle;
    }
    return low;
}

/* The loop's samples between the feet, to the course. */
static void pull_stretch(bundle *list, const dt_lay *l, dt_pose pose, double from, double length) {
    const dt_loop *loop = l->loop;
    size_t i = first_sample(loop, from);
    dt_track t = track_on_course(l->course, l->tracked);
    double at = from;
    for (double round = 0.0;; i += l->stride) {
        if (i >= loop->sample_count) {
            i -= loop->sample_count;
            round += loop->length;
        }
        double here = loop->sample_at[i] + round;
        if (here > from + length) break;
        dt_point p = dt_plane_carry(pose, loop->samples[i]);
        t.enough = dt_plane_larger(l->tracked, list->most);
        dt_track_walk(&t, p, here - at);
        at = here;
        add_pull(list, p, t.toward, t.foot.distance);
        if (list->most > l->give_up) return;
    }
}

double dt_lay_pulls(const dt_lay *lay, dt_pose pose, dt_pull *pulls, size_t room, size_t *count) {
    bundle list = {pulls, 0, room, 0.0};
    double feet[2] = {0.0, 0.0}, whole = lay->loop->length, longest = MOST_LENGTH_RATIO * lay->course->length;
    pull_course(&list, lay, pose, feet);
    *count = list.count;
    if (list.most > lay->give_up) return list.most;
    double length = feet[1] - feet[0];
    if (length < -whole / 2.0 || (length < 0.0 && length + whole <= longest)) length += whole;
    if (length > longest || length < -2.0 * list.most) list.most = INFINITY;
    else if (length > 0.0) pull_stretch(&list, lay, pose, feet[0], length);
    *count = list.count;
    return list.most;
}

static double pulls_of_lay(void *context, dt_pose pose, dt_pull *pulls, size_t room, size_t *count) {
    return dt_lay_pulls(context, pose, pulls, room, count);
}

double dt_stretch_deviation(dt_fitter *fitter, const dt_course *course, const dt_loop *loop, dt_pose pose) {
    size_t count;
    return dt_lay_pulls(&(dt_lay){course, loop, 1, INFINITY, 0.0}, pose, fitter->pulls, fitter->room, &count);
}

/* ---- sketches ---- */

typedef struct sketch {
    const dt_course *course;
    const dt_loop *loop;
    double give_up, tracked;      /* as in dt_lay */
    uint16_t used[MOST_FEET];     /* samples of the course, ascending */
    size_t used_count;
    dt_point strays[MOST_STRAYS]; /* points of the loop, to the course */
    double stray_feet[MOST_STRAYS];
    size_t stray_count;
    dt_pose pose, back;           /* of the last look */
    double most, bound;           /* largest distance there, and the most that lines between samples were found to be apart */
    dt_foot feet[MOST_FEET];      /* by sample of the course; only those looked at are filled */
} sketch;

/* Field by field: the arrays are large, and only what is used of them is written. */
static void sketch_begin(sketch *k, const dt_lay *lay, uint32_t leg, dt_pose pose) {
    size_t last = lay->course->sample_count - 1;
    dt_track t = track_on_loop(lay->loop, lay->tracked);
    k->course = lay->course;
    k->loop = lay->loop;
    k->give_up = lay->give_up;
    k->tracked = lay->tracked;
    k->used_count = k->stray_count = 0;
    for (size_t i = 0; i < last; i += FEW_STRIDE) k->used[k->used_count++] = (uint16_t)i;
    k->used[k->used_count++] = (uint16_t)last;
    dt_track_start(&t, dt_plane_carry(dt_pose_inverse(pose), k->course->samples[0]), leg);
    k->feet[0] = t.foot;
}

static void pull_strays(bundle *list, const sketch *k, dt_pose pose) {
    for (size_t i = 0; i < k->stray_count && list->most <= k->give_up; i++) {
        dt_track t = track_on_course(k->course, dt_plane_larger(k->tracked, list->most));
        dt_point p = dt_plane_carry(pose, k->strays[i]);
        dt_track_walk(&t, p, k->stray_feet[i]);
        add_pull(list, p, t.toward, t.foot.distance);
    }
}

static double pulls_of_sketch(void *context, dt_pose pose, dt_pull *pulls, size_t room, size_t *count) {
    sketch *k = context;
    const dt_course *course = k->course;
    bundle list = {pulls, 0, room, 0.0};
    dt_track t = track_on_loop(k->loop, k->tracked);
    double walked = course->sample_at[k->used[0]];
    k->pose = pose;
    k->back = dt_pose_inverse(pose);
    t.foot = k->feet[k->used[0]];
    for (size_t n = 0; n < k->used_count && list.most <= k->give_up; n++) {
        size_t i = k->used[n];
        dt_point still = course->samples[i];
        t.enough = dt_plane_larger(k->tracked, list.most);
        dt_track_walk(&t, dt_plane_carry(k->back, still), course->sample_at[i] - walked);
        walked = course->sample_at[i];
        k->feet[i] = t.foot;
        pull_loop(&list, &t, pose, still);
    }
    pull_strays(&list, k, pose);
    k->most = k->bound = list.most;
    *count = list.count;
    return list.most;
}

static bool add_sample(sketch *k, size_t sample) {
    size_t at = 0;
    while (at < k->used_count && k->used[at] < sample) at++;
    if (k->used_count == MOST_FEET || (at < k->used_count && k->used[at] == sample)) return false;
    memmove(k->used + at + 1, k->used + at, (k->used_count - at) * sizeof *k->used);
    k->used[at] = (uint16_t)sample;
    k->used_count++;
    return true;
}

static bool add_stray(sketch *k, dt_point p, double foot) {
    if (k->stray_count == MOST_STRAYS) return false;
    k->strays[k->stray_count] = p;
    k->stray_feet[k->stray_count++] = foot;
    return true;
}

/* ---- what a sketch leaves out ---- */

typedef enum verdict { BORNE_OUT, FARTHER, IN_DOUBT } verdict;

/* From one place on the loop to another, the shorter way. */
static double onward(const dt_loop *loop, double from, double to) {
    double along = to - from;
    return along < -0.5 * loop->length ? along + loop->length : along > 0.5 * loop->length ? along - loop->length : along;
}

static inline double square_of(dt_point v) {
    return v.x * v.x + v.y * v.y;
}

static double sag_of_course(const sketch *k, size_t i, size_t j) {
    const dt_course *course = k->course;
    return dt_sag(course->sample_at[j] - course->sample_at[i], square_of(dt_plane_sub(course->samples[j], course->samples[i])));
}

/* Between samples i and j, the course and the loop lie within this of each other: chords that join points d apart and e apart are
 * within max(d, e) of each other. */
static double bound_between(const sketch *k, size_t i, size_t j) {
    const dt_foot *a = &k->feet[i], *b = &k->feet[j];
    double along = fabs(onward(k->loop, a->foot, b->foot));
    return dt_plane_larger(a->distance, b->distance) + dt_sag(along, square_of(dt_plane_sub(b->at, a->at))) + sag_of_course(k, i, j);
}

/* The vertex between two feet that is farthest from the chord of two samples next to each other. */
typedef struct passed {
    dt_point vertex;  /* in the loop's axes */
    double distance;
    bool all;         /* all vertices were looked at */
} passed;

static passed farthest_passed(const sketch *k, size_t i) {
    const dt_foot *from = &k->feet[i], *to = &k->feet[i + 1];
    if (onward(k->loop, from->foot, to->foot) < 0.0) {
        from = &k->feet[i + 1];
        to = &k->feet[i];
    }
    dt_point a = dt_plane_carry(k->back, k->course->samples[i]), b = dt_plane_carry(k->back, k->course->samples[i + 1]);
    passed most = {from->at, 0.0, false};
    uint32_t leg = from->leg;
    for (int steps = 0; steps < MOST_PASSED && leg != to->leg; steps++) {
        dt_point vertex = k->loop->near.spans[leg].b;
        double distance = dt_segment_distance(vertex, a, b, NULL);
        if (distance > most.distance) most = (passed){vertex, distance, false};
        leg = leg + 1 == k->loop->near.count ? 0 : leg + 1;
    }
    most.all = leg == to->leg;
    return most;
}

/* A chord and a line whose ends and vertices all lie within d of it are within d of each other: each is met by the nearest points of the
 * other, or by its ends. */
static verdict look_between(sketch *k, size_t i, double limit) {
    passed most = farthest_passed(k, i);
    double chord = dt_plane_larger(most.distance, dt_plane_larger(k->feet[i].distance, k->feet[i + 1].distance));
    if (most.all && chord + sag_of_course(k, i, i + 1) <= limit + DOUBT_SHARE * limit) {
        k->bound = dt_plane_larger(k->bound, chord);
        return BORNE_OUT;
    }
    dt_track t = track_on_course(k->course, 0.0);
    dt_track_start(&t, dt_plane_carry(k->pose, most.vertex), 0);
    return t.foot.distance > limit && add_stray(k, most.vertex, t.foot.foot) ? FARTHER : IN_DOUBT;
}

/* Halves the part from i to j until its bound is at most BOUND_SHARE above the largest distance found. What is beyond the limit is
 * added to the sketch. */
static verdict bear_out(sketch *k, size_t i, size_t j, double limit) {
    double bound = bound_between(k, i, j);
    if (bound <= dt_plane_smaller(k->most + BOUND_SHARE * limit, limit)) {
        k->bound = dt_plane_larger(k->bound, bound);
        return BORNE_OUT;
    }
    if (j == i + 1) return look_between(k, i, limit);
    const dt_course *course = k->course;
    size_t middle = (i + j) / 2;
    dt_track t = track_on_loop(k->loop, k->tracked);
    t.foot = k->feet[i];
    dt_track_walk(&t, dt_plane_carry(k->back, course->samples[middle]), course->sample_at[middle] - course->sample_at[i]);
    k->feet[middle] = t.foot;
    k->most = dt_plane_larger(k->most, t.foot.distance);
    if (t.foot.distance > limit) return add_sample(k, middle) ? FARTHER : IN_DOUBT;
    verdict first = bear_out(k, i, middle, limit);
    return first == BORNE_OUT ? bear_out(k, middle, j, limit) : first;
}

static verdict bear_out_all(sketch *k, double limit) {
    double walked = 0.0;
    for (size_t n = 1; n < k->used_count; n++) {
        size_t i = k->used[n - 1], j = k->used[n];
        walked += onward(k->loop, k->feet[i].foot, k->feet[j].foot);
        verdict found = bear_out(k, i, j, limit);
        if (found != BORNE_OUT) return found;
    }
    return walked < -2.0 * k->most ? IN_DOUBT : BORNE_OUT;
}

/* ---- fits ---- */

/* What ends a fit. */
typedef struct goal {
    double enough, hopeless, give_up, step;
} goal;

static double run_fit(dt_fitter *fitter, const dt_course *course, dt_pull_source source, void *context, const goal *g, dt_pose *pose) {
    dt_rigid_fit fit = {.source = source, .context = context, .centre = course->centre, .radius = fmax(course->radius, 1e-3),
                        .enough_mm = g->enough, .hopeless_mm = g->hopeless, .hasty = fitter->haste != DT_PATIENT, .give_up_mm = g->give_up, .step_mm = g->step,
                        .pulls = fitter->pulls, .rows = fitter->rows, .room = fitter->room};
    return dt_rigid_fit_run(&fit, pose);
}

static bool is_same(dt_pose a, dt_pose b) {
    return a.c == b.c && a.s == b.s && a.shift.x == b.shift.x && a.shift.y == b.shift.y;
}

/* Afterwards the sketch stands at *pose. */
static double run_sketch(dt_fitter *fitter, sketch *k, const goal *g, dt_pose *pose) {
    size_t count;
    double value = run_fit(fitter, k->course, pulls_of_sketch, k, g, pose);
    if (value < INFINITY && !is_same(k->pose, *pose)) pulls_of_sketch(k, *pose, fitter->pulls, fitter->room, &count);
    return value;
}

static verdict reach_by_sketch(dt_fitter *fitter, const dt_lay *lay, uint32_t leg, double limit, double *value, dt_pose *pose) {
    goal g = {FIRST_AIM * limit, HOPE_SHARE[fitter->haste] * limit, lay->give_up, REACH_SHARE * lay->course->step};
    verdict found = FARTHER;
    sketch k;
    sketch_begin(&k, lay, leg, *pose);
    for (int round = 0; round < MOST_ROUNDS && found == FARTHER; round++) {
        *value = run_sketch(fitter, &k, &g, pose);
        if (*value > limit) return FARTHER;
        found = bear_out_all(&k, limit);
        g.enough = NEXT_AIM * limit;
    }
    *value = dt_plane_smaller(dt_plane_larger(k.bound, k.most), limit);
    return found == FARTHER ? IN_DOUBT : found;
}

/* Where a sketch leaves doubt, all samples of both lines are asked. */
double dt_stretch_reach(dt_fitter *fitter, const dt_course *course, const dt_loop *loop, uint32_t leg, double limit, dt_pose *pose) {
    double give_up = HOPELESS[fitter->haste] * limit;
    dt_lay all = {course, loop, 1, give_up, limit};
    verdict found = IN_DOUBT;
    double value = INFINITY;
    if (course->sample_count <= MOST_FEET) found = reach_by_sketch(fitter, &all, leg, limit, &value, pose);
    if (found == IN_DOUBT) {
        goal g = {limit, HOPE_SHARE[fitter->haste] * limit, give_up, REACH_SHARE * course->step};
        value = run_fit(fitter, course, pulls_of_lay, &all, &g, pose);
    }
    return value <= limit ? value : INFINITY;
}

/* How far the course's vertices lie off the loop: samples may lie on either side of one. */
static double off_at_vertices(const dt_course *course, const dt_loop *loop, dt_pose pose) {
    dt_pose back = dt_pose_inverse(pose);
    double most = 0.0;
    dt_hit found = {0};
    for (size_t i = 0; i < course->path.count; i++) {
        found = dt_near_find(&loop->near, dt_pose_apply(back, course->path.points[i]), found.span);
        most = fmax(most, found.distance);
    }
    return most;
}

/* First over few samples. */
double dt_stretch_refine(dt_fitter *fitter, const dt_course *course, const dt_loop *loop, double known, dt_pose *pose) {
    dt_lay few = {course, loop, FEW_LAID, INFINITY, known}, all = {course, loop, 1, INFINITY, known};
    goal g = {0.0, INFINITY, 0.0, REFINE_SHARE * course->step};
    dt_pose by_few = *pose, best = *pose;
    size_t count;
    run_fit(fitter, course, pulls_of_lay, &few, &g, &by_few);
    if (dt_lay_pulls(&all, by_few, fitter->pulls, fitter->room, &count) < known) best = by_few;
    double value = run_fit(fitter, course, pulls_of_lay, &all, &g, &best);
    value = fmax(value, off_at_vertices(course, loop, best));
    if (value > known) return known;
    *pose = best;
    return value;
}
