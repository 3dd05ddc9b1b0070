/* Candidate lists: see lists.h. A candidate's first pose comes from the chord over the shorter of the two lines; then the whole line
 * is settled on the other by least squares, so that errors of short chords do not add up. */
#include "lists.h"

#include "assembly/vector.h"

enum { LEAST_SAMPLES = 8, MOST_SAMPLES = 32 };

bool dt_lists_make(dt_board *board, dt_lists *lists) {
    *lists = (dt_lists){.board = board};
    lists->lookup[DT_AHEAD] = dt_lookup_new(board->problem, DT_AHEAD);
    lists->lookup[DT_BEHIND] = dt_lookup_new(board->problem, DT_BEHIND);
    return lists->lookup[DT_AHEAD] && lists->lookup[DT_BEHIND];
}

void dt_lists_free(dt_lists *lists) {
    dt_lookup_free(lists->lookup[DT_AHEAD]);
    dt_lookup_free(lists->lookup[DT_BEHIND]);
    dt_map_free(&lists->index);
    dt_array_free(&lists->lists);
    dt_array_free(&lists->pool);
    dt_array_free(&lists->scratch);
}

/* The line that a candidate has to follow. */
typedef struct line {
    dt_laid laid;
    uint32_t placement, ring;
    double arc;
    dt_way way;       /* of the piece's line */
    dt_point at;      /* where the corner goes */
    dt_curve curve;   /* in the axes of the plane */
} line;

static dt_way opposite(dt_way way) {
    return way == DT_AHEAD ? DT_BEHIND : DT_AHEAD;
}

static bool line_at(dt_board *board, uint32_t spot, uint32_t along, dt_way way, line *out) {
    const dt_sector *sector = dt_board_sector(board, along, spot);
    if (!sector) return false;
    *out = (line){.laid = dt_board_laid(board, along), .placement = along, .ring = sector->ring, .arc = sector->arc,
                  .way = way, .at = board->spots.items[spot].at};
    out->curve = dt_curve_of(out->laid.body, out->ring, out->arc, opposite(way));
    for (uint32_t level = 0; level < out->curve.levels; level++)
        out->curve.at[level] = turn_by(out->laid.pose, out->curve.at[level]);
    return true;
}

static double signed_arc(dt_way way, double s) {
    return way == DT_AHEAD ? s : -s;
}

/* The pose that lays the end's chord along the line's. */
static dt_pose chord_pose(const line *l, const dt_body *body, const dt_break *corner, double length) {
    dt_point u = minus(dt_body_at(body, corner->ring, corner->arc + signed_arc(l->way, length)), corner->at);
    dt_point end = dt_body_at(l->laid.body, l->ring, l->arc + signed_arc(opposite(l->way), length));
    dt_point v = turn_by(l->laid.pose, minus(end, dt_body_at(l->laid.body, l->ring, l->arc)));
    double c = dot(u, v), s = cross(u, v), scale = hypot(c, s);
    dt_pose pose = {scale > 0.0 ? c / scale : 1.0, scale > 0.0 ? s / scale : 0.0, {0.0, 0.0}, false};
    pose.shift = minus(l->at, carry(pose, corner->at));
    return pose;
}

/* Before any settling: does the chord's pose already show that the end strays? The chord's ends are off by a seat at most, what lies
 * between by one more on either line. */
static bool strays(const line *l, const dt_body *body, const dt_break *corner, double length, dt_pose pose, double seat) {
    enum { LOOKS = 6 };
    for (int i = 1; i <= LOOKS; i++) {
        dt_point p = dt_body_at(body, corner->ring, corner->arc + signed_arc(l->way, length * i / LOOKS));
        if (fabs(dt_laid_depth(l->laid, carry(pose, p)).depth) > 3.0 * seat) return true;
    }
    return false;
}

/* Settles the end on the line; false where it does not follow it. */
static bool follow(const line *l, const dt_body *body, const dt_break *corner, double length, dt_pose *pose, double seat) {
    dt_point samples[MOST_SAMPLES];
    size_t count = (size_t)fmin(fmax(length, LEAST_SAMPLES), MOST_SAMPLES);
    for (size_t i = 0; i < count; i++)
        samples[i] = dt_body_at(body, corner->ring, corner->arc + signed_arc(l->way, length * (double)(i + 1) / (double)count));
    dt_settling s = {.points = samples, .point_count = count, .others = &l->laid, .other_count = 1,
                     .contact_mm = l->laid.body->field.reach, .anchored = true, .from = corner->at, .to = l->at};
    dt_settle(&s, pose);
    for (size_t i = 0; i < count; i++)
        if (fabs(dt_laid_depth(l->laid, carry(*pose, samples[i])).depth) > seat) return false;
    return apart(carry(*pose, corner->at), l->at) <= 2.0 * seat;
}

