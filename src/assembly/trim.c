/* Trimming: see trim.h. A slit is a stretch of outline that comes back to where it began and encloses next to nothing on its way. */
#include "trim.h"

#include "assembly/vector.h"

/* Lines nearer than this were meant to meet, mm: twice what rounding, tracing and joining move a line. */
static const double WIDTH_MM = 0.05;
/* A slit is deeper than it is wide, by this factor, but not deeper than this, mm. */
static const double LEAST_DEPTH = 4.0, MOST_DEPTH_MM = 40.0;

typedef struct stretch {
    double length, area; /* twice the area */
} stretch;

/* A path and sums along it: what lies between any two of its points is known at once. */
typedef struct walk {
    dt_path path;
    double *length, *area; /* up to point i of the path walked twice; the area from the origin */
} walk;

static dt_point point_at(const walk *w, size_t i) {
    return w->path.points[i % w->path.count];
}

static bool sum_up(dt_path path, dt_arena *arena, walk *out) {
    walk w = {path, DT_TAKE(arena, 2 * path.count, double), DT_TAKE(arena, 2 * path.count, double)};
    if (!w.length || !w.area) return false;
    w.length[0] = w.area[0] = 0.0;
    for (size_t i = 1; i < 2 * path.count; i++) {
        w.length[i] = w.length[i - 1] + dt_point_distance(point_at(&w, i - 1), point_at(&w, i));
        w.area[i] = w.area[i - 1] + dt_point_cross(point_at(&w, i - 1), point_at(&w, i));
    }
    *out = w;
    return true;
}

/* The stretch between two points, and the line that closes it. */
static stretch between(const walk *w, size_t i, size_t k) {
    return (stretch){w->length[k] - w->length[i], w->area[k] - w->area[i] + dt_point_cross(point_at(w, k), point_at(w, i))};
}

static bool is_slit(dt_point from, dt_point to, stretch s) {
    double mouth = dt_point_distance(from, to), depth = s.length / 2.0;
    return mouth <= WIDTH_MM && depth > LEAST_DEPTH * mouth && depth > WIDTH_MM && fabs(s.area) <= 2.0 * WIDTH_MM * depth;
}

/* The last point of a slit that begins at point i, or i where there is none. The path cannot be back before it has gone as far as it is
 * away, so most points are passed over. */
static size_t slit_end(const walk *w, size_t i) {
    size_t end = i, stop = i + w->path.count - 3;
    dt_point from = point_at(w, i);
    for (size_t k = i + 1; k <= stop && w->length[k - 1] - w->length[i] <= 2.0 * MOST_DEPTH_MM;) {
        double away = dt_point_distance(from, point_at(w, k)) - WIDTH_MM, back = w->length[k] + away;
        if (away <= 0.0 && is_slit(from, point_at(w, k), between(w, i, k))) end = k;
        for (k++; k <= stop && w->length[k] < back;) k++;
    }
    return end;
}

dt_path dt_trimmed(dt_path path, dt_arena *arena) {
    size_t used = 0, first = 0;
    walk w;
    if (path.count < 3) return path;
    if (!sum_up(path, arena, &w)) return (dt_path){NULL, 0};
    while (first < path.count && slit_end(&w, first) == first) first++;
    if (first == path.count) return path;
    dt_point *kept = DT_TAKE(arena, path.count, dt_point);
    for (size_t i = first, stop = first + path.count; kept && i < stop; i++) {
        size_t end = slit_end(&w, i % path.count) - i % path.count + i;
        kept[used++] = point_at(&w, i);
        if (end > i) i = end; /* its last point lies on its first */
    }
    return (dt_path){kept, used};
}
