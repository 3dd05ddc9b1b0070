/* Beginning anew on rings without corners: see smooth.h. Walking back along the ring from a bare point, whatever covers that point follows
 * the ring until it has a corner on it, since lines that part without a corner leave a needle, and with needles nothing is proved. */
#include "smooth.h"

#include "assembly/vector.h"

static const double PI = 3.14159265358979323846;
enum { LOOKS = 8 };
static const size_t MEMORY_LIMIT = (size_t)1 << 30;

void dt_smooth_start(dt_state *state, dt_smooth *smooth) {
    *smooth = (dt_smooth){.state = state, .arena = DT_ARENA(MEMORY_LIMIT)};
}

void dt_smooth_free(dt_smooth *smooth) {
    dt_arena_free(&smooth->arena);
    dt_map_free(&smooth->known);
    dt_array_free(&smooth->rings);
    dt_array_free(&smooth->fillings);
}

/* ---- bare rings ---- */

static bool is_smooth(const dt_body *body, uint32_t ring) {
    for (uint32_t k = 0; k < body->break_count; k++) {
        const dt_break *b = &body->breaks[k];
        bool leads_on = b->corner && (b->sharp || b->angle < PI); /* into a tight bend the line goes on */
        if (b->ring == ring && (leads_on || b->parts[DT_AHEAD] || b->parts[DT_BEHIND])) return false;
    }
    return true;
}

/* A point of the plane so far off the ring, on its empty side, at an arc position. */
static dt_point beside(dt_laid laid, uint32_t ring, double arc, double off) {
    dt_point before = dt_body_at(laid.body, ring, arc - 0.1), after = dt_body_at(laid.body, ring, arc + 0.1);
    dt_point along = dt_point_sub(after, before);
    double length = fmax(hypot(along.x, along.y), 1e-9);
    dt_point out = {along.y * off / length, -along.x * off / length};
    return carry(laid.pose, dt_point_add(dt_body_at(laid.body, ring, arc), out));
}

static bool is_bare(dt_state *state, dt_point p, bool *bare) {
    double seat = state->problem->seat;
    *bare = true;
    if (!dt_state_near(state, (dt_box){{p.x - seat, p.y - seat}, {p.x + seat, p.y + seat}}, true)) return false;
    for (size_t i = 0; i < state->near.count && *bare; i++)
        *bare = dt_laid_depth(dt_board_laid(&state->board, state->near.items[i]), p).depth < -seat;
    return true;
}

static bool find_bare(dt_state *state, uint32_t placement, uint32_t ring, double *arc, bool *bare) {
    dt_laid laid = dt_board_laid(&state->board, placement);
    *bare = false;
    for (int i = 0; i < LOOKS && !*bare; i++) {
        *arc = laid.body->ring_length[ring] * i / LOOKS;
        if (!is_bare(state, beside(laid, ring, *arc, 2.0 * state->problem->seat), bare)) return false;
    }
    return true;
}

bool dt_smooth_find(dt_smooth *smooth, dt_bare_ring *out) {
    dt_state *state = smooth->state;
    size_t holes = 0, others = 0, left = state->problem->tile_count + 1 - state->laid.count;
    out->placement = DT_NONE;
    for (size_t i = 0; i < state->laid.count; i++) {
        uint32_t placement = state->laid.items[i].placement;
        const dt_body *body = dt_board_body(&state->board, placement);
        for (uint32_t r = 0; r < body->ring_count; r++) {
            double arc;
            bool bare;
            if (!is_smooth(body, r)) continue;
            if (!find_bare(state, placement, r, &arc, &bare)) return false;
            if (!bare) continue;
            if (out->placement == DT_NONE) *out = (dt_bare_ring){.placement = placement, .ring = r, .arc = arc};
            if (placement != DT_CONTAINER && r > 0) holes++;
            else others++;
        }
    }
    out->alone = others == 0 && left == holes;
    out->hopeless = left < holes;
    return true;
}

