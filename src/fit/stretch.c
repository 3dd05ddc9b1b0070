/* How well a stretch of one outline lies along a side: see stretch.h. */
#include "fit/stretch.h"

#include "fit/track.h"

#include <math.h>

static const double TOUCHING_MM = 1e-7;
static const double MOST_LENGTH_RATIO = 2.5;/* a stretch longer than this times the side goes round by another way */
static const double STEP_SHARE = 0.01;      /* a fit that promises less than this part of a sample step is at its best */
static const double HOPE_SHARE = 1.3;        /* a fit goes on while it promises this many times the limit */
static const double FEW_AIM = 0.9;          /* what few samples call this part of the limit is within it for most */
static const double HOPELESS = 2.3;         /* times the limit: nothing that far off at first was ever brought within it */
enum { FEW_STRIDE = 4, MOST_LOOP_SAMPLES = 4000, MOST_COURSE_SAMPLES = 1000 };

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
    return path.points[i % path.count];
}

/* Samples of a path with `spans` spans (cyclic when as many as points); both ends of an open one are among them. */
static void walk_path(dt_path path, size_t spans, double step, walk *w) {
    double walked = 0.0, due = 0.0;
    for (size_t i = 0; i < spans; i++) {
        dt_point p = point_in(path, i), q = point_in(path, i + 1);
        double length = dt_point_distance(p, q);
        bool inner = i > 0 || spans == path.count;
        if (inner && due > walked && dt_turns_sharply(point_in(path, i + path.count - 1), p, q)) put(w, p, walked);
        for (; due < walked + length; due += step) {
            double t = (due - walked) / length;
            put(w, (dt_point){p.x + t * (q.x - p.x), p.y + t * (q.y - p.y)}, due);
        }
        walked += length;
    }
    if (spans < path.count) put(w, path.points[path.count - 1], walked);
}

static dt_status take_walk(dt_path path, size_t spans, double step, dt_arena *arena, walk *out) {
    double length = spans < path.count ? dt_path_length(path) : dt_path_perimeter(path);
    size_t most = spans < path.count ? MOST_COURSE_SAMPLES : MOST_LOOP_SAMPLES;
    step = fmax(step, length / (double)most * 2.0);
    if (spans < path.count) step = fmin(step, length / 12.0);
    walk w = {NULL, NULL, 0};
    walk_path(path, spans, step, &w);
    w.points = DT_TAKE(arena, w.count, dt_point);
    w.at = DT_TAKE(arena, w.count, double);
    if (!w.points || !w.at) return DT_NO_MEMORY;
    w.count = 0;
    walk_path(path, spans, step, &w);
    *out = w;
    return DT_OK;
}

static double *lengths_to(dt_path path, size_t spans, dt_arena *arena) {
    double *at = DT_TAKE(arena, spans + 1, double);
    for (size_t i = 0; at && i < spans; i++) at[i + 1] = at[i] + dt_plane_length(dt_plane_sub(point_in(path, i + 1), point_in(path, i)));
    return at;
}

dt_status dt_loop_new(dt_path closed, double step_mm, dt_arena *arena, dt_loop *out) {
    dt_loop loop = {.path = closed, .length = dt_path_perimeter(closed)};
    walk w;
    double *at = lengths_to(closed, closed.count, arena);
    if (!at) return DT_NO_MEMORY;
    dt_status status = dt_near_new(&closed, 1, true, arena, &loop.near);
    if (status == DT_OK) status = take_walk(closed, closed.count, step_mm, arena, &w);
    if (status != DT_OK) return status;
    loop.at = at;
    loop.samples = w.points;
    loop.sample_at = w.at;
    loop.sample_count = w.count;
    *out = loop;
    return DT_OK;
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
    if (status == DT_OK) status = dt_near_new(&open, 1, false, arena, &course.near);
    if (status == DT_OK) status = take_walk(open, open.count - 1, step_mm, arena, &w);
    if (status != DT_OK) return status;
    course.at = lengths_to(open, open.count - 1, arena);
    if (!course.at) return DT_NO_MEMORY;
    course.step = step_mm;
    course.samples = w.points;
    course.sample_at = w.at;
    course.sample_count = w.count;
    for (size_t i = 0; i < w.count; i++) course.radius = fmax(course.radius, dt_point_distance(course.centre, w.points[i]));
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

/* Course to loop; gives the feet of both ends. */
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
    task exact = {lay->course, lay->loop, lay->stride, lay->give_up, 0.0};
    return pulls_of(&exact, pose, pulls, room, count);
}

double dt_stretch_deviation(dt_fitter *fitter, const dt_course *course, const dt_loop *loop, dt_pose pose) {
    size_t count;
    return dt_lay_pulls(&(dt_lay){course, loop, 1, INFINITY}, pose, fitter->pulls, fitter->room, &count);
}

static double refine(dt_fitter *fitter, task t, double enough, double limit, dt_pose *pose) {
    dt_rigid_fit fit = {.source = pulls_of, .context = &t, .centre = t.course->centre, .radius = fmax(t.course->radius, 1e-3),
                        .enough_mm = enough, .hopeless_mm = HOPE_SHARE * limit, .give_up_mm = t.give_up,
                        .step_mm = STEP_SHARE * t.course->step, .pulls = fitter->pulls, .rows = fitter->rows, .room = fitter->room};
    return dt_rigid_fit_run(&fit, pose);
}

/* On the way tracked feet will do; the value at the end is exact. */
double dt_stretch_refine(dt_fitter *fitter, const dt_course *course, const dt_loop *loop, dt_pose *pose) {
    double start = dt_stretch_deviation(fitter, course, loop, *pose);
    dt_pose few = *pose;
    refine(fitter, (task){course, loop, FEW_STRIDE, INFINITY, start}, 0.0, INFINITY, &few);
    double value = dt_stretch_deviation(fitter, course, loop, few);
    if (value < start) *pose = few;
    refine(fitter, (task){course, loop, 1, INFINITY, fmin(value, start)}, 0.0, INFINITY, pose);
    return dt_stretch_deviation(fitter, course, loop, *pose);
}

/* First over few samples, aiming a little lower, then over all of them. */
double dt_stretch_reach(dt_fitter *fitter, const dt_course *course, const dt_loop *loop, double limit, dt_pose *pose) {
    task few = {course, loop, FEW_STRIDE, HOPELESS * limit, limit}, all = {course, loop, 1, HOPELESS * limit, limit};
    if (refine(fitter, few, FEW_AIM * limit, limit, pose) > limit) return INFINITY;
    double value = refine(fitter, all, limit, limit, pose);
    return value <= limit ? value : INFINITY;
}
