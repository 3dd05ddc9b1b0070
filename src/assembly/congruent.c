/* Motions that carry one body onto another. The point farthest from the centre must fall on a point as far from the other's centre;
 * each such start is settled by least squares and then measured at every point of both outlines. */
#include "problem.h"

#include "assembly/vector.h"

/* More turns than this are a disc as far as flattened outlines can tell. */
enum { MOST_TURNS = 64, MOST_STARTS = 400, SAMPLES = 96 };

static bool could_be_equal(const dt_body *a, const dt_body *b, double tolerance) {
    if (fabs(a->radius - b->radius) > 2.0 * tolerance || a->ring_count != b->ring_count) return false;
    if (fabs(a->area - b->area) > tolerance * fmin(a->perimeter, b->perimeter)) return false;
    return fabs(a->perimeter - b->perimeter) <= 0.02 * b->perimeter + 4.0 * tolerance;
}

static bool is_disc(const dt_body *body, double tolerance) {
    if (body->ring_count != 1) return false;
    for (uint32_t i = 0; i < body->point_count; i++)
        if (body->radius - dt_point_distance(body->centre, body->points[i]) > tolerance) return false;
    return body->point_count > 8;
}

static bool lies_on(const dt_body *a, dt_pose pose, const dt_body *b, double tolerance) {
    for (uint32_t i = 0; i < a->point_count; i++)
        if (fabs(dt_body_depth(b, dt_pose_apply(pose, a->points[i])).depth) > tolerance) return false;
    return true;
}

static bool carries(const dt_body *a, dt_pose pose, const dt_body *b, double tolerance) {
    return lies_on(a, pose, b, tolerance) && lies_on(b, dt_pose_inverse(pose), a, tolerance);
}

static bool is_known(const dt_turns *turns, dt_pose pose, double radius, double tolerance) {
    for (size_t i = 0; i < turns->count; i++)
        if (hypot(turns->poses[i].c - pose.c, turns->poses[i].s - pose.s) * radius <= 4.0 * tolerance) return true;
    return false;
}

static dt_pose start_pose(const dt_body *a, dt_point far, const dt_body *b, dt_point onto) {
    dt_point u = dt_point_sub(far, a->centre), v = dt_point_sub(onto, b->centre);
    double scale = fmax(hypot(u.x, u.y) * hypot(v.x, v.y), 1e-300);
    dt_pose pose = {dt_point_dot(u, v) / scale, dt_point_cross(u, v) / scale, {0.0, 0.0}, false};
    double length = hypot(pose.c, pose.s);
    pose.c = length > 0.0 ? pose.c / length : 1.0;
    pose.s = length > 0.0 ? pose.s / length : 0.0;
    pose.shift = dt_point_sub(b->centre, dt_pose_apply(pose, a->centre));
    return pose;
}

/* Points all along the outline: corners alone slide along the lines that they lie on. */
static size_t sample_outline(const dt_body *a, dt_point samples[SAMPLES]) {
    size_t used = 0;
    for (uint32_t r = 0; r < a->ring_count && used < SAMPLES; r++) {
        size_t share = (size_t)(SAMPLES * a->ring_length[r] / a->perimeter);
        for (size_t i = 0; i < share && used < SAMPLES; i++)
            samples[used++] = dt_body_at(a, r, a->ring_length[r] * ((double)i + 0.5) / (double)share);
    }
    return used;
}

static bool try_start(const dt_body *a, dt_point far, const dt_body *b, uint32_t onto, double tolerance, dt_turns *turns) {
    dt_pose pose = start_pose(a, far, b, b->points[onto]);
    if (is_known(turns, pose, b->radius, tolerance)) return true;
    if (!lies_on(a, pose, b, b->field.reach * 0.999)) return true;
    dt_laid there = {b, DT_POSE_IDENTITY};
    dt_point samples[SAMPLES];
    dt_settling s = {.points = samples, .point_count = sample_outline(a, samples), .others = &there, .other_count = 1,
                     .contact_mm = b->field.reach, .roughly = true};
    dt_settle(&s, &pose);
    if (is_known(turns, pose, b->radius, tolerance)) return true;
    s.roughly = false;
    dt_settle(&s, &pose);
    if (!carries(a, pose, b, tolerance) || is_known(turns, pose, b->radius, tolerance)) return true;
    if (turns->count == MOST_TURNS) return false;
    turns->poses[turns->count++] = pose;
    return true;
}

static bool is_far_point(const dt_body *b, uint32_t i, double least) {
    return dt_point_distance(b->centre, b->points[i]) >= least;
}

bool dt_congruences(const dt_body *a, const dt_body *b, double tolerance, dt_arena *arena, dt_turns *out) {
    dt_pose found[MOST_TURNS];
    dt_turns turns = {found, 0, false};
    if (!could_be_equal(a, b, tolerance)) goto done;
    uint32_t far = 0;
    for (uint32_t i = 1; i < a->point_count; i++)
        if (dt_point_distance(a->centre, a->points[i]) > dt_point_distance(a->centre, a->points[far])) far = i;
    if (a == b) turns.poses[turns.count++] = DT_POSE_IDENTITY;
    turns.any = is_disc(a, tolerance) && is_disc(b, tolerance);
    if (turns.any) {
        if (a != b) turns.poses[turns.count++] = start_pose(a, a->points[far], b, b->points[0]);
        goto done;
    }
    double least = b->radius - 2.0 * tolerance;
    for (uint32_t i = 0, starts = 0; i < b->point_count && starts < MOST_STARTS; i++)
        if (is_far_point(b, i, least)) {
            starts++;
            if (!try_start(a, a->points[far], b, i, tolerance, &turns)) break;
        }
done:
    turns.poses = DT_TAKE(arena, turns.count, dt_pose);
    if (!turns.poses) return false;
    for (size_t i = 0; i < turns.count; i++) turns.poses[i] = found[i];
    *out = turns;
    return true;
}
