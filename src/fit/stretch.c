/* How well a stretch of one outline lies along a side: see stretch.h. */
#include "fit/stretch.h"

#include "fit/track.h"

#include <math.h>

static const double TOUCHING_MM = 1e-7;
static const double MOST_LENGTH_RATIO = 2.5;/* a stretch longer than this times the side goes round by another way */
static const double REACH_SHARE = 0.01, REFINE_SHARE = 0.03; /* a fit that promises less than this part of a sample step is at its best */
static const double HOPE_SHARE = 1.3;        /* a fit goes on while it promises this many times the limit */
static const double FEW_AIM = 0.9;          /* what few samples call this part of the limit is within it for most */
static const double BOUND_SHARE = 0.02;     /* of the limit: to this a deviation within it is told */
static const double HOPELESS = 2.3;         /* times the limit: nothing that far off at first was ever brought within it */
enum { FEW_STRIDE = 4, MOST_LOOP_SAMPLES = 4000, MOST_COURSE_SAMPLES = 1000, MOST_FEET = 1024 };

/* ---- making ready ---- */

typedef struct walk {
    dt_point *points;
    double *at;
    size_t count;
} walk;

static void put(walk *w, dt_point p, double at) {
    if (w->points) {
        w->points[w->count] = p;
        w->at[w->count] = at;
    }
    w->count++;
}

static dt_point point_in(dt_path path, size_t i) {
    return path.points[i < path.count ? i : i - path.count];
}

/* A path with its spans (as many as points when it is closed) and the length walked up to each vertex. */
typedef struct measured {
    dt_path path;
    size_t spans;
    const double *at;
} measured;

static const double *lengths_to(dt_path path, size_t spans, dt_arena *arena) {
    double *at = DT_TAKE(arena, spans + 1, double);
    for (size_t i = 0; at && i < spans; i++) at[i + 1] = at[i] + dt_plane_length(dt_plane_sub(point_in(path, i + 1), point_in(path, i)));
    return at;
}

/* Samples of a path; both ends of an open one are among them. */
static void walk_path(const measured *m, double step, walk *w) {
    double due = 0.0;
    bool closed = m->spans == m->path.count;
    for (size_t i = 0; i < m->spans; i++) {
        dt_point p = point_in(m->path, i), q = point_in(m->path, i + 1);
        double walked = m->at[i], length = m->at[i + 1] - walked;
        if ((i > 0 || closed) && due > walked && dt_turns_sharply(point_in(m->path, i > 0 ? i - 1 : m->path.count - 1), p, q)) put(w, p, walked);
        for (; due < m->at[i + 1]; due += step) {
            double t = (due - walked) / length;
            put(w, (dt_point){p.x + t * (q.x - p.x), p.y + t * (q.y - p.y)}, due);
        }
    }
    if (!closed) put(w, m->path.points[m->path.count - 1], m->at[m->spans]);
}

static dt_status take_walk(const measured *m, double step, dt_arena *arena, walk *out) {
    double length = m->at[m->spans];
    bool closed = m->spans == m->path.count;
    step = fmax(step, length / (closed ? MOST_LOOP_SAMPLES : MOST_COURSE_SAMPLES) * 2.0);
    if (!closed) step = fmin(step, length / 12.0);
    walk w = {NULL, NULL, 0};
    walk_path(m, step, &w);
    w.points = DT_TAKE(arena, w.count, dt_point);
    w.at = DT_TAKE(arena, w.count, double);
    if (!w.points || !w.at) return DT_NO_MEMORY;
    w.count = 0;
    walk_path(m, step, &w);
    *out = w;
    return DT_OK;
}

dt_status dt_loop_on(const dt_near *near, dt_path closed, double step_mm, dt_arena *arena, dt_loop *out) {
    measured m = {closed, closed.count, lengths_to(closed, closed.count, arena)};
    dt_loop loop = {.path = closed, .at = m.at, .near = *near};
    walk w;
    if (!m.at) return DT_NO_MEMORY;
    dt_status status = take_walk(&m, step_mm, arena, &w);
    if (status != DT_OK) return status;
    loop.length = m.at[m.spans];
    loop.samples = w.points;
    loop.sample_at = w.at;
    loop.sample_count = w.count;
    *out = loop;
    return DT_OK;
}

dt_status dt_loop_new(dt_path closed, double step_mm, dt_arena *arena, dt_loop *out) {
    dt_near near;
    dt_status status = dt_near_new(&closed, 1, true, arena, &near);
    return status == DT_OK ? dt_loop_on(&near, closed, step_mm, arena, out) : status;
}