/* Is a placement listed that covers the same ground but for what the lines leave open? One of them will do: it is settled against
 * all its neighbours once it is laid. */
static bool is_listed(const dt_lists *lists, uint32_t first, uint32_t placement) {
    const dt_board *board = lists->board;
    const dt_placement *p = &board->placements.items[placement];
    for (size_t i = first; i < lists->pool.count; i++) {
        uint32_t old = lists->pool.items[i];
        if (old == placement) return true;
        const dt_placement *q = &board->placements.items[old];
        if (q->body == p->body && apart(q->centre, p->centre) <= 2.0 * board->problem->seat &&
            dt_board_covers_same(board, p->body, p->pose, q->pose, 2.0 * board->problem->seat))
            return true;
    }
    return false;
}

/* The cheapest test first. */
static bool corner_leaves(const dt_problem *problem, const dt_body *body, dt_pose pose) {
    for (uint32_t k = 0; k < body->break_count; k++)
        if (dt_body_holds(&problem->container, carry(pose, body->breaks[k].at), problem->loose)) return true;
    return false;
}

static bool any_corner_in(const dt_body *corners, dt_pose to_other, const dt_body *other, double loose) {
    for (uint32_t k = 0; k < corners->break_count; k++)
        if (dt_body_holds(other, carry(to_other, corners->breaks[k].at), loose)) return true;
    return false;
}

/* Does a corner of the one lie deep in the other? */
static bool corners_clash(const dt_problem *problem, const line *l, const dt_body *body, dt_pose pose) {
    dt_pose there = dt_pose_compose(dt_pose_inverse(l->laid.pose), pose);
    return any_corner_in(body, there, l->laid.body, problem->loose) ||
           any_corner_in(l->laid.body, dt_pose_inverse(there), body, problem->loose);
}

static bool try_end(dt_lists *lists, const line *l, const dt_end *end, uint32_t first) {
    const dt_problem *problem = lists->board->problem;
    const dt_body *body = &problem->bodies[end->body];
    const dt_break *corner = &body->breaks[end->corner];
    double length = fmin(end->curve.length, l->curve.length);
    dt_pose pose = chord_pose(l, body, corner, length);
    bool straight = end->curve.straight && l->curve.straight; /* then the chord says it all */
    if (!straight && strays(l, body, corner, length, pose, problem->seat)) return true;
    if (!straight && !follow(l, body, corner, length, &pose, problem->seat)) return true;
    if (corner_leaves(problem, body, pose) || corners_clash(problem, l, body, pose)) return true;
    uint32_t placement;
    bool clash = false, rough = false;
    if (!dt_board_place(lists->board, end->body, pose, DT_SAME_MM, &placement)) return false;
    if (placement == DT_NONE || placement == l->placement || is_listed(lists, first, placement)) return true;
    if (!dt_board_pair(lists->board, placement, l->placement, &clash, &rough)) return false;
    return clash || dt_array_push(&lists->pool, placement);
}

static bool note_end(void *context, uint32_t index) {
    dt_lists *lists = context;
    return dt_array_push(&lists->scratch, index);
}

static bool make_list(dt_lists *lists, const line *l, uint32_t most, dt_list *list) {
    lists->scratch.count = 0;
    const dt_lookup *lookup = lists->lookup[l->way];
    if (!dt_lookup_find(lookup, &l->curve, lists->board->problem->seat, note_end, lists)) return false;
    *list = (dt_list){.raw = (uint32_t)lists->scratch.count, .first = (uint32_t)lists->pool.count};
    if (list->raw > most) return true;
    lists->tried += list->raw;
    for (size_t i = 0; i < lists->scratch.count; i++)
        if (!try_end(lists, l, dt_lookup_end(lookup, lists->scratch.items[i]), list->first)) return false;
    list->count = (uint32_t)lists->pool.count - list->first;
    list->made = true;
    return true;
}

const dt_list *dt_lists_get(dt_lists *lists, uint32_t spot, uint32_t along, dt_way way, uint32_t most) {
    uint64_t key = ((uint64_t)along << 32 | (uint64_t)spot << 1 | (uint64_t)way) + 1;
    uint32_t *known = dt_map_get(&lists->index, key);
    if (known && (lists->lists.items[*known].made || lists->lists.items[*known].raw > most)) return &lists->lists.items[*known];
    line l;
    dt_list list;
    if (!line_at(lists->board, spot, along, way, &l) || !make_list(lists, &l, most, &list)) return NULL;
    if (known) {
        lists->lists.items[*known] = list;
        return &lists->lists.items[*known];
    }
    uint32_t index = (uint32_t)lists->lists.count;
    if (!dt_array_push(&lists->lists, list) || !dt_map_put(&lists->index, key, index)) return NULL;
    return &lists->lists.items[index];
}
