/* The catalogue: see catalogue.h. */
#include "catalogue.h"

#include "assembly/vector.h"

static const size_t MEMORY_LIMIT = (size_t)1 << 28;
/* What stations that are one may lie apart by, in seats: rounding and noise of a chain of them. */
static const double NEAR_SEATS = 0.25;
/* With free angles the stations never end. Poses tried: some thirty for each station of the pentominoes. */
enum { MOST_DIRECTIONS = 64, MOST_TRIED = 1 << 20 };

void dt_catalogue_free(dt_catalogue *c) {
    dt_arena_free(&c->arena);
    dt_array_free(&c->stations);
    dt_array_free(&c->spots);
    dt_array_free(&c->spot_chain);
    dt_array_free(&c->directions);
    dt_map_free(&c->by_centre);
    dt_map_free(&c->spots_by_point);
    dt_map_free(&c->rays);
}

double dt_catalogue_touch(const dt_catalogue *c) {
    return c->problem->loose / 2.0;
}

/* ---- stations ---- */

/* How far apart two poses of a body lie, turns that carry it onto itself left out. */
static double distance_between(const dt_problem *problem, uint32_t body, dt_pose p, dt_pose q) {
    const dt_turns *turns = &problem->turns[body];
    double best = INFINITY;
    for (size_t i = 0; i < turns->count; i++) {
        dt_pose t = dt_pose_compose(p, turns->poses[i]);
        best = fmin(best, sqrt((t.c - q.c) * (t.c - q.c) + (t.s - q.s) * (t.s - q.s)));
    }
    dt_point centre = problem->bodies[body].centre;
    return best * problem->bodies[body].radius + dt_point_distance(carry(p, centre), carry(q, centre));
}

/* Of the cell that holds the body's centre, or one beside it; another body seldom has the same. */
static uint64_t station_key(const dt_catalogue *c, uint32_t body, dt_point centre, int dx, int dy) {
    uint64_t key = dt_cell_key(centre.x, centre.y, 2.0 * c->apart, dx, dy) + ((uint64_t)body << 48);
    return key ? key : 1;
}

uint32_t dt_catalogue_find(dt_catalogue *c, uint32_t body, dt_pose pose) {
    dt_point centre = carry(pose, c->problem->bodies[body].centre);
    uint32_t best = DT_NONE;
    double least = c->apart, cell = 2.0 * c->apart;
    for (int dx = -1; dx <= 1; dx++)
        for (int dy = -1; dy <= 1; dy++) {
            if (!dt_cell_reaches(centre.x, cell, least, dx) || !dt_cell_reaches(centre.y, cell, least, dy)) continue;
            const uint32_t *head = dt_map_get(&c->by_centre, station_key(c, body, centre, dx, dy));
            for (uint32_t i = head ? *head : DT_NONE; i != DT_NONE; i = c->stations.items[i].chain) {
                const dt_station *s = &c->stations.items[i];
                if (s->body != body || dt_point_distance(s->centre, centre) >= least) continue;
                double off = distance_between(c->problem, body, pose, s->pose);
                if (off >= least) continue;
                least = off;
                best = i;
            }
        }
    c->sure = c->sure && (best == DT_NONE || least <= c->near);
    return best;
}

static bool add_station(dt_catalogue *c, uint32_t body, dt_pose pose) {
    const dt_figure *f = &c->figures[body];
    dt_station s = {
        .body = body, .pose = pose, .centre = carry(pose, c->problem->bodies[body].centre), .box = DT_BOX_EMPTY};
    for (uint32_t k = 0; k < f->count; k++) {
        dt_point p = carry(pose, f->vertices[k].at);
        s.box = dt_box_join(s.box, (dt_box){p, p});
    }
    uint64_t key = station_key(c, body, s.centre, 0, 0);
    const uint32_t *head = dt_map_get(&c->by_centre, key);
    s.chain = head ? *head : DT_NONE;
    c->sure = c->sure && c->stations.count < DT_MOST_STATIONS;
    return dt_map_put(&c->by_centre, key, (uint32_t)c->stations.count) && dt_array_push(&c->stations, s);
}

/* Does the body lie within the outline? Where it sticks out by a little nobody can tell. */
static bool lies_inside(dt_catalogue *c, uint32_t body, dt_pose pose) {
    const dt_figure *f = &c->figures[body], *outside = &c->figures[c->problem->body_count];
    double clearly = c->apart / 2.0, touch = dt_catalogue_touch(c);
    for (uint32_t k = 0; k < f->count; k++)
        if (dt_figure_depth(outside, carry(pose, f->vertices[k].at)) > clearly) return false;
    double sinks = dt_figure_sinks(f, pose, outside, clearly);
    if (sinks <= clearly) sinks = fmax(sinks, dt_figure_sinks(outside, dt_pose_inverse(pose), f, clearly));
    c->sure = c->sure && (sinks <= touch || sinks > clearly);
    return sinks <= touch;
}

static bool reaches_out(const dt_catalogue *c, const dt_figure *f, dt_pose pose) {
    dt_box box = c->problem->container.box;
    double off = c->apart / 2.0;
    for (uint32_t k = 0; k < f->count; k++) {
        dt_point p = carry(pose, f->vertices[k].at);
        if (p.x < box.low.x - off || p.y < box.low.y - off || p.x > box.high.x + off || p.y > box.high.y + off)
            return true;
    }
    return false;
}

