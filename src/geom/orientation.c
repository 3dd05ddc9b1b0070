/* The predicate on which geometric decisions rest: the exact sign of the turn a -> b -> c.
 * Method: the determinant in doubles with Shewchuk's static error bound; where that is not sure, the determinant is expanded
 * into twelve products, each split exactly in two doubles, and summed exactly (Shewchuk, Adaptive precision floating-point
 * arithmetic and fast robust geometric predicates, Discrete and Computational Geometry 18, 1997: two-sum, two-product,
 * grow-expansion). Exact unless the inputs overflow. */
#include <dovetell/geom.h>

#include <float.h>
#include <math.h>

static void two_sum(double a, double b, double *sum, double *rest) {
    *sum = a + b;
    double b_part = *sum - a, a_part = *sum - b_part;
    *rest = (a - a_part) + (b - b_part);
}

typedef struct expansion {
    double part[16];
    int count;
} expansion;

static void expansion_add(expansion *e, double value) {
    for (int i = 0; i < e->count; i++) {
        double sum, rest;
        two_sum(value, e->part[i], &sum, &rest);
        e->part[i] = rest;
        value = sum;
    }
    e->part[e->count++] = value;
}

static void expansion_add_product(expansion *e, double a, double b) {
    double product = a * b;
    expansion_add(e, fma(a, b, -product));
    expansion_add(e, product);
}

/* The parts do not overlap and grow in size, so the last one that is not zero has the sign of the sum. */
static int expansion_sign(const expansion *e) {
    for (int i = e->count - 1; i >= 0; i--)
        if (e->part[i] != 0.0) return e->part[i] > 0.0 ? 1 : -1;
    return 0;
}

/* det = ax by - ax cy - cx by - ay bx + ay cx + cy bx (+ cx cy - cx cy) */
static int exact_orientation(dt_point a, dt_point b, dt_point c) {
    expansion e = {{0}, 0};
    expansion_add_product(&e, a.x, b.y);
    expansion_add_product(&e, -a.x, c.y);
    expansion_add_product(&e, -c.x, b.y);
    expansion_add_product(&e, -a.y, b.x);
    expansion_add_product(&e, a.y, c.x);
    expansion_add_product(&e, c.y, b.x);
    return expansion_sign(&e);
}

int dt_orientation(dt_point a, dt_point b, dt_point c) {
    double left = (a.x - c.x) * (b.y - c.y), right = (a.y - c.y) * (b.x - c.x);
    double determinant = left - right;
    const double unit = DBL_EPSILON / 2.0, bound = (3.0 + 16.0 * unit) * unit;
    if (fabs(determinant) > bound * (fabs(left) + fabs(right))) return determinant > 0.0 ? 1 : -1;
    return exact_orientation(a, b, c);
}