void dt_path_points(dt_path open, double from, double step, size_t count, dt_point *points) {
    double walked = 0.0, at = from;
    size_t kept = 0;
    for (size_t i = 1; i < open.count; i++) {
        dt_point p = open.points[i - 1], q = open.points[i];
        double length = dt_point_distance(p, q);
        for (; kept < count && at <= walked + length; at += step) {
            double t = length > 0.0 ? (at - walked) / length : 0.0;
            points[kept++] = (dt_point){p.x + t * (q.x - p.x), p.y + t * (q.y - p.y)};
        }
        walked += length;
    }
    while (kept < count) points[kept++] = open.points[open.count - 1]; /* rounding at the very end */
}

/* Even points lie in the middles of equal parts, so that each stands for as much of the length. */
dt_status dt_course_measure(dt_path open, dt_course *out) {
    dt_course course = {.path = open, .length = dt_path_length(open)};
    if (open.count < 2 || !(course.length > 0.0)) return DT_BAD_ARGUMENT;
    double step = course.length / DT_COURSE_POINTS;
    dt_path_points(open, step / 2.0, step, DT_COURSE_POINTS, course.even);
    dt_point sum = {0.0, 0.0};
    for (size_t i = 0; i < DT_COURSE_POINTS; i++) sum = dt_point_add(sum, course.even[i]);
    course.centre = dt_point_scale(sum, 1.0 / DT_COURSE_POINTS);
    for (size_t i = 0; i < DT_COURSE_POINTS; i++) {
        course.even[i] = dt_point_sub(course.even[i], course.centre);
        course.spread += dt_point_dot(course.even[i], course.even[i]);
    }
    *out = course;
    return DT_OK;
}

dt_status dt_course_new(dt_path open, double step_mm, dt_arena *arena, dt_course *out) {
    dt_course course;
    walk w;
    dt_status status = dt_course_measure(open, &course);
    if (status != DT_OK) return status;
    measured m = {open, open.count - 1, lengths_to(open, open.count - 1, arena)};
    if (!m.at) return DT_NO_MEMORY;
    status = dt_near_plain(open, false, arena, &course.near);
    if (status == DT_OK) status = take_walk(&m, step_mm, arena, &w);
    if (status != DT_OK) return status;
    course.at = m.at;
    course.step = step_mm;
    course.samples = w.points;
    course.sample_at = w.at;
    course.sample_count = w.count;
    for (size_t i = 0; i < w.count; i++) course.radius = dt_plane_larger(course.radius, dt_plane_length(dt_plane_sub(course.centre, w.points[i])));
    *out = course;
    return DT_OK;
}

static size_t span_at(const dt_loop *loop, double at) {
    size_t low = 0, high = loop->path.count; /* at[low] <= at < at[high] */
    while (high - low > 1) {
        size_t middle = (low + high) / 2;
        if (loop->at[middle] <= at) low = middle;
        else high = middle;
    }
    return low;
}

void dt_loop_points(const dt_loop *loop, double from, double step, size_t count, dt_point *points) {
    double at = from - floor(from / loop->length) * loop->length;
    size_t i = span_at(loop, at);
    for (size_t k = 0; k < count; k++, at += step) {
        while (at >= loop->at[i + 1]) {
            if (++i < loop->path.count) continue;
            i = 0;
            at -= loop->length;
        }
        dt_span span = loop->near.spans[i];
        double length = loop->at[i + 1] - loop->at[i], t = length > 0.0 ? fmax(at - loop->at[i], 0.0) / length : 0.0;
        points[k] = (dt_point){span.a.x + t * (span.b.x - span.a.x), span.a.y + t * (span.b.y - span.a.y)};
    }
}