static bool try_pose(dt_catalogue *c, uint32_t body, dt_pose pose) {
    c->sure = c->sure && c->tried++ < MOST_TRIED;
    if (reaches_out(c, &c->figures[body], pose) || dt_catalogue_find(c, body, pose) != DT_NONE) return true;
    return !lies_inside(c, body, pose) || !c->sure || add_station(c, body, pose);
}

/* ---- rays ---- */

/* A ray is a line that leaves a spot, with the bare ground on one of its sides. */
typedef enum side { BARE_LEFT, BARE_RIGHT } side;

static bool find_spot(dt_catalogue *c, dt_point at, uint32_t *out) {
    for (int dx = -1; dx <= 1; dx++)
        for (int dy = -1; dy <= 1; dy++) {
            const uint32_t *head = dt_map_get(&c->spots_by_point, dt_cell_key(at.x, at.y, 1.0, dx, dy));
            for (uint32_t i = head ? *head : DT_NONE; i != DT_NONE; i = c->spot_chain.items[i])
                if (dt_point_distance(c->spots.items[i], at) <= c->near) {
                    *out = i;
                    return true;
                }
        }
    uint64_t key = dt_cell_key(at.x, at.y, 1.0, 0, 0);
    const uint32_t *head = dt_map_get(&c->spots_by_point, key);
    *out = (uint32_t)c->spots.count;
    if (!dt_array_push(&c->spot_chain, head ? *head : DT_NONE)) return false;
    return dt_map_put(&c->spots_by_point, key, *out) && dt_array_push(&c->spots, at);
}

/* Directions that differ by less than what turns a piece by half of what is taken for one. */
static bool find_direction(dt_catalogue *c, dt_point along, uint32_t *out) {
    double radius = 1.0;
    for (uint32_t b = 0; b < c->problem->body_count; b++) radius = fmax(radius, c->problem->bodies[b].radius);
    double same = c->near / (2.0 * radius);
    for (*out = 0; *out < c->directions.count; (*out)++)
        if (dt_point_distance(c->directions.items[*out], along) <= same) return true;
    c->sure = c->sure && c->directions.count < MOST_DIRECTIONS;
    return dt_array_push(&c->directions, along);
}

/* The body's corner at the spot, one of its lines along the ray, its solid on the bare ground. */
static dt_pose pose_on(const dt_vertex *v, dt_point spot, dt_point along, side bare) {
    dt_point u = bare == BARE_LEFT ? v->out : v->back;
    dt_pose pose = {dt_point_dot(u, along), dt_point_cross(u, along), {0.0, 0.0}, false};
    pose.shift = dt_point_sub(spot, turn_by(pose, v->at));
    return pose;
}

static bool lay_all(dt_catalogue *c, dt_point spot, dt_point along, side bare) {
    for (uint32_t b = 0; b < c->problem->body_count; b++)
        for (uint32_t k = 0; k < c->figures[b].count && c->sure; k++) {
            const dt_vertex *v = &c->figures[b].vertices[k];
            if (v->convex && !try_pose(c, b, pose_on(v, spot, along, bare))) return false;
        }
    return true;
}

static bool take_ray(dt_catalogue *c, dt_point at, dt_point along, side bare) {
    uint32_t spot, direction;
    if (!find_spot(c, at, &spot) || !find_direction(c, along, &direction)) return false;
    uint64_t key = (((uint64_t)spot * (MOST_DIRECTIONS + 1) + direction) << 1 | (uint64_t)bare) + 1;
    if (dt_map_get(&c->rays, key)) return true;
    return dt_map_put(&c->rays, key, 0) && lay_all(c, c->spots.items[spot], c->directions.items[direction], bare);
}

/* Solid lies on the left of a line as it is walked: so bare ground on the right of the one that leaves, and on the left
 * looking back. */
static bool take_rays(dt_catalogue *c, const dt_figure *f, dt_pose pose) {
    for (uint32_t k = 0; k < f->count && c->sure; k++) {
        const dt_vertex *v = &f->vertices[k];
        dt_point at = carry(pose, v->at);
        if (!take_ray(c, at, turn_by(pose, v->out), BARE_RIGHT) || !take_ray(c, at, turn_by(pose, v->back), BARE_LEFT))
            return false;
    }
    return true;
}

/* ---- making ---- */

static bool make_figures(dt_catalogue *c) {
    const dt_problem *p = c->problem;
    c->figures = DT_TAKE(&c->arena, (size_t)p->body_count + 1, dt_figure);
    if (!c->figures) return false;
    for (uint32_t b = 0; b <= p->body_count && c->sure; b++) {
        const dt_body *body = b < p->body_count ? &p->bodies[b] : &p->container;
        if (!dt_figure_make(body, c->apart / 4.0, &c->arena, &c->figures[b], &c->sure)) return false;
    }
    return true;
}

bool dt_catalogue_make(const dt_problem *problem, dt_catalogue *out) {
    *out = (dt_catalogue){.problem = problem, .arena = DT_ARENA(MEMORY_LIMIT), .sure = true};
    out->near = NEAR_SEATS * problem->seat;
    out->apart = (problem->seat + out->near) * (problem->tile_count + 1);
    if (!make_figures(out)) return false;
    if (!out->sure) return true;
    if (!take_rays(out, &out->figures[problem->body_count], DT_POSE_IDENTITY)) return false;
    for (size_t i = 0; i < out->stations.count && out->sure; i++) {
        dt_station s = out->stations.items[i]; /* the list grows meanwhile */
        if (!take_rays(out, &out->figures[s.body], s.pose)) return false;
    }
    return true;
}
