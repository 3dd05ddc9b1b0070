/* Shores and legs: see shore.h. The corner is put at the foot, its first leg's chord is turned by all that the comparison of chords leaves
 * open, in steps, and samples of the outlines are looked up in bitmaps that have been widened by what a step leaves open. */
#include "shore.h"

#include "assembly/vector.h"
#include <stdlib.h>

/* How far a sample of a leg may lie from its shore, in seats: the corner is off by less than two, the line by one, and the turn by what
 * is left between two tries. What is deeper in another body than the first and the last of these and an overlap that is none yet is
 * an overlap for certain. */
static const double HALO_SEATS = 4.0, CORE_SEATS = 4.0;
static const double PI = 3.14159265358979323846;
static const double FEELER_MM = 2.5;
enum { MOST_FEELERS = 48, MOST_TRIES = 127 };

bool dt_grounds_make(const dt_problem *problem, dt_grounds *out) {
    size_t count = problem->body_count + 1;
    *out = (dt_grounds){problem, calloc(count, sizeof *out->halos), calloc(count, sizeof *out->cores),
                        calloc(count, sizeof *out->feelers), calloc(count, sizeof *out->feeler_count)};
    return out->halos && out->cores && out->feelers && out->feeler_count;
}

void dt_grounds_free(dt_grounds *grounds) {
    bool made = grounds->halos && grounds->cores && grounds->feelers;
    for (uint32_t b = 0; made && b <= grounds->problem->body_count; b++) {
        dt_bitmap_free(&grounds->halos[b]);
        dt_bitmap_free(&grounds->cores[b]);
        free(grounds->feelers[b]);
    }
    free(grounds->halos);
    free(grounds->cores);
    free(grounds->feelers);
    free(grounds->feeler_count);
}

static const dt_body *body_of(const dt_problem *problem, uint32_t body) {
    return body == problem->body_count ? &problem->container : &problem->bodies[body];
}

static const dt_bitmap *halo_of(dt_grounds *g, uint32_t body) {
    dt_bitmap *halo = &g->halos[body];
    return halo->bits || dt_halo_make(body_of(g->problem, body), HALO_SEATS * g->problem->seat, halo) ? halo : NULL;
}

static const dt_bitmap *core_of(dt_grounds *g, uint32_t body) {
    dt_bitmap *core = &g->cores[body];
    double depth = g->problem->loose + CORE_SEATS * g->problem->seat;
    return core->bits || dt_core_make(body_of(g->problem, body), depth, core) ? core : NULL;
}

/* Points along the first ring, each about five eighths of the way round from the one before (the golden section spreads them best). */
static bool feel(dt_grounds *g, uint32_t index) {
    static const double GOLDEN = 0.6180339887498949;
    if (g->feelers[index]) return true;
    const dt_body *body = body_of(g->problem, index);
    uint32_t count = (uint32_t)fmin(fmax(body->ring_length[0] / FEELER_MM, 8.0), MOST_FEELERS);
    dt_point *points = malloc(count * sizeof *points);
    if (!points) return false;
    for (uint32_t i = 0; i < count; i++) points[i] = dt_body_at(body, 0, body->ring_length[0] * fmod(i * GOLDEN, 1.0));
    g->feelers[index] = points;
    g->feeler_count[index] = count;
    return true;
}

dt_shore dt_shore_at(const dt_problem *problem, uint32_t body, dt_pose pose, dt_point foot, uint32_t ring, double arc, dt_way way) {
    dt_shore shore = {.laid = {body_of(problem, body), pose}, .body = body, .ring = ring, .arc = arc, .foot = foot};
    shore.curve = dt_curve_of(shore.laid.body, ring, arc, way);
    for (uint32_t level = 0; level < shore.curve.levels; level++) shore.curve.at[level] = turn_by(pose, shore.curve.at[level]);
    return shore;
}

dt_leg dt_leg_on(const dt_shore *shore, const dt_end *end, dt_way way) {
    return (dt_leg){shore, end, way == DT_AHEAD ? 1.0 : -1.0, fmin(end->curve.length, shore->curve.length)};
}

bool dt_leg_is_straight(const dt_leg *leg) {
    return leg->end->curve.straight && leg->shore->curve.straight;
}

/* ---- one try ---- */

/* A try: the legs' piece in the axes of a shore's body, turned by a unit vector and shifted. */
static dt_pose pose_beside(const dt_shore *shore, dt_point corner, dt_point turn) {
    double c = shore->laid.pose.c, s = shore->laid.pose.s;
    dt_pose there = {turn.x * c + turn.y * s, turn.y * c - turn.x * s, {0.0, 0.0}, false};
    there.shift = dt_point_sub(shore->foot, carry(there, corner));
    return there;
}

static bool keeps_near(const dt_leg *leg, dt_pose there, const dt_bitmap *halo, double seat) {
    const dt_curve *beside = &leg->shore->curve;
    double step = leg->end->curve.length / DT_END_SAMPLES, length = beside->length;
    if (beside->levels) length -= dt_lookup_allowance(beside, beside->levels - 1, seat);
    for (int i = DT_END_SAMPLES - 1; i >= 0; i--)
        if ((i + 1) * step <= length &&
            !dt_bitmap_has(halo, dt_point_add(leg->shore->foot, turn_by(there, leg->end->samples[i]))))
            return false;
    return true;
}

