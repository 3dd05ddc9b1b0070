/* Fitting by brute force: see fit_brute.h. */
#include "fit_brute.h"

#include "draft.h"
#include <math.h>

static const double PI = 3.14159265358979323846;
static const double STEP_MM = 0.25;
enum { MOST_DENSE = 8000, SPREAD = 16, WORST = 8 };

static double plain_distance(dt_point p, dt_path path) {
    double best = INFINITY;
    for (size_t i = 0, j = path.count - 1; i < path.count; j = i++) {
        double ux = path.points[i].x - path.points[j].x, uy = path.points[i].y - path.points[j].y;
        double px = p.x - path.points[j].x, py = p.y - path.points[j].y, square = ux * ux + uy * uy;
        double t = square > 0 ? fmin(1.0, fmax(0.0, (px * ux + py * uy) / square)) : 0.0;
        double dx = px - t * ux, dy = py - t * uy;
        best = fmin(best, dx * dx + dy * dy);
    }
    return sqrt(best);
}

static double to_paths(dt_point p, const dt_path *paths, size_t count) {
    double best = INFINITY;
    for (size_t i = 0; i < count; i++) best = fmin(best, plain_distance(p, paths[i]));
    return best;
}

/* Points no farther than STEP_MM apart on some paths, all vertices among them. */
typedef struct dense {
    dt_point points[MOST_DENSE];
    size_t count;
    size_t worst[WORST], next;  /* points that showed poses to be bad of late: looked at first */
} dense;

static void add_dense(dense *d, dt_path path) {
    for (size_t i = 0, j = path.count - 1; i < path.count; j = i++) {
        dt_point a = path.points[j], b = path.points[i];
        int steps = (int)(dt_point_distance(a, b) / STEP_MM) + 1;
        for (int k = 0; k < steps && d->count < MOST_DENSE; k++) {
            double t = (double)k / steps;
            d->points[d->count++] = (dt_point){a.x + t * (b.x - a.x), a.y + t * (b.y - a.y)};
        }
    }
}

/* Two shapes with their dense points: outlines, and holes. */
typedef struct couple {
    dt_shape a, b;
    dense from[4];
} couple;

static void fill_couple(couple *c, dt_shape a, dt_shape b) {
    c->a = a;
    c->b = b;
    for (int i = 0; i < 4; i++) c->from[i] = (dense){.count = 0};
    add_dense(&c->from[0], a.outline);
    add_dense(&c->from[1], b.outline);
    for (size_t i = 0; i < a.hole_count; i++) add_dense(&c->from[2], a.holes[i]);
    for (size_t i = 0; i < b.hole_count; i++) add_dense(&c->from[3], b.holes[i]);
}

/* The largest of `most` and all distances; looks no further once it is no less than `enough`. The points are taken
 * SPREAD at a time, so that a bad pose shows soon. */
static double one_way(dense *from, dt_pose pose, const dt_path *to, size_t count, double most, double enough) {
    for (size_t i = 0; i < WORST && from->count && most < enough; i++)
        most = fmax(most, to_paths(dt_pose_apply(pose, from->points[from->worst[i]]), to, count));
    for (size_t first = 0; first < SPREAD; first++)
        for (size_t i = first; i < from->count && most < enough; i += SPREAD) {
            most = fmax(most, to_paths(dt_pose_apply(pose, from->points[i]), to, count));
            if (most >= enough) from->worst[from->next++ % WORST] = i;
        }
    return most;
}

static double hausdorff(couple *c, dt_pose pose, double enough) {
    dt_pose back = dt_pose_inverse(pose);
    double most = one_way(&c->from[0], pose, &c->b.outline, 1, 0.0, enough);
    most = one_way(&c->from[1], back, &c->a.outline, 1, most, enough);
    most = one_way(&c->from[2], pose, c->b.holes, c->b.hole_count, most, enough);
    return one_way(&c->from[3], back, c->a.holes, c->a.hole_count, most, enough);
}

