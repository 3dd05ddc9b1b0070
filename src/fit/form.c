/* A shape made ready for fitting: see form.h. */
#include "fit/form.h"

#include <math.h>
#include <pthread.h>
#include <stdlib.h>
#include <string.h>

static const double PI = 3.14159265358979323846;
static const double SHARP_COSINE = 0.94;   /* of 20 degrees */
static const double LEAST_STEP_MM = 0.05;
enum { STEPS_ROUND = 160, MOST_SAMPLES = 1200 };

/* ---- convex hull: Andrew's monotone chain ---- */

static int by_place(const void *a, const void *b) {
    const dt_point *p = a, *q = b;
    if (p->x != q->x) return p->x < q->x ? -1 : 1;
    return (p->y > q->y) - (p->y < q->y);
}

static size_t half_hull(const dt_point *points, size_t count, bool back, dt_point *hull) {
    size_t kept = 0;
    for (size_t i = 0; i < count; i++) {
        dt_point p = points[back ? count - 1 - i : i];
        while (kept > 1 && dt_orientation(hull[kept - 2], hull[kept - 1], p) <= 0) kept--;
        hull[kept++] = p;
    }
    return kept - 1; /* the last point begins the other half */
}

/* Positive area; hull has room for count + 1 points; sorted is scratch of count points. */
static size_t convex_hull(dt_path path, dt_point *sorted, dt_point *hull) {
    memcpy(sorted, path.points, path.count * sizeof *sorted);
    qsort(sorted, path.count, sizeof *sorted, by_place);
    size_t lower = half_hull(sorted, path.count, false, hull);
    return lower + half_hull(sorted, path.count, true, hull + lower);
}

/* ---- measures ---- */

/* h'' + h is a comb of the edge lengths at the edge normals, so c_k (1 - k^2) = sum l exp(-ik normal) / 2 pi. */
static void add_edge(dt_form *form, dt_point edge) {
    double length = hypot(edge.x, edge.y);
    if (length == 0.0) return;
    double c = edge.y / length, s = -edge.x / length, re = 1.0, im = 0.0; /* outward normal of a path of positive area */
    for (int k = 0; k < DT_FORM_TERMS; k++) {
        double weight = k == 1 ? 0.0 : length / (2.0 * PI * (1.0 - (double)k * k));
        form->re[k] += weight * re;
        form->im[k] -= weight * im;
        double next = re * c - im * s;
        im = re * s + im * c;
        re = next;
    }
}

/* Steiner point: the corners of the hull, each weighted by its outer angle. */
static void measure_hull(dt_form *form, const dt_point *hull, size_t count) {
    dt_point sum = {0.0, 0.0};
    double angles = 0.0;
    for (size_t i = 0; i < count; i++) {
        dt_point before = dt_point_sub(hull[i], hull[(i + count - 1) % count]), after = dt_point_sub(hull[(i + 1) % count], hull[i]);
        double angle = fabs(atan2(dt_point_cross(before, after), dt_point_dot(before, after)));
        sum = dt_point_add(sum, dt_point_scale(hull[i], angle));
        angles += angle;
        add_edge(form, after);
    }
    form->centre = angles > 0.0 ? dt_point_scale(sum, 1.0 / angles) : hull[0];
}

dt_status dt_form_measure(dt_shape shape, dt_arena *scratch, dt_form *out) {
    dt_form form = {.shape = shape, .area = fabs(dt_path_area(shape.outline)), .perimeter = dt_path_perimeter(shape.outline)};
    if (shape.outline.count < 3) return DT_BAD_ARGUMENT;
    dt_point *sorted = DT_TAKE(scratch, shape.outline.count, dt_point), *hull = DT_TAKE(scratch, shape.outline.count + 1, dt_point);
    if (!sorted || !hull) return DT_NO_MEMORY;
    measure_hull(&form, hull, convex_hull(shape.outline, sorted, hull));
    for (size_t i = 0; i < shape.outline.count; i++)
        form.radius = fmax(form.radius, dt_point_distance(form.centre, shape.outline.points[i]));
    *out = form;
    return DT_OK;
}