/* Best turn in closed form (Kabsch in the plane): the argument of sum conj(loop) course. */
dt_pose dt_stretch_align(const dt_course *course, const dt_loop *loop, double from, double *rms_mm) {
    dt_point points[DT_COURSE_POINTS], sum = {0.0, 0.0};
    double step = course->length / DT_COURSE_POINTS, dot = 0.0, cross = 0.0, spread = 0.0;
    dt_loop_points(loop, from + step / 2.0, step, DT_COURSE_POINTS, points);
    for (size_t i = 0; i < DT_COURSE_POINTS; i++) sum = (dt_point){sum.x + points[i].x, sum.y + points[i].y};
    dt_point centre = dt_point_scale(sum, 1.0 / DT_COURSE_POINTS);
    for (size_t i = 0; i < DT_COURSE_POINTS; i++) {
        dt_point p = dt_plane_sub(points[i], centre), q = course->even[i];
        dot += p.x * q.x + p.y * q.y;
        cross += p.x * q.y - p.y * q.x;
        spread += p.x * p.x + p.y * p.y;
    }
    double norm = hypot(dot, cross);
    *rms_mm = sqrt(fmax(0.0, course->spread + spread - 2.0 * norm) / DT_COURSE_POINTS);
    dt_pose pose = norm > 0.0 ? (dt_pose){dot / norm, cross / norm, {0.0, 0.0}, false} : DT_POSE_IDENTITY;
    pose.shift = dt_point_sub(course->centre, dt_pose_apply(pose, centre));
    return pose;
}

/* ---- deviation ---- */

typedef struct bundle {
    dt_pull *pulls;
    size_t count, room;
    double most;
} bundle;

static void add_pull(bundle *list, dt_point moving, dt_point off, double distance) {
    list->most = dt_plane_larger(list->most, distance);
    if (list->count < list->room) list->pulls[list->count++] = (dt_pull){moving, {off.x / distance, off.y / distance}, distance};
}

/* Where two lines touch, the pull is across the line. */
static void add_touch(bundle *list, dt_point moving, dt_point along) {
    double length = dt_plane_larger(dt_plane_length(along), TOUCHING_MM);
    if (list->count < list->room) list->pulls[list->count++] = (dt_pull){moving, {-along.y / length, along.x / length}, 0.0};
}

static dt_point along_span(dt_span span) {
    return dt_plane_sub(span.b, span.a);
}

/* tracked: a distance up to this may be that to the part of the line where the walk goes on, though another part be nearer. */
typedef struct task {
    const dt_course *course;
    const dt_loop *loop;
    size_t stride;
    double give_up, tracked;
} task;

/* Course to loop; gives the feet of both ends. A tracked foot no farther off than the largest distance so far leaves that as it is. */
static void pull_course(bundle *list, const task *l, dt_pose pose, double feet[2]) {
    const dt_course *course = l->course;
    dt_pose back = dt_pose_inverse(pose);
    dt_track t = {.near = &l->loop->near, .lengths = l->loop->at, .closed = true, .enough = l->tracked};
    size_t last = course->sample_count - 1, next;
    dt_point p = dt_plane_carry(back, course->samples[0]);
    dt_track_start(&t, p);
    feet[0] = t.foot;
    for (size_t i = 0;; i = next) {
        dt_point still = course->samples[i], off = dt_plane_turn(pose, dt_plane_sub(t.at, p)), moving = {still.x + off.x, still.y + off.y};
        if (t.distance > TOUCHING_MM) add_pull(list, moving, off, t.distance);
        else add_touch(list, moving, dt_plane_turn(pose, along_span(t.near->spans[t.span])));
        if (list->most > l->give_up || i == last) break;
        next = i + l->stride < last ? i + l->stride : last;
        p = dt_plane_carry(back, course->samples[next]);
        t.enough = dt_plane_larger(l->tracked, list->most);
        dt_track_walk(&t, p, course->sample_at[next] - course->sample_at[i]);
    }
    feet[1] = t.foot;
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
static void pull_stretch(bundle *list, const task *l, dt_pose pose, double from, double length) {
    const dt_loop *loop = l->loop;
    size_t i = first_sample(loop, from);
    dt_track t = {.near = &l->course->near, .lengths = l->course->at, .enough = l->tracked};
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
        if (t.distance > TOUCHING_MM) add_pull(list, p, dt_plane_sub(p, t.at), t.distance);
        else add_touch(list, p, along_span(t.near->spans[t.span]));
        if (list->most > l->give_up) return;
    }
}

static double pulls_of(void *context, dt_pose pose, dt_pull *pulls, size_t room, size_t *count) {
    const task *t = context;
    bundle list = {pulls, 0, room, 0.0};
    double feet[2] = {0.0, 0.0}, whole = t->loop->length, longest = MOST_LENGTH_RATIO * t->course->length;
    pull_course(&list, t, pose, feet);
    *count = list.count;
    if (list.most > t->give_up) return list.most;
    double length = feet[1] - feet[0];
    if (length < -whole / 2.0 || (length < 0.0 && length + whole <= longest)) length += whole;
    if (length > longest || length < -2.0 * list.most) list.most = INFINITY;
    else if (length > 0.0) pull_stretch(&list, t, pose, feet[0], length);
    *count = list.count;
    return list.most;
}

