/* Partings: see partings.h. */
#include "partings.h"

#include "assembly/shore.h"
#include "assembly/vector.h"

static const double PI = 3.14159265358979323846;

/* At a corner as sharp as this lines may always part. Where the outside, a smooth line or a hollow corner fills the room between two lines
 * that part, both together turn away by half a turn at least: so one of them by a right angle, and 15 degrees are for the measuring. */
static const double SHARP_TURN = 75.0 / 180.0 * 3.14159265358979323846;

/* How much a body turns away at a break: a corner that rounding has split or cut off counts as one. */
static double turn_at(const dt_body *body, uint32_t k) {
    static const double HALF_MM = 0.5, CHORD_MM = 0.25;
    const dt_break *at = &body->breaks[k];
    dt_point before = dt_body_at(body, at->ring, at->arc - HALF_MM), after = dt_body_at(body, at->ring, at->arc + HALF_MM);
    dt_point in = dt_point_sub(before, dt_body_at(body, at->ring, at->arc - HALF_MM - CHORD_MM));
    dt_point out = dt_point_sub(dt_body_at(body, at->ring, at->arc + HALF_MM + CHORD_MM), after);
    return atan2(dt_point_cross(in, out), dt_point_dot(in, out));
}

typedef struct filler {
    dt_grounds *grounds;
    const dt_lookup *lookup;
    dt_shore shore;
    dt_way way;              /* of the filler's line */
    uint32_t kind;           /* of the body that turns away; it fills no gap of its own unless there are several */
    double widest;           /* corner that the room could take, radians */
    bool found, failed;
} filler;

static bool note_filler(void *context, uint32_t index) {
    filler *f = context;
    const dt_problem *problem = f->grounds->problem;
    const dt_end *end = dt_lookup_end(f->lookup, index);
    uint32_t kind = problem->kind_of_body[end->body];
    if (kind == f->kind && problem->kinds[kind].count == 1) return true;
    if (end->angle > f->widest) return true;
    dt_leg leg = dt_leg_on(&f->shore, end, f->way);
    f->failed = !dt_legs_could_stand(f->grounds, &leg, 1, &f->found);
    return !f->found && !f->failed;
}

/* false: no memory. */
static bool has_filler(dt_grounds *grounds, dt_lookup *const lookup[2], uint32_t body_index, uint32_t k, dt_way way, bool *has) {
    const dt_problem *problem = grounds->problem;
    const dt_body *body = &problem->bodies[body_index];
    const dt_break *at = &body->breaks[k];
    double turn = turn_at(body, k);
    *has = turn >= SHARP_TURN;
    if (*has) return true;
    dt_way other = way == DT_AHEAD ? DT_BEHIND : DT_AHEAD;
    /* The other line may turn away as well, but by less than SHARP_TURN, or it would part on its own account; so what fills the room is
     * a piece, never the outside. */
    filler f = {.grounds = grounds, .lookup = lookup[other], .way = other, .kind = problem->kind_of_body[body_index],
                .widest = turn + SHARP_TURN};
    f.shore = dt_shore_at(problem, body_index, DT_POSE_IDENTITY, at->at, at->ring, at->arc, way);
    dt_lookup_find(lookup[other], &f.shore.curve, problem->seat, note_filler, &f);
    *has = f.found;
    return !f.failed;
}

/* Both lines may turn away from each other where they part, so one of them does by half the narrowest corner at least. */
static void part_by_angle(const dt_problem *problem, dt_body *body) {
    static const double MARGIN = 0.8; /* for the measuring of angles */
    for (uint32_t k = 0; k < body->break_count; k++)
        body->breaks[k].parts[DT_AHEAD] = body->breaks[k].parts[DT_BEHIND] =
            body->breaks[k].angle < PI && turn_at(body, k) >= MARGIN * problem->narrowest / 2.0;
}

/* Notes in `keep` (two for each break) which partings have a filler. */
static bool part_by_fillers(dt_grounds *grounds, dt_lookup *const lookup[2], uint32_t body_index, bool *keep) {
    const dt_body *body = &grounds->problem->bodies[body_index];
    for (uint32_t k = 0; k < body->break_count; k++)
        for (dt_way way = DT_AHEAD; way <= DT_BEHIND; way++) {
            bool *kept = &keep[2 * k + way];
            *kept = body->breaks[k].parts[way];
            if (*kept && !has_filler(grounds, lookup, body_index, k, way, kept)) return false;
        }
    return true;
}

static void keep_partings(dt_body *body, const bool *keep) {
    for (uint32_t k = 0; k < body->break_count; k++)
        for (int way = 0; way < 2; way++) body->breaks[k].parts[way] = keep[2 * k + (uint32_t)way];
}

/* One round: with fewer partings curves get longer, and fewer corners follow them. */
static bool drop_partings(dt_problem *problem, dt_grounds *grounds, bool *keep) {
    dt_lookup *lookup[2] = {dt_lookup_new(problem, DT_AHEAD), dt_lookup_new(problem, DT_BEHIND)};
    bool ready = lookup[0] && lookup[1];
    size_t used = 0;
    for (uint32_t b = 0; ready && b < problem->body_count; used += problem->bodies[b++].break_count)
        ready = part_by_fillers(grounds, lookup, b, keep + 2 * used);
    used = 0;
    for (uint32_t b = 0; ready && b < problem->body_count; used += problem->bodies[b++].break_count)
        keep_partings(&problem->bodies[b], keep + 2 * used);
    dt_lookup_free(lookup[0]);
    dt_lookup_free(lookup[1]);
    return ready;
}

bool dt_find_partings(dt_problem *problem) {
    enum { MOST_BODIES = 2000 }; /* the work grows with the square of the bodies: beyond, all partings are kept */
    size_t breaks = 0;
    for (uint32_t b = 0; b < problem->body_count; b++) breaks += problem->bodies[b].break_count;
    bool *keep = DT_TAKE(&problem->arena, 2 * breaks, bool);
    dt_grounds grounds;
    part_by_angle(problem, &problem->container);
    for (uint32_t b = 0; b < problem->body_count; b++) part_by_angle(problem, &problem->bodies[b]);
    bool ready = dt_grounds_make(problem, &grounds) && keep;
    if (ready && problem->body_count <= MOST_BODIES)
        ready = drop_partings(problem, &grounds, keep);
    dt_grounds_free(&grounds);
    return ready;
}
