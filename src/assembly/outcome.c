/* What a filling means: see outcome.h. */
#include "outcome.h"

#include <math.h>

static const dt_pose FLIP = {1.0, 0.0, {0.0, 0.0}, true};

/* The region that a point lies in; the first one where none holds it (a void's centre cannot be a piece's inside). */
static uint32_t region_of(const dt_problem *problem, dt_point inside) {
    for (uint32_t r = 0; r + 1 < problem->region_count; r++)
        if (dt_body_depth(&problem->regions[r], inside).depth <= 0.0) return r;
    return problem->region_count - 1;
}

/* A pose of the body's kind turned over as a pose that is not: of the mirrored body, or of the same one where it has a mirror axis. */
static dt_pose unflipped(const dt_problem *problem, uint32_t *body, dt_pose pose) {
    const dt_kind *kind = &problem->kinds[problem->kind_of_body[*body]];
    if (!pose.flipped) return pose;
    if (kind->mirrored == DT_NONE) return dt_pose_compose(dt_pose_compose(pose, FLIP), kind->fold);
    /* FLIP carries the plain body onto the mirrored one and back. */
    *body = *body == kind->plain ? kind->mirrored : kind->plain;
    return dt_pose_compose(pose, FLIP);
}

/* A point just inside the body's first corner, so that it lies in one region for certain. */
static dt_point inner_point(const dt_problem *problem, uint32_t body, dt_pose pose) {
    dt_point normal = problem->bodies[body].normals[0];
    return dt_pose_apply(pose, dt_point_add(problem->bodies[body].points[0], dt_point_scale(normal, problem->loose)));
}

dt_pose dt_image_pose(const dt_problem *problem, uint32_t *body, dt_pose pose, uint32_t symmetry) {
    uint32_t region = region_of(problem, inner_point(problem, *body, pose));
    return unflipped(problem, body, dt_pose_compose(problem->symmetries[symmetry].poses[region], pose));
}

dt_pose dt_image_of(const dt_state *state, uint32_t placement, uint32_t symmetry, uint32_t *body) {
    const dt_placement *p = &state->board.placements.items[placement];
    *body = p->body;
    return dt_image_pose(state->problem, body, p->pose, symmetry);
}

dt_pose dt_turned_image(const dt_state *state, uint32_t placement, dt_pose turn, uint32_t *body) {
    const dt_placement *p = &state->board.placements.items[placement];
    *body = p->body;
    return unflipped(state->problem, body, dt_pose_compose(turn, p->pose));
}

/* ---- comparing with the drawn assembly ---- */

static bool probes_lie_on(const dt_state *state, uint32_t body, dt_pose pose, dt_laid other) {
    for (uint32_t i = 0; i < state->board.probe_count[body]; i++) {
        dt_point p = dt_pose_apply(pose, state->board.probes[body][i]);
        if (fabs(dt_laid_depth(other, p).depth) > state->problem->seat) return false;
    }
    return true;
}

/* The laid placement of the kind that covers the same ground as the body in the pose, or DT_NONE. Turners count as the same. */
static uint32_t laid_there(dt_state *state, uint32_t body, dt_pose pose) {
    const dt_problem *problem = state->problem;
    dt_point centre = dt_pose_apply(pose, problem->bodies[body].centre);
    double near = 2.0 * problem->seat;
    dt_box box = {{centre.x - near, centre.y - near}, {centre.x + near, centre.y + near}};
    if (!dt_state_near(state, box, false)) return DT_NONE;
    for (size_t i = 0; i < state->near.count; i++) {
        const dt_placement *p = &state->board.placements.items[state->near.items[i]];
        if (problem->kind_of_body[p->body] != problem->kind_of_body[body]) continue;
        if (dt_point_distance(p->centre, centre) > near) continue;
        dt_laid there = dt_board_laid(&state->board, state->near.items[i]);
        if (probes_lie_on(state, body, pose, there) && probes_lie_on(state, p->body, p->pose, (dt_laid){&problem->bodies[body], pose}))
            return state->near.items[i];
    }
    return DT_NONE;
}

/* Where tile i of the drawn assembly would lie under a symmetry. */
static dt_pose home_image(const dt_problem *problem, uint32_t tile, uint32_t symmetry, uint32_t *body) {
    dt_pose home = dt_problem_home(problem, tile, body);
    return dt_image_pose(problem, body, home, symmetry);
}

/* How many tiles lie where the drawn assembly, moved by the symmetry, has one of their kind; stops at the first that does not where
 * `all` is asked for. */
static uint32_t count_at_home(dt_state *state, uint32_t symmetry, bool all) {
    uint32_t count = 0;
    for (uint32_t i = 0; i < state->problem->tile_count; i++) {
        uint32_t body;
        dt_pose pose = home_image(state->problem, i, symmetry, &body);
        if (laid_there(state, body, pose) != DT_NONE) count++;
        else if (all) break;
    }
    return count;
}

bool dt_is_drawn(dt_state *state) {
    for (uint32_t h = 0; h < state->problem->symmetry_count; h++)
        if (count_at_home(state, h, true) == state->problem->tile_count) return true;
    return false;
}