double dt_lay_pulls(const dt_lay *lay, dt_pose pose, dt_pull *pulls, size_t room, size_t *count) {
    task t = {lay->course, lay->loop, lay->stride, lay->give_up, lay->tracked};
    return pulls_of(&t, pose, pulls, room, count);
}

double dt_stretch_deviation(dt_fitter *fitter, const dt_course *course, const dt_loop *loop, dt_pose pose) {
    size_t count;
    return dt_lay_pulls(&(dt_lay){course, loop, 1, INFINITY, 0.0}, pose, fitter->pulls, fitter->room, &count);
}

static double refine(dt_fitter *fitter, task t, double enough, double limit, dt_pose *pose) {
    dt_rigid_fit fit = {.source = pulls_of, .context = &t, .centre = t.course->centre, .radius = fmax(t.course->radius, 1e-3),
                        .enough_mm = enough, .hopeless_mm = HOPE_SHARE * limit, .give_up_mm = t.give_up,
                        .step_mm = (limit < INFINITY ? REACH_SHARE : REFINE_SHARE) * t.course->step, .pulls = fitter->pulls, .rows = fitter->rows, .room = fitter->room};
    return dt_rigid_fit_run(&fit, pose);
}

/* First over few samples. */
double dt_stretch_refine(dt_fitter *fitter, const dt_course *course, const dt_loop *loop, double known, dt_pose *pose) {
    task few = {course, loop, FEW_STRIDE, INFINITY, known}, all = {course, loop, 1, INFINITY, known};
    dt_pose by_few = *pose, best = *pose;
    size_t count;
    refine(fitter, few, 0.0, INFINITY, &by_few);
    if (pulls_of(&all, by_few, fitter->pulls, fitter->room, &count) < known) best = by_few;
    double value = refine(fitter, all, 0.0, INFINITY, &best);
    if (value > known) return known;
    *pose = best;
    return value;
}

/* ---- reach ---- */

/* The feet of some samples of the course, at one pose. */
typedef struct feet {
    const task *task;
    dt_pose pose, back;
    dt_foot *at;         /* by sample; only those looked at are filled */
    double most;         /* largest distance so far */
} feet;

static dt_track track_on_loop(const task *t) {
    return (dt_track){.near = &t->loop->near, .lengths = t->loop->at, .closed = true, .enough = t->tracked};
}

/* A sketch: every stride-th sample of the course to the loop, and not the other way; it never makes the deviation larger. */
static double pulls_of_sketch(void *context, dt_pose pose, dt_pull *pulls, size_t room, size_t *count) {
    feet *f = context;
    const dt_course *course = f->task->course;
    bundle list = {pulls, 0, room, 0.0};
    dt_track t = track_on_loop(f->task);
    f->back = dt_pose_inverse(pose);
    f->pose = pose;
    t.span = f->at[0].span;
    t.foot = f->at[0].foot;
    size_t last = course->sample_count - 1;
    double ahead = 0.0;
    for (size_t i = 0, next;; i = next) {
        dt_point still = course->samples[i], p = dt_plane_carry(f->back, still);
        t.enough = dt_plane_larger(f->task->tracked, list.most);
        dt_track_walk(&t, p, ahead);
        f->at[i] = dt_track_foot(&t);
        dt_point off = dt_plane_turn(pose, dt_plane_sub(t.at, p));
        if (t.distance > TOUCHING_MM) add_pull(&list, (dt_point){still.x + off.x, still.y + off.y}, off, t.distance);
        else add_touch(&list, still, dt_plane_turn(pose, along_span(t.near->spans[t.span])));
        if (list.most > f->task->give_up || i == last) break;
        next = i + f->task->stride < last ? i + f->task->stride : last;
        ahead = course->sample_at[next] - course->sample_at[i];
    }
    f->most = list.most;
    *count = list.count;
    return list.most;
}

/* A line as long as `length` between two points `chord` apart strays no farther from the chord than this, nor the chord from it. */
static double sag(double length, double chord) {
    double square = length * length - chord * chord;
    return square > 0.0 ? 0.5 * sqrt(square) : 0.0;
}

/* From one place on the loop to another, the shorter way. */
static double onward(const dt_loop *loop, double from, double to) {
    double along = to - from;
    return along < -0.5 * loop->length ? along + loop->length : along > 0.5 * loop->length ? along - loop->length : along;
}

/* Between samples i and j, the course and the loop lie within this of each other: chords that join points d apart and e apart are
 * within max(d, e) of each other. */
