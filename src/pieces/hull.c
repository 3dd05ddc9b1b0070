/* Convex hulls: see hull.h. */
#include "hull.h"

#include <math.h>
#include <stdlib.h>

/* Rectangles whose areas differ by less count as equal, or the noise of a drawing would pick one of a triangle's three.
 */
#define SAME_AREA 1e-4
#define INSIDE_MM2 1e-6

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

enum { EXTREMES = 8 };

/* The points farthest in eight directions, in the order of the directions, which is a walk of positive area. */
static void find_extremes(dt_path path, dt_point extremes[EXTREMES]) {
    double most[EXTREMES];
    for (int k = 0; k < EXTREMES; k++) most[k] = -INFINITY;
    for (size_t i = 0; i < path.count; i++) {
        dt_point p = path.points[i];
        const double far[EXTREMES / 2] = {p.x, p.x + p.y, p.y, p.y - p.x};
        for (int k = 0; k < EXTREMES / 2; k++) {
            if (far[k] > most[k]) most[k] = far[k], extremes[k] = p;
            if (-far[k] > most[k + EXTREMES / 2]) most[k + EXTREMES / 2] = -far[k], extremes[k + EXTREMES / 2] = p;
        }
    }
}

/* A side of the octagon: p lies well inside it where way x p > limit. */
typedef struct octagon_side {
    dt_point way;
    double limit;
} octagon_side;

static size_t find_sides(const dt_point octagon[EXTREMES], octagon_side sides[EXTREMES]) {
    size_t count = 0;
    for (int k = 0; k < EXTREMES; k++) {
        dt_point a = octagon[k], way = dt_point_sub(octagon[(k + 1) % EXTREMES], a);
        if (way.x != 0.0 || way.y != 0.0) sides[count++] = (octagon_side){way, dt_point_cross(way, a) + INSIDE_MM2};
    }
    return count;
}

/* For certain: INSIDE_MM2 is far above the rounding of a cross product of millimetres. */
static bool is_well_inside(const octagon_side *sides, size_t count, dt_point p) {
    for (size_t k = 0; k < count; k++)
        if (dt_point_cross(sides[k].way, p) <= sides[k].limit) return false;
    return true;
}

/* Copies what can be a corner of the hull (Akl and Toussaint, A fast convex hull algorithm, 1978). */
static size_t keep_outer(dt_path path, dt_point *out) {
    dt_point octagon[EXTREMES];
    octagon_side sides[EXTREMES];
    find_extremes(path, octagon);
    size_t count = 0, side_count = find_sides(octagon, sides);
    for (size_t i = 0; i < path.count; i++)
        if (!is_well_inside(sides, side_count, path.points[i])) out[count++] = path.points[i];
    return count;
}

dt_status hull_of(dt_path path, dt_point **hull, size_t *count) {
    dt_point *sorted = malloc(path.count * sizeof *sorted);
    dt_point *out = malloc((2 * path.count + 1) * sizeof *out);
    dt_status status = sorted && out ? DT_OK : DT_NO_MEMORY;
    if (status != DT_OK) goto done;
    size_t outer = keep_outer(path, sorted);
    qsort(sorted, outer, sizeof *sorted, compare_points);
    size_t lower = chain(sorted, outer, 1, out, 0);
    *count = chain(sorted + outer - 1, outer, -1, out, lower);
    *hull = out;
    out = NULL;
done:
    free(sorted);
    free(out);
    return status;
}

/* Rounding of a step along a direction; a step that truly leads back leads back farther on the grid of 0.001 mm. */
#define EVEN_MM 1e-10

/* On from corner `at` while that leads farther in this direction. */
static size_t farthest(dt_path hull, size_t at, dt_point direction) {
    for (size_t steps = 0; steps < hull.count; steps++) {
        dt_point here = hull.points[at], next = hull.points[(at + 1) % hull.count];
        if (dt_point_dot(dt_point_sub(next, here), direction) <= -EVEN_MM) break;
        at = (at + 1) % hull.count;
    }
    return at;
}

/* Rotating calipers: as the side at hand goes round, so do the three corners farthest ahead of it, across from it and
 * behind it (Toussaint, Solving geometric problems with the rotating calipers, 1983). */
rectangle hull_rectangle(dt_path hull) {
    rectangle best = {0.0, 0.0};
    double best_area = INFINITY;
    size_t ahead = 0, across = 0, behind = 0;
    for (size_t i = 0; i < hull.count; i++) {
        dt_point along = dt_point_sub(hull.points[(i + 1) % hull.count], hull.points[i]);
        double norm = hypot(along.x, along.y);
        if (norm == 0.0) continue;
        along = dt_point_scale(along, 1.0 / norm);
        dt_point inwards = {-along.y, along.x};
        ahead = farthest(hull, i == 0 ? 1 % hull.count : ahead, along);
        across = farthest(hull, i == 0 ? ahead : across, inwards);
        behind = farthest(hull, i == 0 ? across : behind, dt_point_scale(along, -1.0));
        double u = dt_point_dot(dt_point_sub(hull.points[ahead], hull.points[behind]), along);
        double v = dt_point_dot(dt_point_sub(hull.points[across], hull.points[i]), inwards);
        rectangle r = {fmax(u, v), fmin(u, v)};
        double area = r.length * r.width;
        bool better =
            area < best_area * (1 - SAME_AREA) || (area < best_area * (1 + SAME_AREA) && r.width < best.width);
        if (!better) continue;
        best = r;
        best_area = fmin(best_area, area);
    }
    return best;
}
