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

static bool is_slit(dt_point from, dt_point to, stretch s) {
    double mouth = dt_point_distance(from, to), depth = s.length / 2.0;
    return mouth <= WIDTH_MM && depth > LEAST_DEPTH * mouth && depth > WIDTH_MM && fabs(s.area) <= 2.0 * WIDTH_MM * depth;
}

/* The last point of a slit that begins at point i, or i where there is none. */
static size_t slit_end(dt_path path, size_t i) {
    stretch s = {0.0, 0.0};
    size_t end = i;
    dt_point from = path.points[i], before = from;
    for (size_t k = 1; k + 2 < path.count && s.length <= 2.0 * MOST_DEPTH_MM; k++) {
        dt_point at = path.points[(i + k) % path.count];
        s.length += dt_point_distance(before, at);
        s.area += dt_point_cross(dt_point_sub(before, from), dt_point_sub(at, from));
        before = at;
        if (is_slit(from, at, s)) end = i + k;
    }
    return end;
}

dt_path dt_trimmed(dt_path path, dt_arena *arena) {
    size_t used = 0, first = 0;
    while (first < path.count && slit_end(path, first) == first) first++;
    if (first == path.count) return path;
    dt_point *kept = DT_TAKE(arena, path.count, dt_point);
    for (size_t i = first, stop = first + path.count; kept && i < stop; i++) {
        size_t end = slit_end(path, i % path.count) - i % path.count + i;
        kept[used++] = path.points[i % path.count];
        if (end > i) i = end; /* its last point lies on its first */
    }
    return (dt_path){kept, used};
}
