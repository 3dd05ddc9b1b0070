/* The set within r of a segment is a strip with two round ends; the part of a line in it is the hull of its parts in the three. */
#include "beside.h"

#include <math.h>

static void clip(double *from, double *to, double t1, double t2) {
    if (t1 > t2) {
        double t = t1;
        t1 = t2;
        t2 = t;
    }
    if (t1 > *from) *from = t1;
    if (t2 < *to) *to = t2;
}

static void within_disc(dt_point p, dt_point way, dt_point c, double r, double *from, double *to) {
    dt_point o = dt_point_sub(p, c);
    double a = dt_point_dot(way, way), b = dt_point_dot(o, way), under = b * b - a * (dt_point_dot(o, o) - r * r);
    *from = INFINITY;
    *to = -INFINITY;
    if (a <= 0.0 || under < 0.0) return;
    *from = (-b - sqrt(under)) / a;
    *to = (-b + sqrt(under)) / a;
}

/* Place and speed along c - d and across it, each between its bounds. */
static void within_strip(dt_point p, dt_point way, const dt_point cd[2], double r, double *from, double *to) {
    dt_point along = dt_point_sub(cd[1], cd[0]), o = dt_point_sub(p, cd[0]);
    double square = dt_point_dot(along, along), width = r * sqrt(square);
    const double start[2] = {dt_point_dot(o, along), dt_point_cross(along, o)};
    const double speed[2] = {dt_point_dot(way, along), dt_point_cross(along, way)};
    const double low[2] = {0.0, -width}, high[2] = {square, width};
    *from = -INFINITY;
    *to = INFINITY;
    for (int k = 0; k < 2; k++) {
        if (speed[k] != 0.0) clip(from, to, (low[k] - start[k]) / speed[k], (high[k] - start[k]) / speed[k]);
        else if (start[k] < low[k] || start[k] > high[k]) *from = INFINITY;
    }
}

bool dt_part_beside(dt_point p, dt_point q, dt_point c, dt_point d, double r, double *from, double *to) {
    dt_point way = dt_point_sub(q, p);
    double first = INFINITY, last = -INFINITY;
    for (int part = 0; part < 3; part++) {
        double low, high;
        if (part == 0) within_strip(p, way, (const dt_point[2]){c, d}, r, &low, &high);
        else within_disc(p, way, part == 1 ? c : d, r, &low, &high);
        if (low < 0.0) low = 0.0;
        if (high > 1.0) high = 1.0;
        if (low > high) continue;
        if (low < first) first = low;
        if (high > last) last = high;
    }
    if (!(first < last)) return false;
    *from = first;
    *to = last;
    return true;
}
