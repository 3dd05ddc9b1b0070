/* Prisms in poses: see prism.h. */
#include "prism.h"

#include <math.h>
#include <stdbool.h>

#define ROUNDING_MM 1e-9

/* ---- smallest enclosing circles ---- */

static circle circle_of_two(dt_point a, dt_point b) {
    return (circle){dt_point_scale(dt_point_add(a, b), 0.5), dt_point_distance(a, b) / 2};
}

static circle circle_of_three(dt_point a, dt_point b, dt_point c) {
    dt_point u = dt_point_sub(b, a), v = dt_point_sub(c, a);
    double d = 2 * dt_point_cross(u, v), uu = dt_point_dot(u, u), vv = dt_point_dot(v, v);
    if (fabs(d) < 1e-12) return (circle){a, INFINITY};
    dt_point to = {(v.y * uu - u.y * vv) / d, (u.x * vv - v.x * uu) / d};
    return (circle){dt_point_add(a, to), hypot(to.x, to.y)};
}

static bool holds_all(circle c, const dt_point *points, const support *s) {
    double most = (c.radius + ROUNDING_MM) * (c.radius + ROUNDING_MM);
    for (size_t i = 0; i < s->count; i++) {
        double dx = points[s->index[i]].x - c.centre.x, dy = points[s->index[i]].y - c.centre.y;
        if (dx * dx + dy * dy > most) return false;
    }
    return true;
}

/* Smallest circle round the support, whose last point was outside the circle of the others and so is on its rim. Leaves in the
 * support what holds it. */
static circle hold(const dt_point *points, support *s) {
    size_t last = s->index[s->count - 1];
    circle best = {points[last], s->count == 1 ? 0.0 : INFINITY};
    support held = *s;
    for (size_t i = 0; i + 1 < s->count; i++) {
        circle c = circle_of_two(points[s->index[i]], points[last]);
        if (c.radius < best.radius && holds_all(c, points, s)) {
            best = c;
            held = (support){{s->index[i], last}, 2};
        }
        for (size_t j = i + 1; j + 1 < s->count; j++) {
            c = circle_of_three(points[s->index[i]], points[s->index[j]], points[last]);
            if (c.radius >= best.radius || !holds_all(c, points, s)) continue;
            best = c;
            held = (support){{s->index[i], s->index[j], last}, 3};
        }
    }
    *s = held;
    return best;
}

size_t farthest_from(const dt_point *points, size_t count, dt_point from, double *distance) {
    size_t best = 0;
    double most = -1.0;
    for (size_t i = 0; i < count; i++) {
        double dx = points[i].x - from.x, dy = points[i].y - from.y, d2 = dx * dx + dy * dy;
        if (d2 <= most) continue;
        most = d2;
        best = i;
    }
    *distance = sqrt(most);
    return best;
}

/* The circle that holds the points of `begin`. */
static circle begin_with(const dt_point *points, const support *begin, support *s) {
    *s = (support){{begin->count ? begin->index[0] : 0}, 1};
    circle c = hold(points, s);
    for (size_t i = 1; i < begin->count; i++) {
        if (dt_point_distance(points[begin->index[i]], c.centre) <= c.radius + ROUNDING_MM) continue;
        s->index[s->count++] = begin->index[i];
        c = hold(points, s);
    }
    return c;
}

/* Adds the farthest point until none is outside; the radius grows each time, so it ends (Gaertner, Fast and robust smallest
 * enclosing balls, 1999, in the plane). */
circle circle_round(const dt_point *points, size_t count, double limit, support *held) {
    support s;
    circle c = begin_with(points, held, &s);
    for (size_t rounds = 0; rounds <= count && c.radius <= limit; rounds++) {
        double distance;
        size_t i = farthest_from(points, count, c.centre, &distance);
        if (distance <= c.radius + ROUNDING_MM) break;
        s.index[s.count++] = i;
        c = hold(points, &s);
    }
    *held = s;
    return c;
}

/* ---- poses ---- */

double prism_width(const prism *p, double turn) {
    double c = cos(turn), s = sin(turn), low = INFINITY, high = -INFINITY;
    for (size_t i = 0; i < p->count; i++) {
        double u = c * p->corners[i].x + s * p->corners[i].y;
        if (u < low) low = u;
        if (u > high) high = u;
    }
    return high - low;
}

void prism_cast(const prism *p, double turn, double rise, shadow *out) {
    double c = cos(turn), s = sin(turn), level = cos(rise), steep = sin(rise), back = p->thickness * steep, lowest = INFINITY;
    for (size_t i = 0; i < p->count; i++) {
        double u = c * p->corners[i].x + s * p->corners[i].y, v = c * p->corners[i].y - s * p->corners[i].x;
        out->at[2 * i] = (dt_point){u, v * level};
        out->at[2 * i + 1] = (dt_point){u, v * level - back};
        out->height[i] = v * steep;
        if (out->height[i] < lowest) lowest = out->height[i];
    }
    out->count = 2 * p->count;
    out->level = level;
    out->steep = steep;
    out->thickness = p->thickness;
    out->lowest = lowest + fmin(0.0, p->thickness * level); /* tipped over, the other face is the lower one */
}