/* ---- samples ---- */

bool dt_turns_sharply(dt_point before, dt_point p, dt_point after) {
    double ux = p.x - before.x, uy = p.y - before.y, vx = after.x - p.x, vy = after.y - p.y, dot = ux * vx + uy * vy;
    return dot < 0.0 || dot * dot < SHARP_COSINE * SHARP_COSINE * (ux * ux + uy * uy) * (vx * vx + vy * vy);
}

/* Writes the samples of a closed path (points NULL: only counts them). */
static size_t sample_path(dt_path path, double step, dt_point *points) {
    size_t count = 0;
    double due = 0.0;
    for (size_t i = 0; i < path.count; i++) {
        dt_point p = path.points[i], q = path.points[(i + 1) % path.count];
        double length = dt_point_distance(p, q);
        if (due > 0.0 && dt_turns_sharply(path.points[(i + path.count - 1) % path.count], p, q)) {
            if (points) points[count] = p;
            count++;
        }
        for (; due < length; due += step) {
            if (points) points[count] = dt_point_add(p, dt_point_scale(dt_point_sub(q, p), due / length));
            count++;
        }
        due -= length;
    }
    return count;
}

static dt_status take_samples(const dt_path *paths, size_t path_count, dt_arena *arena, dt_samples *out) {
    double perimeter = 0.0;
    for (size_t i = 0; i < path_count; i++) perimeter += dt_path_perimeter(paths[i]);
    double step = fmax(perimeter / STEPS_ROUND, LEAST_STEP_MM);
    size_t count = 0;
    for (size_t i = 0; i < path_count; i++) count += sample_path(paths[i], step, NULL);
    dt_point *points = DT_TAKE(arena, count, dt_point);
    if (!points) return DT_NO_MEMORY;
    size_t at = 0;
    for (size_t i = 0; i < path_count; i++) at += sample_path(paths[i], step, points + at);
    size_t stride = count / MOST_SAMPLES + 1, kept = 0;
    for (size_t i = 0; i < count; i += stride) points[kept++] = points[i];
    *out = (dt_samples){points, kept};
    return DT_OK;
}

/* ---- flips ---- */

/* x -> -x turns the sense of the walk, so the points are taken backwards. */
static dt_status flip_path(dt_path path, dt_arena *arena, dt_path *out) {
    dt_point *points = DT_TAKE(arena, path.count, dt_point);
    if (!points) return DT_NO_MEMORY;
    for (size_t i = 0; i < path.count; i++) {
        dt_point p = path.points[path.count - 1 - i];
        points[i] = (dt_point){-p.x, p.y};
    }
    *out = (dt_path){points, path.count};
    return DT_OK;
}

static dt_status flip_shape(dt_shape *shape, dt_arena *arena) {
    dt_shape flipped = {.hole_count = shape->hole_count};
    dt_path *holes = DT_TAKE(arena, shape->hole_count, dt_path);
    dt_status status = holes ? flip_path(shape->outline, arena, &flipped.outline) : DT_NO_MEMORY;
    for (size_t i = 0; status == DT_OK && i < shape->hole_count; i++) status = flip_path(shape->holes[i], arena, &holes[i]);
    flipped.holes = holes;
    if (status == DT_OK) *shape = flipped;
    return status;
}

/* h(u) becomes h of u mirrored, so c_k becomes (-1)^k times its conjugate. */
dt_form dt_form_flip(const dt_form *form) {
    dt_form flipped = *form;
    flipped.over = true;
    flipped.prepared = false;
    flipped.centre.x = -form->centre.x;
    for (int k = 0; k < DT_FORM_TERMS; k++) {
        flipped.re[k] = k % 2 ? -form->re[k] : form->re[k];
        flipped.im[k] = k % 2 ? form->im[k] : -form->im[k];
    }
    return flipped;
}

