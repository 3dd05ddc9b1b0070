/* Elliptical arcs from their end points (SVG 1.1, appendix F.6.5 and F.6.6), done in the plane where the ellipse is the
 * unit circle, so that very unequal or very large radii lose nothing. */
#include "drawing/path_data.h"

#include <math.h>

static const double PI = 3.14159265358979323846;

/* An arc that leaves its chord by less than this share of it is a line: its centre would be lost in rounding. */
static const double STRAIGHT = 1e-7;

typedef struct frame {
    double c, s, rx, ry;
} frame;

static dt_point to_unit(frame f, dt_point p) {
    return (dt_point){(f.c * p.x + f.s * p.y) / f.rx, (-f.s * p.x + f.c * p.y) / f.ry};
}

static dt_point from_unit(frame f, dt_point p) {
    double x = f.rx * p.x, y = f.ry * p.y;
    return (dt_point){f.c * x - f.s * y, f.s * x + f.c * y};
}

/* The angle from one end to the other round the centre of the unit circle. */
static double sweep_angle(double from, double to, bool positive) {
    double sweep = to - from;
    if (positive && sweep < 0.0) sweep += 2.0 * PI;
    if (!positive && sweep > 0.0) sweep -= 2.0 * PI;
    return sweep;
}

bool path_add_arc(outline *out, dt_point from, arc_shape shape, dt_point to) {
    if (from.x == to.x && from.y == to.y) return true;
    double phi = fmod(shape.rotation, 360.0) * PI / 180.0;
    frame f = {cos(phi), sin(phi), fabs(shape.rx), fabs(shape.ry)};
    dt_point h = to_unit(f, dt_point_scale(dt_point_sub(from, to), 0.5));
    double size = h.x * h.x + h.y * h.y; /* lambda of F.6.6.2: above 1 the radii are too small */
    if (f.rx == 0.0 || f.ry == 0.0 || !(size > 0.0) || !isfinite(size)) {
        outline_line(out, to);
        return true;
    }
    if (size > 1.0) {
        double grow = sqrt(size);
        f.rx *= grow;
        f.ry *= grow;
        if (!(fmax(f.rx, f.ry) <= PATH_MOST_COORDINATE)) return false;
        h = dt_point_scale(h, 1.0 / grow);
        size = 1.0;
    }
    double side = (shape.large == shape.positive ? -1.0 : 1.0) * sqrt(1.0 / size - 1.0);
    dt_point centre = {side * h.y, -side * h.x};
    dt_arc arc = {.end = to};
    arc.from = atan2(h.y - centre.y, h.x - centre.x);
    arc.sweep = sweep_angle(arc.from, atan2(-h.y - centre.y, -h.x - centre.x), shape.positive);
    if (fmax(f.rx, f.ry) * arc.sweep * arc.sweep <= 8.0 * STRAIGHT * dt_point_distance(from, to)) {
        outline_line(out, to);
        return true;
    }
    arc.centre = dt_point_add(dt_point_scale(dt_point_add(from, to), 0.5), from_unit(f, centre));
    arc.u = from_unit(f, (dt_point){1.0, 0.0});
    arc.v = from_unit(f, (dt_point){0.0, 1.0});
    outline_arc(out, &arc);
    return true;
}
