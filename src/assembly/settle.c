/* Settling: see settle.h. Method: iterative closest point with point-to-line distances (Chen and Medioni, Object modelling by
 * registration of multiple range images, 1992). */
#include "settle.h"

#include "assembly/vector.h"

enum { ROUNDS = 8 };
/* Below this step, mm, nothing is gained any more: far below the drawing's grid, since errors add up from piece to piece. */
static const double STILL_MM = 1e-7, ROUGHLY_STILL_MM = 1e-3;
/* Weight of the anchor against all points together: it decides only what they leave open. */
static const double ANCHOR = 1e-3;
static const double DAMPING = 1e-9;

dt_depth dt_laid_depth(dt_laid laid, dt_point p) {
    dt_point off = dt_point_sub(p, laid.pose.shift);
    double c = laid.pose.c, s = laid.pose.s;
    dt_depth hit = dt_body_depth(laid.body, (dt_point){c * off.x + s * off.y, c * off.y - s * off.x});
    hit.inward = (dt_point){c * hit.inward.x - s * hit.inward.y, s * hit.inward.x + c * hit.inward.y};
    hit.nearest = carry(laid.pose, hit.nearest);
    return hit;
}

/* Normal equations in shift x, shift y and turn times arm. */
typedef struct equations {
    double a[3][3], b[3];
    size_t count;
    double worst;
} equations;

static void add_row(equations *e, const double row[3], double residual, double weight) {
    for (int i = 0; i < 3; i++) {
        for (int j = 0; j < 3; j++) e->a[i][j] += weight * row[i] * row[j];
        e->b[i] -= weight * row[i] * residual;
    }
}

/* Symmetric and positive once damped: elimination without pivoting will do. */
static void solve(equations *e, double x[3]) {
    double damp = DAMPING * (e->a[0][0] + e->a[1][1] + e->a[2][2]) + 1e-300;
    for (int i = 0; i < 3; i++) e->a[i][i] += damp;
    for (int i = 0; i < 3; i++)
        for (int r = i + 1; r < 3; r++) {
            double factor = e->a[r][i] / e->a[i][i];
            for (int k = i; k < 3; k++) e->a[r][k] -= factor * e->a[i][k];
            e->b[r] -= factor * e->b[i];
        }
    for (int i = 2; i >= 0; i--) {
        x[i] = e->b[i];
        for (int k = i + 1; k < 3; k++) x[i] -= e->a[i][k] * x[k];
        x[i] /= e->a[i][i];
    }
}

static double segment_length(const dt_body *body, uint32_t segment) {
    return dt_point_distance(body->points[segment], body->points[body->next[segment]]);
}

bool dt_runs_along(dt_laid own, dt_probe probe, const dt_body *other, const dt_depth *hit, double contact) {
    static const double ALONG = 0.966, SURELY = 0.9986; /* 15 and 3 degrees */
    double off = -dt_point_dot(turn_by(own.pose, probe.normal), hit->inward);
    if (off <= ALONG) return false;
    if (off >= SURELY) return true;
    double turn = sqrt(1.0 - off * off), length = segment_length(other, hit->segment);
    if (length * turn <= 2.0 * contact) return true;
    length = fmin(length, segment_length(own.body, dt_body_depth(own.body, probe.at).segment));
    return length * turn <= 2.0 * contact;
}

/* *whose: the number of the body that it belongs to. */
static dt_depth nearest_line(const dt_settling *s, dt_point p, size_t *whose) {
    dt_depth best = {.depth = INFINITY};
    *whose = 0;
    for (size_t k = 0; k < s->other_count; k++) {
        dt_depth hit = dt_laid_depth(s->others[k], p);
        if (!(fabs(hit.depth) < fabs(best.depth) && fabs(hit.depth) < s->others[k].body->field.reach)) continue;
        best = hit;
        *whose = k;
    }
    return best;
}

static bool runs_along(const dt_settling *s, size_t i, dt_pose pose, const dt_body *other, const dt_depth *hit) {
    if (!s->normals) return true;
    return dt_runs_along((dt_laid){s->body, pose}, (dt_probe){s->points[i], s->normals[i]}, other, hit, s->contact_mm);
}

static equations set_up(const dt_settling *s, dt_pose pose, dt_point pivot, double arm) {
    equations e = {.worst = -INFINITY};
    for (size_t i = 0; i < s->point_count; i++) {
        dt_point p = carry(pose, s->points[i]), from = dt_point_sub(p, pivot);
        size_t whose;
        dt_depth hit = nearest_line(s, p, &whose);
        if (!(fabs(hit.depth) <= s->contact_mm) || !runs_along(s, i, pose, s->others[whose].body, &hit)) continue;
        const double row[3] = {hit.inward.x, hit.inward.y, (hit.inward.y * from.x - hit.inward.x * from.y) / arm};
        add_row(&e, row, hit.depth, 1.0);
        e.worst = fmax(e.worst, fabs(hit.depth));
        e.count++;
    }
    if (s->anchored) {
        dt_point p = carry(pose, s->from), from = dt_point_sub(p, pivot);
        double weight = ANCHOR * (double)(e.count + 1);
        add_row(&e, (const double[3]){1.0, 0.0, -from.y / arm}, p.x - s->to.x, weight);
        add_row(&e, (const double[3]){0.0, 1.0, from.x / arm}, p.y - s->to.y, weight);
    }
    return e;
}

static dt_pose moved(dt_pose pose, dt_point pivot, dt_point shift, double turn) {
    dt_pose about = {cos(turn), sin(turn), {0.0, 0.0}, false};
    about.shift = dt_point_add(dt_point_sub(pivot, carry(about, pivot)), shift);
    return dt_pose_compose(about, pose);
}

/* moved: shift x, shift y, and turn times arm since the start. */
static void hold_back(equations *e, double hold, const double moved_so_far[3]) {
    double weight = hold * (double)e->count;
    for (int i = 0; i < 3; i++) {
        e->a[i][i] += weight;
        e->b[i] -= weight * moved_so_far[i];
    }
}

double dt_settle(const dt_settling *s, dt_pose *pose) {
    double arm = 1e-3, so_far[3] = {0.0, 0.0, 0.0}, still = s->roughly ? ROUGHLY_STILL_MM : STILL_MM;
    dt_point centre = {0.0, 0.0};
    for (size_t i = 0; i < s->point_count; i++) centre = dt_point_add(centre, s->points[i]);
    if (s->point_count) centre = dt_point_scale(centre, 1.0 / (double)s->point_count);
    for (size_t i = 0; i < s->point_count; i++) arm = fmax(arm, dt_point_distance(centre, s->points[i]));
    for (int round = 0;; round++) {
        dt_point pivot = carry(*pose, centre);
        equations e = set_up(s, *pose, pivot, arm);
        if (e.count == 0) return INFINITY;
        double x[3];
        hold_back(&e, s->hold, so_far);
        solve(&e, x);
        if (round == ROUNDS || fabs(x[0]) + fabs(x[1]) + fabs(x[2]) < still) return e.worst;
        for (int i = 0; i < 3; i++) so_far[i] += x[i];
        *pose = moved(*pose, pivot, (dt_point){x[0], x[1]}, x[2] / arm);
    }
}
