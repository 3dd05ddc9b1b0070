/* Points, boxes, poses and polylines. Axes: x right, y down; see geom.h for the sign of areas and turns. */
#include <dovetell/geom.h>

#include <math.h>

static const double PI = 3.14159265358979323846;

dt_box dt_box_of(dt_path path) {
    dt_box box = DT_BOX_EMPTY;
    for (size_t i = 0; i < path.count; i++) {
        dt_point p = path.points[i];
        if (p.x < box.low.x) box.low.x = p.x;
        if (p.y < box.low.y) box.low.y = p.y;
        if (p.x > box.high.x) box.high.x = p.x;
        if (p.y > box.high.y) box.high.y = p.y;
    }
    return box;
}

dt_box dt_box_join(dt_box a, dt_box b) {
    return (dt_box){{fmin(a.low.x, b.low.x), fmin(a.low.y, b.low.y)}, {fmax(a.high.x, b.high.x), fmax(a.high.y, b.high.y)}};
}

dt_box dt_box_grown(dt_box box, double margin) {
    return (dt_box){{box.low.x - margin, box.low.y - margin}, {box.high.x + margin, box.high.y + margin}};
}

bool dt_box_meets(dt_box a, dt_box b) {
    return a.low.x <= b.high.x && b.low.x <= a.high.x && a.low.y <= b.high.y && b.low.y <= a.high.y;
}

bool dt_box_is_empty(dt_box box) {
    return !(box.low.x <= box.high.x && box.low.y <= box.high.y);
}

static dt_point rotate(dt_pose pose, dt_point p) {
    return (dt_point){pose.c * p.x - pose.s * p.y, pose.s * p.x + pose.c * p.y};
}

dt_point dt_pose_apply(dt_pose pose, dt_point point) {
    if (pose.flipped) point.x = -point.x;
    return dt_point_add(rotate(pose, point), pose.shift);
}

/* With F the flip and R(t) the rotation, F R(t) = R(-t) F; so second o first = R2 F2 R1 F1 = R2 R(+-1) F2 F1. */
dt_pose dt_pose_compose(dt_pose second, dt_pose first) {
    double s1 = second.flipped ? -first.s : first.s;
    return (dt_pose){second.c * first.c - second.s * s1, second.s * first.c + second.c * s1,
                     dt_pose_apply(second, first.shift), second.flipped != first.flipped};
}

dt_pose dt_pose_inverse(dt_pose pose) {
    dt_pose inverse = {pose.c, pose.flipped ? pose.s : -pose.s, {0.0, 0.0}, pose.flipped};
    inverse.shift = dt_point_scale(dt_pose_apply(inverse, pose.shift), -1.0);
    return inverse;
}

double dt_pose_turn(dt_pose pose) {
    double degrees = -atan2(pose.s, pose.c) * 180.0 / PI;
    return degrees <= -180.0 ? 180.0 : degrees + 0.0;
}

dt_pose dt_pose_about(double turn, bool flipped, dt_point from, dt_point to) {
    double radians = -turn * PI / 180.0;
    dt_pose pose = {cos(radians), sin(radians), {0.0, 0.0}, flipped};
    pose.shift = dt_point_sub(to, dt_pose_apply(pose, from));
    return pose;
}

double dt_path_length(dt_path path) {
    double length = 0.0;
    for (size_t i = 1; i < path.count; i++) length += dt_point_distance(path.points[i - 1], path.points[i]);
    return length;
}

double dt_path_perimeter(dt_path path) {
    if (path.count < 2) return 0.0;
    return dt_path_length(path) + dt_point_distance(path.points[path.count - 1], path.points[0]);
}

double dt_path_area(dt_path path) {
    if (path.count < 3) return 0.0;
    double twice = 0.0;
    dt_point o = path.points[0];
    for (size_t i = 2; i < path.count; i++)
        twice += dt_point_cross(dt_point_sub(path.points[i - 1], o), dt_point_sub(path.points[i], o));
    return twice / 2.0;
}

static dt_point mean_point(dt_path path) {
    dt_point sum = {0.0, 0.0};
    for (size_t i = 0; i < path.count; i++) sum = dt_point_add(sum, path.points[i]);
    return path.count ? dt_point_scale(sum, 1.0 / (double)path.count) : sum;
}

dt_point dt_path_centroid(dt_path path) {
    if (path.count < 3) return mean_point(path);
    double twice = 0.0;
    dt_point sum = {0.0, 0.0}, o = path.points[0];
    for (size_t i = 2; i < path.count; i++) {
        dt_point a = dt_point_sub(path.points[i - 1], o), b = dt_point_sub(path.points[i], o);
        double cross = dt_point_cross(a, b);
        twice += cross;
        sum = dt_point_add(sum, dt_point_scale(dt_point_add(a, b), cross));
    }
    if (twice == 0.0) return mean_point(path);
    return dt_point_add(o, dt_point_scale(sum, 1.0 / (3.0 * twice)));
}

double dt_segment_distance(dt_point p, dt_point a, dt_point b, dt_point *nearest) {
    dt_point along = dt_point_sub(b, a);
    double square = dt_point_dot(along, along);
    double t = square > 0.0 ? dt_point_dot(dt_point_sub(p, a), along) / square : 0.0;
    t = fmin(fmax(t, 0.0), 1.0);
    dt_point at = dt_point_add(a, dt_point_scale(along, t));
    if (nearest) *nearest = at;
    return dt_point_distance(p, at);
}

double dt_path_distance(dt_path path, bool closed, dt_point p) {
    if (path.count == 0) return INFINITY;
    double best = dt_point_distance(p, path.points[0]);
    for (size_t i = 1; i < path.count; i++)
        best = fmin(best, dt_segment_distance(p, path.points[i - 1], path.points[i], NULL));
    if (closed) best = fmin(best, dt_segment_distance(p, path.points[path.count - 1], path.points[0], NULL));
    return best;
}

bool dt_path_contains(dt_path path, dt_point p) {
    bool inside = false;
    for (size_t i = 0, j = path.count - 1; i < path.count; j = i++) {
        dt_point a = path.points[j], b = path.points[i];
        if ((a.y > p.y) == (b.y > p.y)) continue;
        if (p.x < a.x + (p.y - a.y) * (b.x - a.x) / (b.y - a.y)) inside = !inside;
    }
    return inside;
}
