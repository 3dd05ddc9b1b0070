/* Convex hulls: see hull.h. */
#include "hull.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Rectangles whose areas differ by less count as equal, or the noise of a drawing would pick one of a triangle's three. */
#define SAME_AREA 1e-4

static int compare_points(const void *left, const void *right) {
    const dt_point *a = left, *b = right;
    if (a->x != b->x) return a->x < b->x ? -1 : 1;
    return (a->y > b->y) - (a->y < b->y);
}

/* One half of the hull of sorted points, going on from hull[base]. */
static size_t chain(const dt_point *p, size_t n, int step, dt_point *hull, size_t base) {
    size_t count = base;
    for (size_t i = 0; i < n; i++, p += step) {
        while (count >= base + 2 && dt_orientation(hull[count - 2], hull[count - 1], *p) <= 0) count--;
        hull[count++] = *p;
    }
    return count - 1; /* the last point begins the other half */
}

dt_status hull_of(dt_path path, dt_point **hull, size_t *count) {
    dt_point *sorted = malloc(path.count * sizeof *sorted);
    dt_point *out = malloc((2 * path.count + 1) * sizeof *out);
    dt_status status = sorted && out ? DT_OK : DT_NO_MEMORY;
    if (status != DT_OK) goto done;
    memcpy(sorted, path.points, path.count * sizeof *sorted);
    qsort(sorted, path.count, sizeof *sorted, compare_points);
    size_t lower = chain(sorted, path.count, 1, out, 0);
    *count = chain(sorted + path.count - 1, path.count, -1, out, lower);
    *hull = out;
    out = NULL;
done:
    free(sorted);
    free(out);
    return status;
}

typedef struct extent {
    double low, high;
} extent;

static extent extent_along(dt_path hull, dt_point direction) {
    extent e = {INFINITY, -INFINITY};
    for (size_t i = 0; i < hull.count; i++) {
        double d = dt_point_dot(hull.points[i], direction);
        e.low = fmin(e.low, d);
        e.high = fmax(e.high, d);
    }
    return e;
}

rectangle hull_rectangle(dt_path hull) {
    rectangle best = {0.0, 0.0};
    double best_area = INFINITY;
    for (size_t i = 0; i < hull.count; i++) {
        dt_point along = dt_point_sub(hull.points[(i + 1) % hull.count], hull.points[i]);
        double norm = hypot(along.x, along.y);
        if (norm == 0.0) continue;
        along = dt_point_scale(along, 1.0 / norm);
        extent u = extent_along(hull, along), v = extent_along(hull, (dt_point){-along.y, along.x});
        rectangle r = {fmax(u.high - u.low, v.high - v.low), fmin(u.high - u.low, v.high - v.low)};
        double area = r.length * r.width;
        bool better = area < best_area * (1 - SAME_AREA) || (area < best_area * (1 + SAME_AREA) && r.width < best.width);
        if (!better) continue;
        best = r;
        best_area = fmin(best_area, area);
    }
    return best;
}