static bool reaches_into(const dt_grounds *g, uint32_t body, dt_pose there, const dt_bitmap *core) {
    for (uint32_t i = 0; i < g->feeler_count[body]; i++)
        if (dt_bitmap_has(core, carry(there, g->feelers[body][i]))) return true;
    return false;
}

static bool overlaps(const dt_grounds *g, const dt_leg *leg, dt_pose there) {
    uint32_t shore = leg->shore->body;
    if (reaches_into(g, leg->end->body, there, &g->cores[shore])) return true;
    return shore != g->problem->body_count && reaches_into(g, shore, dt_pose_inverse(there), &g->cores[leg->end->body]);
}

static bool stands(const dt_grounds *g, const dt_leg *legs, size_t count, dt_point turn) {
    dt_point corner = g->problem->bodies[legs[0].end->body].breaks[legs[0].end->corner].at;
    dt_pose there[2];
    for (size_t k = 0; k < count; k++) {
        there[k] = pose_beside(legs[k].shore, corner, turn);
        if (!keeps_near(&legs[k], there[k], &g->halos[legs[k].shore->body], g->problem->seat)) return false;
    }
    for (size_t k = 0; k < count; k++)
        if (overlaps(g, &legs[k], there[k])) return false;
    return true;
}

/* ---- all of them ---- */

static bool make_ground(dt_grounds *g, const dt_leg *legs, size_t count) {
    uint32_t own = legs[0].end->body;
    bool made = feel(g, own) && core_of(g, own);
    for (size_t k = 0; made && k < count; k++) {
        uint32_t body = legs[k].shore->body;
        made = halo_of(g, body) && core_of(g, body) && (body == g->problem->body_count || feel(g, body));
    }
    return made;
}

/* The turns that are possible, radians from the axes of the body to those of the plane, and the step of the tries. */
typedef struct turns {
    double low, high, step;
} turns;

static dt_point end_at(const dt_end *end, double length) {
    double place = fmin(length / end->curve.length, 1.0) * DT_END_SAMPLES - 1.0;
    if (place <= 0.0) return dt_point_scale(end->samples[0], place + 1.0);
    int i = (int)fmin(place, DT_END_SAMPLES - 2);
    return dt_point_add(end->samples[i], dt_point_scale(dt_point_sub(end->samples[i + 1], end->samples[i]), place - i));
}

/* The chord over which a leg is compared, of the end and of the shore, and how far off their directions may be. */
static void compare_chords(const dt_leg *leg, double seat, dt_point *u, dt_point *v, double *off) {
    const dt_curve *a = &leg->end->curve, *b = &leg->shore->curve;
    uint32_t levels = a->levels < b->levels ? a->levels : b->levels;
    if (levels) {
        *u = a->at[levels - 1];
        *v = b->at[levels - 1];
        *off = dt_lookup_allowance(b, levels - 1, seat);
        return;
    }
    const dt_shore *shore = leg->shore;
    dt_point foot = dt_body_at(shore->laid.body, shore->ring, shore->arc);
    *u = end_at(leg->end, leg->length);
    *v = turn_by(shore->laid.pose, dt_point_sub(dt_body_at(shore->laid.body, shore->ring, shore->arc - leg->sign * leg->length), foot));
    *off = 4.0 * seat;
}

/* Each leg leaves the turn open within what the comparison of its chords says. Between two tries a sample or a feeler moves by two seats
 * at most. */
static turns turns_of(const dt_grounds *g, const dt_leg *legs, size_t count) {
    turns t = {-INFINITY, INFINITY, 0.0};
    double seat = g->problem->seat, span = g->problem->bodies[legs[0].end->body].radius, first = 0.0;
    for (size_t k = 0; k < count; k++) {
        dt_point u, v, far = legs[k].end->samples[DT_END_SAMPLES - 1];
        double off;
        compare_chords(&legs[k], seat, &u, &v, &off);
        span = fmax(span, sqrt(dt_point_dot(far, far)));
        double open = off / fmax(sqrt(fmin(dt_point_dot(u, u), dt_point_dot(v, v))), 1e-9);
        double turn = atan2(dt_point_cross(u, v), dt_point_dot(u, v));
        if (k == 0) first = turn;
        turn = first + remainder(turn - first, 2.0 * PI);
        t.low = fmax(t.low, turn - fmin(open, PI));
        t.high = fmin(t.high, turn + fmin(open, PI));
    }
    t.step = 2.0 * seat / span;
    return t;
}

bool dt_legs_could_stand(dt_grounds *g, const dt_leg *legs, size_t count, bool *yes) {
    *yes = false;
    if (!make_ground(g, legs, count)) return false;
    turns t = turns_of(g, legs, count);
    if (t.low > t.high) return true;
    int tries = (int)fmin(ceil((t.high - t.low) / t.step), MOST_TRIES) + 1;
    *yes = tries > MOST_TRIES;
    double step = (t.high - t.low) / fmax(tries - 1, 1.0), middle = tries > 1 ? t.low : (t.low + t.high) / 2.0;
    dt_point turn = {cos(middle), sin(middle)}, by = {cos(step), sin(step)};
    for (int i = 0; i < tries && !*yes; i++) {
        *yes = stands(g, legs, count, turn);
        turn = (dt_point){turn.x * by.x - turn.y * by.y, turn.y * by.x + turn.x * by.y};
    }
    return true;
}