/* ---- what fills a ring ---- */

static dt_path ring_path(const dt_body *body, uint32_t ring) {
    uint32_t first = body->ring_start[ring];
    return (dt_path){body->points + first, body->ring_start[ring + 1] - first};
}

static bool make_outlines(dt_smooth *smooth) {
    const dt_problem *problem = smooth->state->problem;
    smooth->outlines = DT_TAKE(&smooth->arena, problem->body_count, dt_body);
    for (uint32_t b = 0; smooth->outlines && b < problem->body_count; b++) {
        dt_path outer = ring_path(&problem->bodies[b], 0);
        if (!dt_body_make(&outer, 1, false, problem->loose, &smooth->arena, &smooth->outlines[b])) return false;
        for (uint32_t k = 0; k < problem->bodies[b].break_count; k++)
            smooth->longest = fmax(smooth->longest, fmax(problem->bodies[b].breaks[k].ahead, problem->bodies[b].breaks[k].behind));
    }
    return smooth->outlines != NULL;
}

/* The ground that a ring leaves empty, as a body. */
static bool make_hole(dt_smooth *smooth, const dt_body *body, uint32_t ring, dt_body *out) {
    dt_path path = ring_path(body, ring);
    dt_point *points = DT_TAKE(&smooth->arena, path.count, dt_point);
    for (size_t i = 0; points && i < path.count; i++) points[i] = path.points[path.count - 1 - i];
    path.points = points;
    return points && dt_body_make(&path, 1, false, smooth->state->problem->loose, &smooth->arena, out);
}

static bool add_filling(dt_smooth *smooth, uint32_t body, dt_pose pose) {
    return dt_array_push(&smooth->fillings, ((dt_filling_body){body, pose}));
}

/* A disc fits at any turn. That is the same to the eye unless it has holes: then its drawn turn and one quarter more stand for all, since
 * what lies within goes round with it. */
static bool add_disc(dt_smooth *smooth, uint32_t slot, const dt_body *hole, uint32_t body, dt_pose any) {
    const dt_problem *problem = smooth->state->problem;
    if (problem->bodies[body].ring_count == 1) return add_filling(smooth, body, any);
    dt_pose pose = any;
    for (uint32_t i = 0; i < problem->tile_count * problem->tile_count; i++) {
        uint32_t inner, outer = problem->body_count;
        dt_pose home = dt_problem_home(problem, i % problem->tile_count, &inner), around = DT_POSE_IDENTITY;
        if (slot != problem->body_count) around = dt_problem_home(problem, i / problem->tile_count, &outer);
        if (inner != body || outer != slot) continue;
        dt_pose drawn = dt_pose_compose(dt_pose_inverse(around), home);
        if (dt_point_distance(carry(drawn, smooth->outlines[body].centre), hole->centre) <= problem->seat) pose = drawn;
    }
    dt_pose quarter = dt_pose_about(90.0, false, hole->centre, hole->centre);
    if (slot == problem->body_count && problem->round) return add_filling(smooth, body, pose); /* the whole is turned */
    return add_filling(smooth, body, pose) && add_filling(smooth, body, dt_pose_compose(quarter, pose));
}

static bool list_fillings(dt_smooth *smooth, uint32_t slot, const dt_body *around, uint32_t ring) {
    const dt_problem *problem = smooth->state->problem;
    dt_body hole;
    if (!make_hole(smooth, around, ring, &hole)) return false;
    if (hole.area <= 0.0) return true; /* the ring bounds what lies outside it */
    for (uint32_t b = 0; b < problem->body_count; b++) {
        dt_turns turns;
        if (!dt_congruences(&smooth->outlines[b], &hole, problem->seat, &smooth->arena, &turns)) return false;
        if (turns.any) {
            if (!add_disc(smooth, slot, &hole, b, turns.poses[0])) return false;
            continue;
        }
        for (size_t i = 0; i < turns.count; i++)
            if (!add_filling(smooth, b, turns.poses[i])) return false;
    }
    return true;
}