static double bound_between(const feet *f, size_t i, size_t j) {
    const dt_course *course = f->task->course;
    const dt_foot *a = &f->at[i], *b = &f->at[j];
    double along = fabs(onward(f->task->loop, a->foot, b->foot));
    return dt_plane_larger(a->distance, b->distance) + sag(along, dt_plane_length(dt_plane_sub(b->at, a->at))) +
           sag(course->sample_at[j] - course->sample_at[i], dt_plane_length(dt_plane_sub(course->samples[j], course->samples[i])));
}

/* Halves the part from i to j until its bound is at most `enough` above the largest distance found; false where a distance is
 * beyond the limit, or samples next to each other leave doubt. */
static bool bear_out(feet *f, size_t i, size_t j, double limit) {
    double bound = bound_between(f, i, j);
    if (bound <= dt_plane_smaller(f->most + BOUND_SHARE * limit, limit)) return true;
    if (j == i + 1) return bound <= limit + BOUND_SHARE * limit;
    const dt_course *course = f->task->course;
    size_t middle = (i + j) / 2;
    dt_track t = track_on_loop(f->task);
    t.span = f->at[i].span;
    t.foot = f->at[i].foot;
    dt_track_walk(&t, dt_plane_carry(f->back, course->samples[middle]), course->sample_at[middle] - course->sample_at[i]);
    f->at[middle] = dt_track_foot(&t);
    f->most = dt_plane_larger(f->most, t.distance);
    return f->most <= limit && bear_out(f, i, middle, limit) && bear_out(f, middle, j, limit);
}

/* Is the deviation within the limit at the pose of the last sketch? Then its value, to BOUND_SHARE of the limit; else INFINITY, which
 * decides nothing. */
static double settle_sketch(feet *f, double limit) {
    size_t last = f->task->course->sample_count - 1, stride = f->task->stride;
    double walked = 0.0;
    for (size_t i = 0, next; i < last; i = next) {
        next = i + stride < last ? i + stride : last;
        walked += onward(f->task->loop, f->at[i].foot, f->at[next].foot);
        if (!bear_out(f, i, next, limit)) return INFINITY;
    }
    if (walked < -2.0 * f->most) return INFINITY;
    return dt_plane_smaller(f->most + BOUND_SHARE * limit, limit);
}

static void start_sketch(feet *f, dt_pose pose) {
    dt_track t = track_on_loop(f->task);
    dt_track_start(&t, dt_plane_carry(dt_pose_inverse(pose), f->task->course->samples[0]));
    f->at[0] = dt_track_foot(&t);
}

static bool is_same(dt_pose a, dt_pose b) {
    return a.c == b.c && a.s == b.s && a.shift.x == b.shift.x && a.shift.y == b.shift.y;
}

/* Brings a sketch within the limit, aiming a little lower. */
static double reach_sketch(dt_fitter *fitter, feet *f, double limit, dt_pose *pose) {
    const dt_course *course = f->task->course;
    dt_rigid_fit fit = {.source = pulls_of_sketch, .context = f, .centre = course->centre, .radius = fmax(course->radius, 1e-3),
                        .enough_mm = FEW_AIM * limit, .hopeless_mm = HOPE_SHARE * limit, .give_up_mm = f->task->give_up,
                        .step_mm = REACH_SHARE * course->step, .pulls = fitter->pulls, .rows = fitter->rows, .room = fitter->room};
    size_t count;
    start_sketch(f, *pose);
    double value = dt_rigid_fit_run(&fit, pose);
    if (value <= limit && !is_same(f->pose, *pose)) pulls_of_sketch(f, *pose, fitter->pulls, fitter->room, &count);
    return value;
}

/* First a sketch, which is most often borne out; else all samples of both lines. */
double dt_stretch_reach(dt_fitter *fitter, const dt_course *course, const dt_loop *loop, double limit, dt_pose *pose) {
    dt_foot at[MOST_FEET];
    task sketch = {course, loop, FEW_STRIDE, HOPELESS * limit, limit}, all = {course, loop, 1, HOPELESS * limit, limit};
    if (course->sample_count <= MOST_FEET) {
        feet f = {.task = &sketch, .at = at};
        if (reach_sketch(fitter, &f, limit, pose) > limit) return INFINITY;
        double value = settle_sketch(&f, limit);
        if (value <= limit) return value;
    }
    double value = refine(fitter, all, limit, limit, pose);
    return value <= limit ? value : INFINITY;
}