/* ---- the drawn assembly, slid ---- */

/* Pieces that slid along an outline shift against each other by tenths of a millimetre. That is no other assembly. */
static const double SLID_MM = 1.0;

static bool is_laid_near(dt_state *state, uint32_t body, dt_pose pose) {
    dt_point centre = dt_pose_apply(pose, state->problem->bodies[body].centre);
    for (size_t k = 1; k < state->laid.count; k++) {
        const dt_placement *p = &state->board.placements.items[state->laid.items[k].placement];
        if (p->body != body || dt_point_distance(p->centre, centre) > SLID_MM) continue;
        if (dt_board_covers_same(&state->board, body, pose, p->pose, SLID_MM)) return true;
    }
    return false;
}

static bool all_lie_near(dt_state *state, uint32_t symmetry, dt_pose by) {
    for (uint32_t i = 0; i < state->problem->tile_count; i++) {
        uint32_t body;
        dt_pose home = home_image(state->problem, i, symmetry, &body);
        if (!is_laid_near(state, body, dt_pose_compose(by, home))) return false;
    }
    return true;
}

/* Is it the drawn one moved by what would bring this tile to where one like it lies? */
static bool is_drawn_but_for(dt_state *state, uint32_t symmetry, uint32_t tile) {
    const dt_problem *problem = state->problem;
    uint32_t body;
    dt_pose back = dt_pose_inverse(home_image(problem, tile, symmetry, &body));
    for (size_t k = 1; k < state->laid.count; k++) {
        const dt_placement *p = &state->board.placements.items[state->laid.items[k].placement];
        for (size_t t = 0; p->body == body && t < problem->turns[body].count; t++) {
            dt_pose by = dt_pose_compose(dt_pose_compose(p->pose, problem->turns[body].poses[t]), back);
            if (all_lie_near(state, symmetry, by)) return true;
        }
    }
    return false;
}

/* Any of a few tiles may show the motion. */
bool dt_is_drawn_slid(dt_state *state) {
    enum { MOST_TILES = 16 };
    const dt_problem *problem = state->problem;
    if (problem->held) return all_lie_near(state, 0, DT_POSE_IDENTITY);
    if (problem->region_count > 1) return dt_is_drawn(state);
    for (uint32_t h = 0; h < problem->symmetry_count; h++)
        for (uint32_t i = 0; i < problem->tile_count && i < MOST_TILES; i++)
            if (is_drawn_but_for(state, h, i)) return true;
    return false;
}

static uint32_t most_at_home(dt_state *state) {
    uint32_t best = 0, most = 0;
    for (uint32_t h = 0; h < state->problem->symmetry_count; h++) {
        uint32_t count = count_at_home(state, h, false);
        if (count > most) {
            most = count;
            best = h;
        }
    }
    return best;
}

/* From the tile's drawn place, moved by the symmetry, to the placement: a pose of the whole kind's plain body back to the tile. */
static dt_pose move_of(dt_state *state, uint32_t tile, uint32_t symmetry, uint32_t placement) {
    const dt_problem *problem = state->problem;
    const dt_placement *p = &state->board.placements.items[placement];
    bool is_mirrored = p->body == problem->kinds[problem->kind_of_tile[tile]].mirrored;
    dt_pose there = is_mirrored ? dt_pose_compose(p->pose, FLIP) : p->pose; /* of the plain body */
    uint32_t region = 0, here = region_of(problem, inner_point(problem, p->body, p->pose));
    for (uint32_t r = 0; r < problem->region_count; r++) /* the region that the symmetry sent here */
        if (problem->symmetries[symmetry].to[r] == here) region = r;
    dt_pose back = dt_pose_inverse(problem->symmetries[symmetry].poses[region]);
    return dt_pose_compose(dt_pose_compose(back, there), dt_pose_inverse(problem->home[tile]));
}

void dt_read_poses(dt_state *state, dt_pose *poses) {
    const dt_problem *problem = state->problem;
    uint32_t h = most_at_home(state), tiles = problem->tile_count;
    bool *settled = calloc(tiles, sizeof *settled), *used = calloc(state->board.placements.count, sizeof *used);
    for (uint32_t i = 0; settled && used && i < tiles; i++) {
        uint32_t body;
        dt_pose pose = home_image(problem, i, h, &body);
        uint32_t there = laid_there(state, body, pose);
        poses[i] = DT_POSE_IDENTITY;
        if (there == DT_NONE || used[there]) continue;
        settled[i] = used[there] = true;
    }
    for (uint32_t i = 0; settled && used && i < tiles; i++)
        for (size_t k = 1; k < state->laid.count && !settled[i]; k++) {
            uint32_t placement = state->laid.items[k].placement;
            uint32_t kind = problem->kind_of_body[state->board.placements.items[placement].body];
            if (used[placement] || kind != problem->kind_of_tile[i]) continue;
            settled[i] = used[placement] = true;
            poses[i] = move_of(state, i, h, placement);
        }
    free(settled);
    free(used);
}