static bool fillings_of(dt_smooth *smooth, uint32_t placement, uint32_t ring, dt_ring_fillings *out) {
    const dt_board *board = &smooth->state->board;
    uint32_t slot = board->placements.items[placement].body;
    if (slot == DT_NONE) slot = board->problem->body_count;
    uint64_t key = ((uint64_t)slot << 32 | ring) + 1;
    const uint32_t *known = dt_map_get(&smooth->known, key);
    if (!known) {
        dt_ring_fillings made = {(uint32_t)smooth->fillings.count, 0};
        if (!list_fillings(smooth, slot, dt_board_body(board, placement), ring)) return false;
        made.count = (uint32_t)smooth->fillings.count - made.first;
        if (!dt_map_put(&smooth->known, key, (uint32_t)smooth->rings.count) || !dt_array_push(&smooth->rings, made)) return false;
        known = dt_map_get(&smooth->known, key);
    }
    *out = smooth->rings.items[*known];
    return true;
}

/* ---- seeds ---- */

static bool take_fillings(dt_smooth *smooth, const dt_bare_ring *bare, bool (*take)(void *context, uint32_t placement), void *context) {
    dt_ring_fillings list;
    dt_board *board = &smooth->state->board;
    if (!fillings_of(smooth, bare->placement, bare->ring, &list)) return false;
    for (uint32_t i = list.first; i < list.first + list.count; i++) {
        uint32_t placement;
        dt_filling_body f = smooth->fillings.items[i];
        dt_stand stand = {dt_pose_compose(board->placements.items[bare->placement].pose, f.pose), 0.0};
        if (!dt_board_place(board, f.body, stand, &placement)) return false;
        if (placement != DT_NONE && !take(context, placement)) return false;
    }
    return true;
}

/* Corners that lie on the ring `beyond` mm past the bare point, with their line back over it. */
static bool take_corners(dt_smooth *smooth, const dt_bare_ring *bare, double beyond,
                         bool (*take)(void *context, uint32_t placement), void *context) {
    dt_state *state = smooth->state;
    double seat = state->problem->seat;
    dt_laid laid = dt_board_laid(&state->board, bare->placement);
    dt_point covered = beside(laid, bare->ring, bare->arc, seat);
    uint32_t spot;
    if (!dt_board_spot(&state->board, carry(laid.pose, dt_body_at(laid.body, bare->ring, bare->arc + beyond)), &spot)) return false;
    const dt_list *found = dt_lists_get(&state->lists, (dt_bay){spot, bare->placement, DT_NONE, DT_AHEAD}, DT_NONE - 1);
    if (!found) return false;
    dt_list list = *found;
    for (uint32_t i = 0; i < list.count; i++) {
        uint32_t placement;
        if (!dt_state_candidate(state, &list, i, &placement)) return false;
        if (placement == DT_NONE) continue;
        if (dt_laid_depth(dt_board_laid(&state->board, placement), covered).depth < -2.0 * seat) continue;
        if (!take(context, placement)) return false;
    }
    return true;
}

bool dt_smooth_seeds(dt_smooth *smooth, const dt_bare_ring *bare, bool (*take)(void *context, uint32_t placement), void *context) {
    dt_state *state = smooth->state;
    if (bare->hopeless) return true;
    if (!smooth->outlines && !make_outlines(smooth)) return false;
    if (!take_fillings(smooth, bare, take, context)) return false;
    if (bare->alone) return true;
    smooth->slid = true;
    double step = 2.0 * state->problem->seat;
    double around = dt_board_body(&state->board, bare->placement)->ring_length[bare->ring], far = fmin(smooth->longest, around);
    for (double beyond = 0.0; beyond < far + step; beyond += step)
        if (!take_corners(smooth, bare, beyond, take, context)) return false;
    return true;
}