dt_status dt_form_prepare(dt_form *form, dt_arena *arena) {
    if (form->prepared) return DT_OK;
    dt_status status = form->over ? flip_shape(&form->shape, arena) : DT_OK;
    if (status == DT_OK) status = dt_near_new(&form->shape.outline, 1, true, arena, &form->outline);
    if (status == DT_OK) status = take_samples(&form->shape.outline, 1, arena, &form->outline_samples);
    if (status == DT_OK && form->shape.hole_count > 0) {
        status = dt_near_new(form->shape.holes, form->shape.hole_count, true, arena, &form->holes);
        if (status == DT_OK) status = take_samples(form->shape.holes, form->shape.hole_count, arena, &form->hole_samples);
    }
    form->prepared = status == DT_OK;
    return status;
}

/* ---- rejections ---- */

void dt_form_key(const dt_form *form, float key[DT_FORM_KEYS]) {
    key[0] = (float)form->re[0];
    for (int k = 2; k <= DT_FORM_KEYS; k++) key[k - 1] = (float)(sqrt(2.0) * hypot(form->re[k], form->im[k]));
}

float dt_form_key_within(double d) {
    return (float)d * 1.0001f + 1e-4f;
}

/* A shape within d of another gains or loses at most the strip beside the other's outline: d perimeter + pi d^2 (B. de
 * Sz.-Nagy, Ueber Parallelmengen nichtkonvexer ebener Bereiche, 1959). */
static bool areas_may_fit(const dt_form *a, const dt_form *b, double d) {
    return fabs(a->area - b->area) <= d * fmin(a->perimeter, b->perimeter) + PI * d * d;
}

bool dt_form_may_fit(const dt_form *a, const dt_form *b, double d) {
    if ((a->shape.hole_count > 0) != (b->shape.hole_count > 0)) return false;
    if (!areas_may_fit(a, b, d)) return false;
    double sum = (a->re[0] - b->re[0]) * (a->re[0] - b->re[0]);
    for (int k = 2; k < DT_FORM_TERMS; k++) {
        double difference = hypot(a->re[k], a->im[k]) - hypot(b->re[k], b->im[k]);
        sum += 2.0 * difference * difference;
    }
    return sum <= d * d * (1.0 + 1e-9) + 1e-12;
}

typedef struct circle {
    double c[DT_TURN_STEPS], s[DT_TURN_STEPS];
} circle;

static circle table;
static pthread_once_t table_once = PTHREAD_ONCE_INIT;

static void fill_table(void) {
    for (int i = 0; i < DT_TURN_STEPS; i++) {
        table.c[i] = cos(2.0 * PI * i / DT_TURN_STEPS);
        table.s[i] = -sin(2.0 * PI * i / DT_TURN_STEPS);
    }
}

/* Term k turns by k steps, so its factor stands in the same table. */
void dt_form_gaps(const dt_form *a, const dt_form *b, double most, double gaps[DT_TURN_STEPS]) {
    pthread_once(&table_once, fill_table);
    double first = (a->re[0] - b->re[0]) * (a->re[0] - b->re[0]);
    for (int step = 0; step < DT_TURN_STEPS; step++) {
        double sum = first;
        for (int k = 2; k < DT_FORM_TERMS && sum <= most * most; k++) {
            double c = table.c[k * step % DT_TURN_STEPS], s = table.s[k * step % DT_TURN_STEPS];
            double x = a->re[k] * c - a->im[k] * s - b->re[k], y = a->re[k] * s + a->im[k] * c - b->im[k];
            sum += 2.0 * (x * x + y * y);
        }
        gaps[step] = sum <= most * most ? sqrt(sum) : INFINITY;
    }
}

double dt_form_gap_slope(const dt_form *a) {
    double sum = 0.0;
    for (int k = 2; k < DT_FORM_TERMS; k++) sum += 2.0 * k * k * (a->re[k] * a->re[k] + a->im[k] * a->im[k]);
    return sqrt(sum);
}
