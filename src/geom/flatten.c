/* Curves to polylines. Cubics by halving while a part is not flat: with chord p0-p3 and h1, h2 the distances of the inner
 * control points from it, the curve leaves the chord by 3t(1-t)|(1-t)h1 + t h2|, at most 3/4 max(|h|) and at most 4/9
 * max(|h|) when the two lie on different sides (own derivation). Arcs in equal steps of the angle: the image of a circle
 * under a linear map of norm s leaves its chord by at most s (1 - cos(step/2)). */
#include "geom/flatten.h"

#include <math.h>

enum { MOST_HALVINGS = 16, MOST_ARC_PARTS = 65536 };
static const double HALF_PI = 1.57079632679489661923;

/* Does the foot of p on the chord stay on it (give or take the tolerance)? */
static bool is_along(dt_point p, dt_point start, dt_point chord, double length, double tolerance) {
    double along = dt_point_dot(dt_point_sub(p, start), chord) / length;
    return along >= -tolerance && along <= length + tolerance;
}

static bool is_flat(const dt_point p[4], double tolerance) {
    dt_point chord = dt_point_sub(p[3], p[0]);
    double length = hypot(chord.x, chord.y);
    if (length <= tolerance)
        return dt_point_distance(p[0], p[1]) <= tolerance && dt_point_distance(p[0], p[2]) <= tolerance;
    if (!is_along(p[1], p[0], chord, length, tolerance) || !is_along(p[2], p[0], chord, length, tolerance)) return false;
    double h1 = dt_point_cross(chord, dt_point_sub(p[1], p[0])) / length;
    double h2 = dt_point_cross(chord, dt_point_sub(p[2], p[0])) / length;
    double largest = fmax(fabs(h1), fabs(h2));
    return (h1 * h2 < 0.0 ? 4.0 / 9.0 : 0.75) * largest <= tolerance;
}

static dt_point middle(dt_point a, dt_point b) {
    return (dt_point){0.5 * (a.x + b.x), 0.5 * (a.y + b.y)};
}

static bool halve_cubic(dt_points *out, const dt_point p[4], double tolerance, int depth) {
    if (depth == MOST_HALVINGS || is_flat(p, tolerance)) return dt_array_push(out, p[3]);
    dt_point a = middle(p[0], p[1]), b = middle(p[1], p[2]), c = middle(p[2], p[3]);
    dt_point ab = middle(a, b), bc = middle(b, c), m = middle(ab, bc);
    const dt_point first[4] = {p[0], a, ab, m}, second[4] = {m, bc, c, p[3]};
    return halve_cubic(out, first, tolerance, depth + 1) && halve_cubic(out, second, tolerance, depth + 1);
}

bool dt_flatten_cubic(dt_points *out, const dt_point control[4], double tolerance) {
    return halve_cubic(out, control, tolerance, 0);
}

dt_point dt_arc_at(const dt_arc *arc, double t) {
    double c = cos(t), s = sin(t);
    return (dt_point){arc->centre.x + c * arc->u.x + s * arc->v.x, arc->centre.y + c * arc->u.y + s * arc->v.y};
}

/* The larger singular value of the matrix (u v): the large half-axis of the ellipse. */
static double large_radius(const dt_arc *arc) {
    double sum = dt_point_dot(arc->u, arc->u) + dt_point_dot(arc->v, arc->v);
    double area = dt_point_cross(arc->u, arc->v);
    return sqrt(0.5 * (sum + sqrt(fmax(0.0, sum * sum - 4.0 * area * area))));
}

static int arc_parts(const dt_arc *arc, double tolerance) {
    double radius = large_radius(arc);
    double step = tolerance >= radius ? HALF_PI : fmin(HALF_PI, 4.0 * asin(sqrt(0.5 * tolerance / radius)));
    double parts = ceil(fabs(arc->sweep) / step - 1e-9);
    return parts >= MOST_ARC_PARTS ? MOST_ARC_PARTS : parts < 1.0 ? 1 : (int)parts;
}

bool dt_flatten_arc(dt_points *out, const dt_arc *arc, double tolerance) {
    int parts = arc_parts(arc, tolerance);
    for (int i = 1; i < parts; i++)
        if (!dt_array_push(out, dt_arc_at(arc, arc->from + arc->sweep * i / parts))) return false;
    return dt_array_push(out, arc->end);
}

static dt_box box_with(dt_box box, dt_point p) {
    return dt_box_join(box, (dt_box){p, p});
}

static dt_point cubic_at(const dt_point p[4], double t) {
    double u = 1.0 - t, a = u * u * u, b = 3.0 * u * u * t, c = 3.0 * u * t * t, d = t * t * t;
    return (dt_point){a * p[0].x + b * p[1].x + c * p[2].x + d * p[3].x, a * p[0].y + b * p[1].y + c * p[2].y + d * p[3].y};
}

/* Parameters in (0, 1) where the derivative of one coordinate vanishes: a t^2 + b t + c = 0, solved without cancellation. */
static int extremes(double p0, double p1, double p2, double p3, double t[2]) {
    double a = p3 - p0 + 3.0 * (p1 - p2), b = 2.0 * (p0 - 2.0 * p1 + p2), c = p1 - p0;
    double root = b * b - 4.0 * a * c;
    if (!(root >= 0.0)) return 0;
    double q = -0.5 * (b + copysign(sqrt(root), b));
    const double found[2] = {a != 0.0 ? q / a : -1.0, q != 0.0 ? c / q : -1.0};
    int count = 0;
    for (int i = 0; i < 2; i++)
        if (found[i] > 0.0 && found[i] < 1.0) t[count++] = found[i];
    return count;
}

dt_box dt_cubic_box(const dt_point p[4]) {
    dt_box box = box_with(box_with(DT_BOX_EMPTY, p[0]), p[3]);
    double t[4];
    int count = extremes(p[0].x, p[1].x, p[2].x, p[3].x, t);
    count += extremes(p[0].y, p[1].y, p[2].y, p[3].y, t + count);
    for (int i = 0; i < count; i++) box = box_with(box, cubic_at(p, t[i]));
    return box;
}

/* Widens the box by the points at angle + k pi that the arc passes: where one coordinate is largest or smallest. */
static dt_box box_with_extremes(dt_box box, const dt_arc *arc, double angle) {
    double low = fmin(arc->from, arc->from + arc->sweep), high = fmax(arc->from, arc->from + arc->sweep);
    const double half_turn = 2.0 * HALF_PI;
    for (double t = angle + half_turn * ceil((low - angle) / half_turn); t < high; t += half_turn)
        box = box_with(box, dt_arc_at(arc, t));
    return box;
}

dt_box dt_arc_box(const dt_arc *arc) {
    dt_box box = box_with(box_with(DT_BOX_EMPTY, dt_arc_at(arc, arc->from)), arc->end);
    box = box_with_extremes(box, arc, atan2(arc->v.x, arc->u.x));
    return box_with_extremes(box, arc, atan2(arc->v.y, arc->u.y));
}
