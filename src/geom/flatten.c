/* Curves to polylines. Cubics by halving, at the end in thirds, while a part is not flat: with chord p0-p3 and h1, h2
 * the distances of the inner control points from it, the curve leaves the chord by 3t(1-t)|(1-t)h1 + t h2|, at most 3/4
 * max(|h|) and at most 4/9 max(|h|) when the two lie on different sides (own derivation). Arcs in equal steps of the
 * angle: the image of a circle under a linear map of norm s leaves its chord by at most s (1 - cos(step/2)). */
#include "geom/flatten.h"

#include <math.h>

enum { MOST_HALVINGS = 16, MOST_ARC_PARTS = 65536 };
/* A part's deviation goes with the square of its length, so thirds are flat where halves are 9/4 too far off; a little
 * more where the curve is uneven. */
static const double WORTH_THIRDS = 2.6;
static const double HALF_PI = 1.57079632679489661923;

/* Does the foot of p on the chord stay on it (give or take the tolerance)? */
static bool is_along(dt_point p, dt_point start, dt_point chord, double length, double tolerance) {
    double along = dt_point_dot(dt_point_sub(p, start), chord) / length;
    return along >= -tolerance && along <= length + tolerance;
}

/* A bound on how far the curve leaves its chord; INFINITY where it runs past the chord's ends by more than the
 * tolerance. */
static double deviation(const dt_point p[4], double tolerance) {
    dt_point chord = dt_point_sub(p[3], p[0]);
    double length = sqrt(chord.x * chord.x + chord.y * chord.y);
    if (length <= tolerance) return fmax(dt_point_distance(p[0], p[1]), dt_point_distance(p[0], p[2]));
    if (!is_along(p[1], p[0], chord, length, tolerance) || !is_along(p[2], p[0], chord, length, tolerance))
        return INFINITY;
    double h1 = dt_point_cross(chord, dt_point_sub(p[1], p[0])) / length;
    double h2 = dt_point_cross(chord, dt_point_sub(p[2], p[0])) / length;
    return (h1 * h2 < 0.0 ? 4.0 / 9.0 : 0.75) * fmax(fabs(h1), fabs(h2));
}

static dt_point middle(dt_point a, dt_point b) {
    return (dt_point){0.5 * (a.x + b.x), 0.5 * (a.y + b.y)};
}

static void halve(const dt_point p[4], dt_point first[4], dt_point second[4]) {
    dt_point a = middle(p[0], p[1]), b = middle(p[1], p[2]), c = middle(p[2], p[3]);
    dt_point ab = middle(a, b), bc = middle(b, c), m = middle(ab, bc);
    first[0] = p[0], first[1] = a, first[2] = ab, first[3] = m;
    second[0] = m, second[1] = bc, second[2] = c, second[3] = p[3];
}

/* The point at one third; that at two thirds is the same with the points in reverse, to the bit. */
static dt_point at_third(dt_point p0, dt_point p1, dt_point p2, dt_point p3) {
    return (dt_point){((8.0 * p0.x + 12.0 * p1.x) + (6.0 * p2.x + p3.x)) / 27.0,
                      ((8.0 * p0.y + 12.0 * p1.y) + (6.0 * p2.y + p3.y)) / 27.0};
}

/* The inner control point of a third next to `from`: the curve's derivative there is a weighted sum of the sides of the
 * control polygon. */
static dt_point handle(dt_point from, const dt_point p[4], const double weights[3]) {
    double x = 0.0, y = 0.0;
    for (int i = 0; i < 3; i++) {
        x += weights[i] * (p[i + 1].x - p[i].x);
        y += weights[i] * (p[i + 1].y - p[i].y);
    }
    return (dt_point){from.x + x / 27.0, from.y + y / 27.0};
}

/* Three parts where two are too few and four more than are needed: an eighth fewer points on knobbed lines than by
 * halving alone. */
static bool thirds_are_flat(const dt_point p[4], dt_point a, dt_point b, double tolerance) {
    const dt_point parts[3][4] = {
        {p[0], handle(p[0], p, (const double[]){9, 0, 0}), handle(a, p, (const double[]){-4, -4, -1}), a},
        {a, handle(a, p, (const double[]){4, 4, 1}), handle(b, p, (const double[]){-1, -4, -4}), b},
        {b, handle(b, p, (const double[]){1, 4, 4}), handle(p[3], p, (const double[]){0, 0, -9}), p[3]}};
    for (int i = 0; i < 3; i++)
        if (deviation(parts[i], tolerance) > tolerance) return false;
    return true;
}

static bool add_cubic(dt_points *out, const dt_point p[4], double tolerance, int depth) {
    if (depth == MOST_HALVINGS || deviation(p, tolerance) <= tolerance) return dt_array_push(out, p[3]);
    dt_point first[4], second[4];
    halve(p, first, second);
    double halves = fmax(deviation(first, tolerance), deviation(second, tolerance));
    if (halves > tolerance && halves < WORTH_THIRDS * tolerance) {
        dt_point a = at_third(p[0], p[1], p[2], p[3]), b = at_third(p[3], p[2], p[1], p[0]);
        if (thirds_are_flat(p, a, b, tolerance))
            return dt_array_push(out, a) && dt_array_push(out, b) && dt_array_push(out, p[3]);
    }
    return add_cubic(out, first, tolerance, depth + 1) && add_cubic(out, second, tolerance, depth + 1);
}

bool dt_flatten_cubic(dt_points *out, const dt_point control[4], double tolerance) {
    return add_cubic(out, control, tolerance, 0);
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
    return (dt_point){a * p[0].x + b * p[1].x + c * p[2].x + d * p[3].x,
                      a * p[0].y + b * p[1].y + c * p[2].y + d * p[3].y};
}

/* Parameters in (0, 1) where the derivative of one coordinate vanishes: a t^2 + b t + c = 0, solved without
 * cancellation. */
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
