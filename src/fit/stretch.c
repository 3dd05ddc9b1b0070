/* Loops and courses made ready, and laid on each other by least squares: see stretch.h. */
#include "fit/stretch.h"

#include <math.h>

enum { MOST_LOOP_SAMPLES = 4000, MOST_COURSE_SAMPLES = 1000 };

static const double SHARP_COSINE = 0.94; /* of 20 degrees: such corners become samples */

/* ---- making ready ---- */

typedef struct walk {
    dt_point *points;
    double *at;
    size_t count;
} walk;

static void put(walk *w, dt_point p, double at) {
    w->points[w->count] = p;
    w->at[w->count++] = at;
}

static bool is_sharp(const dt_track_line *line, size_t legs, size_t i) {
    if (i == 0 && !line->closed) return false;
    dt_point u = line->legs[i ? i - 1 : legs - 1].u, v = line->legs[i].u;
    return u.x * v.x + u.y * v.y < SHARP_COSINE;
}

/* Samples of a path; both ends of an open one are among them. */
static void walk_path(const dt_track_line *line, dt_path path, double step, walk *w) {
    size_t legs = path.count - (line->closed ? 0 : 1);
    double due = 0.0;
    for (size_t i = 0; i < legs; i++) {
        double walked = line->lengths[i];
        dt_leg leg = line->legs[i];
        if (due > walked && is_sharp(line, legs, i)) put(w, leg.a, walked);
        for (; due < line->lengths[i + 1]; due += step)
            put(w, (dt_point){leg.a.x + (due - walked) * leg.u.x, leg.a.y + (due - walked) * leg.u.y}, due);
    }
    if (!line->closed) put(w, path.points[legs], line->lengths[legs]);
}

static dt_status take_walk(const dt_track_line *line, dt_path path, double step, dt_arena *arena, walk *out) {
    size_t legs = path.count - (line->closed ? 0 : 1);
    double length = line->lengths[legs];
    step = fmax(step, length / (line->closed ? MOST_LOOP_SAMPLES : MOST_COURSE_SAMPLES) * 2.0);
    if (!line->closed) step = fmin(step, length / 12.0);
    size_t room = (size_t)(length / step) + 3;
    for (size_t i = 0; i < legs; i++) room += is_sharp(line, legs, i);
    walk w = {DT_TAKE(arena, room, dt_point), DT_TAKE(arena, room, double), 0};
    if (!w.points || !w.at) return DT_NO_MEMORY;
    walk_path(line, path, step, &w);
    *out = w;
    return DT_OK;
}

dt_status dt_loop_on(const dt_near *near, dt_path closed, double step_mm, dt_arena *arena, dt_loop *out) {
    dt_loop loop = {.path = closed, .near = *near};
    walk w;
    dt_status status = dt_track_line_new(closed, true, arena, &loop.line);
    if (status == DT_OK) status = take_walk(&loop.line, closed, step_mm, arena, &w);
    if (status != DT_OK) return status;
    loop.at = loop.line.lengths;
    loop.length = loop.at[closed.count];
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
    if (status == DT_OK) status = dt_track_line_new(open, false, arena, &course.line);
    if (status == DT_OK) status = dt_near_plain(open, false, arena, &course.near);
    if (status == DT_OK) status = take_walk(&course.line, open, step_mm, arena, &w);
    if (status != DT_OK) return status;
    course.at = course.line.lengths;
    course.step = step_mm;
    course.samples = w.points;
    course.sample_at = w.at;
    course.sample_count = w.count;
    for (size_t i = 0; i < w.count; i++) course.radius = dt_plane_larger(course.radius, dt_plane_length(dt_plane_sub(course.centre, w.points[i])));
    *out = course;
    return DT_OK;
}

/* The leg with lengths[leg] <= at < lengths[leg + 1]; at is 0 or more, and less than the length. */
static size_t leg_at(const dt_loop *loop, double at) {
    size_t last = loop->path.count - 1, part = (size_t)(at * loop->line.per_mm);
    size_t leg = loop->line.first[part < last ? part : last];
    while (leg < last && loop->at[leg + 1] <= at) leg++;
    while (leg > 0 && loop->at[leg] > at) leg--; /* rounding at the border of two parts */
    return leg;
}

static double once_round(const dt_loop *loop, double at) {
    return at - floor(at / loop->length) * loop->length;
}

uint32_t dt_loop_leg(const dt_loop *loop, double at) {
    return (uint32_t)leg_at(loop, once_round(loop, at));
}

void dt_loop_points(const dt_loop *loop, double from, double step, size_t count, dt_point *points) {
    double at = once_round(loop, from);
    const dt_leg *legs = loop->line.legs;
    size_t i = leg_at(loop, at);
    for (size_t k = 0; k < count; k++, at += step) {
        while (at >= loop->at[i + 1]) {
            if (++i < loop->path.count) continue;
            i = 0;
            at -= loop->length;
        }
        double along = dt_plane_larger(at - loop->at[i], 0.0);
        points[k] = (dt_point){legs[i].a.x + along * legs[i].u.x, legs[i].a.y + along * legs[i].u.y};
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
    double norm = sqrt(dot * dot + cross * cross);
    *rms_mm = sqrt(fmax(0.0, course->spread + spread - 2.0 * norm) / DT_COURSE_POINTS);
    dt_pose pose = norm > 0.0 ? (dt_pose){dot / norm, cross / norm, {0.0, 0.0}, false} : DT_POSE_IDENTITY;
    pose.shift = dt_plane_sub(course->centre, dt_plane_carry(pose, centre));
    return pose;
}
