/* Laying: see laying.h. The first pose comes from the chord over the shorter of the two lines; then the whole line is
 * settled on the other by least squares, so that errors of short chords do not add up. */
#include "laying.h"

#include "assembly/vector.h"

enum { LEAST_SAMPLES = 8, MOST_SAMPLES = 32 };

static dt_point on_leg(const dt_body *body, const dt_leg *leg, double length) {
    return dt_body_at(body, body->breaks[leg->end->corner].ring,
                      body->breaks[leg->end->corner].arc + leg->sign * length);
}

/* The pose that lays the end's chord along the shore's. */
static dt_pose chord_pose(const dt_body *body, const dt_leg *leg, dt_point at) {
    const dt_shore *other = leg->shore;
    dt_point corner = body->breaks[leg->end->corner].at, u = dt_point_sub(on_leg(body, leg, leg->length), corner);
    dt_point end = dt_body_at(other->laid.body, other->ring, other->arc - leg->sign * leg->length);
    dt_point v = turn_by(other->laid.pose, dt_point_sub(end, dt_body_at(other->laid.body, other->ring, other->arc)));
    double c = dt_point_dot(u, v), s = dt_point_cross(u, v), scale = hypot(c, s);
    dt_pose pose = {scale > 0.0 ? c / scale : 1.0, scale > 0.0 ? s / scale : 0.0, {0.0, 0.0}, false};
    pose.shift = dt_point_sub(at, carry(pose, corner));
    return pose;
}

/* Before any settling: does the chord's pose already show that the end strays? The chord's ends are off by a seat at
 * most, what lies between by one more on either line. */
static bool strays(const dt_body *body, const dt_leg *leg, dt_pose pose, double seat) {
    enum { LOOKS = 6 };
    for (int i = 1; i <= LOOKS; i++) {
        dt_point p = on_leg(body, leg, leg->length * i / LOOKS);
        if (fabs(dt_laid_depth(leg->shore->laid, carry(pose, p)).depth) > 3.0 * seat) return true;
    }
    return false;
}

typedef struct stance {
    dt_point samples[2 * MOST_SAMPLES];
    dt_laid others[2];
    size_t first[3]; /* of each leg's samples */
} stance;

static void take_samples(const dt_body *body, const dt_leg *legs, size_t count, double per_mm, stance *s) {
    s->first[0] = 0;
    for (size_t k = 0; k < count; k++) {
        size_t parts = (size_t)fmin(fmax(legs[k].length * per_mm, LEAST_SAMPLES), MOST_SAMPLES), from = s->first[k];
        for (size_t i = 0; i < parts; i++)
            s->samples[from + i] = on_leg(body, &legs[k], legs[k].length * (double)(i + 1) / (double)parts);
        s->others[k] = legs[k].shore->laid;
        s->first[k + 1] = from + parts;
    }
}

static void settle_on(const stance *s, size_t count, dt_point corner, dt_point at, bool roughly, dt_pose *pose) {
    dt_settling settling = {.points = s->samples,
                            .point_count = s->first[count],
                            .others = s->others,
                            .other_count = count,
                            .contact_mm = s->others[0].body->field.reach,
                            .anchored = true,
                            .from = corner,
                            .to = at,
                            .roughly = roughly};
    dt_settle(&settling, pose);
}

/* Squared distances of the samples from their shores: the largest and the mean. */
static void measure_off(const stance *s, size_t count, dt_pose pose, double *largest, double *mean) {
    *largest = *mean = 0.0;
    for (size_t k = 0; k < count; k++)
        for (size_t i = s->first[k]; i < s->first[k + 1]; i++) {
            double depth = dt_laid_depth(s->others[k], carry(pose, s->samples[i])).depth;
            *largest = fmax(*largest, depth * depth);
            *mean += depth * depth / (double)s->first[count];
        }
}

/* Settles the corner's legs on their shores. A first look refuses most: where the best that they can do leaves them off
 * by more than a seat in the root mean square, no pose keeps all within a seat. */
static dt_lie follow(const dt_body *body, const dt_leg *legs, size_t count, dt_point at, dt_pose *pose, double seat) {
    static const double LOOK_MM = 0.01; /* ten times the last step of a first look */
    stance s;
    dt_point corner = body->breaks[legs[0].end->corner].at;
    double largest, mean, most = seat + LOOK_MM;
    take_samples(body, legs, count, 1.0, &s);
    settle_on(&s, count, corner, at, true, pose);
    measure_off(&s, count, *pose, &largest, &mean);
    if (mean > most * most) return DT_STRAYS;
    if (largest > most * most) return DT_DOUBTFUL;
    settle_on(&s, count, corner, at, false, pose);
    measure_off(&s, count, *pose, &largest, &mean);
    bool lies = largest <= seat * seat && dt_point_distance(carry(*pose, corner), at) <= 2.0 * seat;
    return lies ? DT_LIES : DT_DOUBTFUL;
}

dt_lie dt_legs_lie(const dt_problem *problem, const dt_leg *legs, size_t count, dt_point at, dt_pose *pose) {
    const dt_body *body = &problem->bodies[legs[0].end->body];
    bool straight = dt_leg_is_straight(&legs[0]); /* then the chord says it all */
    *pose = chord_pose(body, &legs[0], at);
    if (!straight && strays(body, &legs[0], *pose, problem->seat)) return DT_STRAYS;
    if (count > 1 && strays(body, &legs[1], *pose, problem->seat)) return DT_STRAYS;
    return straight ? DT_LIES : follow(body, legs, count, at, pose, problem->seat);
}

double dt_legs_span(const dt_body *body, const dt_leg *legs, size_t count) {
    dt_point ends[3] = {body->breaks[legs[0].end->corner].at, on_leg(body, &legs[0], legs[0].length)};
    double span = dt_point_distance(ends[0], ends[1]);
    if (count == 1) return span;
    ends[2] = on_leg(body, &legs[1], legs[1].length);
    return fmax(span, fmax(dt_point_distance(ends[0], ends[2]), dt_point_distance(ends[1], ends[2])));
}

static bool any_corner_in(const dt_body *corners, dt_pose to_other, const dt_body *other, double loose) {
    for (uint32_t k = 0; k < corners->break_count; k++)
        if (dt_body_holds(other, carry(to_other, corners->breaks[k].at), loose)) return true;
    return false;
}

bool dt_corners_clash(dt_laid a, dt_laid b, double loose) {
    dt_pose there = dt_pose_compose(dt_pose_inverse(b.pose), a.pose);
    return any_corner_in(a.body, there, b.body, loose) || any_corner_in(b.body, dt_pose_inverse(there), a.body, loose);
}