double brute_hausdorff(dt_shape a, dt_shape b, dt_pose pose) {
    static couple c;
    fill_couple(&c, a, b);
    return hausdorff(&c, pose, INFINITY);
}

static dt_pose at_turn(double angle, dt_point from, dt_point to) {
    dt_pose pose = {cos(angle), sin(angle), {0, 0}, false};
    pose.shift = dt_point_sub(to, dt_pose_apply(pose, from));
    return pose;
}

/* Grid of 5 x 5 x 5 round the best, closing in slowly enough to follow a bent valley. */
static double close_in(couple *c, double angle, dt_point to, double reach) {
    dt_point from = dt_path_centroid(c->a.outline);
    double best = hausdorff(c, at_turn(angle, from, to), INFINITY), turn_reach = reach / 10.0;
    while (reach > 4e-4) {
        double old = best, best_angle = angle;
        dt_point best_to = to;
        for (int i = 0; i < 125; i++) {
            double w = angle + turn_reach * (i % 5 - 2) / 2;
            dt_point at = {to.x + reach * (i / 5 % 5 - 2) / 2, to.y + reach * (i / 25 - 2) / 2};
            double value = hausdorff(c, at_turn(w, from, at), best);
            if (value >= best) continue;
            best = value;
            best_angle = w;
            best_to = at;
        }
        angle = best_angle;
        to = best_to;
        if (best > old - reach * 0.02) {
            reach *= 0.6;
            turn_reach *= 0.6;
        }
    }
    return best;
}

double brute_mismatch(dt_shape a, dt_shape b) {
    enum { TURNS = 180, TRIED = 3 };
    static couple c;
    double values[TURNS], best = INFINITY;
    fill_couple(&c, a, b);
    dt_point from = dt_path_centroid(a.outline), to = dt_path_centroid(b.outline);
    for (int i = 0; i < TURNS; i++) values[i] = hausdorff(&c, at_turn(2 * PI * i / TURNS, from, to), INFINITY);
    for (int tried = 0; tried < TRIED; tried++) {
        int least = 0;
        for (int i = 1; i < TURNS; i++)
            if (values[i] < values[least]) least = i;
        best = fmin(best, close_in(&c, 2 * PI * least / TURNS, to, 1.0));
        for (int i = -4; i <= 4; i++) values[(least + i + TURNS) % TURNS] = INFINITY;
    }
    return best;
}

dt_path brute_blob(uint64_t *state, double radius, bool smooth, dt_point *points) {
    size_t count = smooth ? 72 : 5 + (size_t)(draft_random(state) * 9);
    double term[5], phase[5];
    for (int k = 0; k < 5; k++) {
        term[k] = draft_random(state) * 0.16;
        phase[k] = draft_random(state) * 2 * PI;
    }
    for (size_t i = 0; i < count; i++) {
        double angle = 2 * PI * (double)i / (double)count, r = 1.0;
        for (int k = 0; k < 5; k++) r += term[k] * cos((k + 1) * angle + phase[k]);
        if (!smooth) r *= 0.75 + 0.5 * draft_random(state);
        points[i] = (dt_point){radius * r * cos(angle), radius * r * sin(angle)};
    }
    return (dt_path){points, count};
}

/* A flip turns the sense of the walk: the points are written backwards then. */
void brute_move(dt_path path, dt_pose pose, dt_point *points) {
    for (size_t i = 0; i < path.count; i++)
        points[pose.flipped ? path.count - 1 - i : i] = dt_pose_apply(pose, path.points[i]);
}

dt_pose brute_random_pose(uint64_t *state, bool flipped) {
    double turn = 360.0 * draft_random(state);
    return dt_pose_about(turn, flipped, (dt_point){0, 0},
                         (dt_point){60 * draft_random(state), 60 * draft_random(state)});
}
