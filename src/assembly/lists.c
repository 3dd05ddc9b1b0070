/* Candidate lists: see lists.h. In small puzzles they are made of berths, which become placements when they are first asked for on ground
 * that is free; in large ones all that the table gives is laid at once. */
#include "lists.h"

#include "assembly/laying.h"
#include "assembly/rail.h"
#include "assembly/vector.h"
#include <math.h>

static const double PI = 3.14159265358979323846, TURN = 2.0 * 3.14159265358979323846;
/* A line shorter than this says nothing, mm: the seat is a quarter of it. */
static const double BLUNT_MM = 0.5;

bool dt_lists_make(dt_board *board, dt_lists *lists) {
    *lists = (dt_lists){.board = board};
    lists->lookup[DT_AHEAD] = dt_lookup_new(board->problem, DT_AHEAD);
    lists->lookup[DT_BEHIND] = dt_lookup_new(board->problem, DT_BEHIND);
    lists->few = board->keeps_refused = board->problem->tile_count <= DT_FEW_TILES;
    dt_berths_start(board, lists->lookup, &lists->grounds, &lists->berths);
    return lists->lookup[DT_AHEAD] && lists->lookup[DT_BEHIND] &&
           dt_wedges_make(lists->lookup, board->problem->seat, &lists->wedges) &&
           dt_grounds_make(board->problem, &lists->grounds) && (!lists->few || dt_soundings_make(board, &lists->soundings));
}

void dt_lists_free(dt_lists *lists) {
    dt_berths_free(&lists->berths);
    dt_soundings_free(&lists->soundings);
    dt_wedges_free(&lists->wedges);
    dt_grounds_free(&lists->grounds);
    dt_lookup_free(lists->lookup[DT_AHEAD]);
    dt_lookup_free(lists->lookup[DT_BEHIND]);
    dt_map_free(&lists->index);
    dt_map_free(&lists->pairs);
    dt_array_free(&lists->lists);
    dt_array_free(&lists->pool);
    dt_array_free(&lists->ends);
}

/* The line that a candidate has to follow, and the one at the other end of the gap. */
typedef struct line {
    uint32_t placement;
    dt_way way;       /* of the piece's line */
    dt_point at;      /* where the corner goes */
    dt_shore along, across;
    bool has_across;
    double width;     /* of the gap by the corners' angles, radians */
    double alone;     /* a corner wider than this fills the gap alone, radians; set where a list is made */
    dt_angle gap;
} line;

static dt_way opposite(dt_way way) {
    return way == DT_AHEAD ? DT_BEHIND : DT_AHEAD;
}

static dt_shore shore_at(const dt_board *board, uint32_t placement, uint32_t spot, const dt_sector *sector, dt_way way) {
    const dt_placement *p = &board->placements.items[placement];
    uint32_t body = p->body == DT_NONE ? board->problem->body_count : p->body;
    dt_point foot = carry(dt_pose_inverse(p->pose), board->spots.items[spot].at);
    return dt_shore_at(board->problem, body, p->pose, foot, sector->ring, sector->arc, way);
}

/* Beside a corner that leaves less than the narrowest that could follow the gap's other line, less a margin for the measuring of angles,
 * nothing fits. */
static double alone_above(double narrowest, double gap) {
    static const double LEAST_MARGIN = 20.0 / 180.0 * 3.14159265358979323846;
    return gap - narrowest + fmax(LEAST_MARGIN, narrowest / 2.0);
}

/* How far a placement may still turn before it comes to rest, radians. */
static double turn_open(const dt_board *board, uint32_t placement) {
    return board->placements.items[placement].slack / dt_board_body(board, placement)->radius;
}

static bool line_at(dt_lists *lists, dt_bay bay, line *out) {
    const dt_sector *found = dt_board_sector(lists->board, bay.along, bay.spot);
    if (!found) return false;
    dt_sector sector = *found; /* asking for the next may move it */
    *out = (line){.placement = bay.along, .way = bay.way, .at = lists->board->spots.items[bay.spot].at};
    out->along = shore_at(lists->board, bay.along, bay.spot, &sector, opposite(bay.way));
    if (bay.across == DT_NONE) return true;
    const dt_sector *across = dt_board_sector(lists->board, bay.across, bay.spot);
    if (!across) return false;
    out->across = shore_at(lists->board, bay.across, bay.spot, across, bay.way);
    double gap = bay.way == DT_AHEAD ? across->from - sector.to : sector.from - across->to;
    out->has_across = true;
    out->width = gap - TURN * floor(gap / TURN);
    const dt_curve *along_curve = &out->along.curve, *across_curve = &out->across.curve;
    double seat = lists->board->problem->seat;
    out->gap = bay.way == DT_AHEAD ? dt_angle_between(along_curve, across_curve, seat)
                                   : dt_angle_between(across_curve, along_curve, seat);
    out->gap.error += turn_open(lists->board, bay.along) + turn_open(lists->board, bay.across);
    return true;
}

/* The narrowest corner that could lie along the gap's other line. */
typedef struct narrowing {
    dt_lists *lists;
    const line *line;
    double narrowest;
    bool failed;
} narrowing;

/* Is it a piece that bounds the gap, and there is no other like it? */
static bool is_bounding(const dt_lists *lists, const line *l, uint32_t body) {
    const dt_problem *problem = lists->board->problem;
    uint32_t kind = problem->kind_of_body[body], own = lists->board->placements.items[l->placement].body;
    if (problem->kinds[kind].count > 1) return false;
    return body == own || body == l->across.body;
}

static bool note_narrow(void *context, uint32_t index) {
    narrowing *n = context;
    dt_way way = opposite(n->line->way);
    const dt_end *end = dt_lookup_end(n->lists->lookup[way], index);
    if (end->angle >= n->narrowest || is_bounding(n->lists, n->line, end->body)) return true;
    dt_leg leg = dt_leg_on(&n->line->across, end, way);
    bool could;
    n->failed = !dt_legs_could_stand(&n->lists->grounds, &leg, 1, &could);
    if (!n->failed && could) n->narrowest = end->angle;
    return !n->failed;
}

/* false: no memory. */
static bool set_alone(dt_lists *lists, line *l) {
    const dt_problem *problem = lists->board->problem;
    narrowing n = {.lists = lists, .line = l, .narrowest = PI};
    if (!l->has_across) return true;
    if (l->across.curve.length < BLUNT_MM) n.narrowest = problem->narrowest;
    else dt_lookup_find(lists->lookup[opposite(l->way)], &l->across.curve, problem->seat, note_narrow, &n);
    l->alone = alone_above(n.narrowest, l->width);
    return !n.failed;
}

/* Would the end's piece fill the gap alone? */
static bool stands_alone(const dt_lists *lists, const line *l, uint32_t end) {
    if (!l->has_across) return false;
    return dt_lookup_end(lists->lookup[l->way], end)->angle > l->alone || dt_wedge_is_dead(&lists->wedges, l->gap, end);
}

/* A straight line says at once how a piece lies: but one that is much shorter than the other says less than that. */
static const double TELLING_SHARE = 0.25;

/* The legs that a corner stands on, a straight one or else the longer one first: one, or both where its piece would fill the gap alone. */
static size_t legs_of(const dt_lists *lists, const line *l, uint32_t index, dt_leg legs[2]) {
    legs[0] = dt_leg_on(&l->along, dt_lookup_end(lists->lookup[l->way], index), l->way);
    if (!stands_alone(lists, l, index)) return 1;
    legs[1] = dt_leg_on(&l->across, dt_lookup_end(lists->lookup[opposite(l->way)], index), opposite(l->way));
    bool second = legs[1].length > legs[0].length, straight = dt_leg_is_straight(&legs[1]);
    double least = TELLING_SHARE * fmax(legs[0].length, legs[1].length);
    if (straight != dt_leg_is_straight(&legs[0]) && fmin(legs[0].length, legs[1].length) >= least) second = straight;
    if (second) {
        dt_leg keep = legs[0];
        legs[0] = legs[1];
        legs[1] = keep;
    }
    return 2;
}

/* Is a placement listed that covers the same ground but for what the lines leave open? One of them will do: it is settled against
 * all its neighbours once it is laid. */
static bool is_listed(const dt_lists *lists, size_t first, size_t end, uint32_t placement) {
    const dt_board *board = lists->board;
    const dt_placement *p = &board->placements.items[placement];
    for (size_t i = first; i < end; i++) {
        uint32_t old = lists->pool.items[i].placement;
        if (old == placement) return true;
        if (old >= DT_REFUSED) continue;
        const dt_placement *q = &board->placements.items[old];
        if (q->body == p->body && dt_point_distance(q->centre, p->centre) <= 2.0 * board->problem->seat &&
            dt_board_covers_same(board, p->body, p->pose, q->pose, 2.0 * board->problem->seat))
            return true;
    }
    return false;
}

/* The cheapest test first. */
static bool corner_leaves(const dt_problem *problem, const dt_body *body, dt_stand stand) {
    for (uint32_t k = 0; k < body->break_count; k++)
        if (dt_body_holds(&problem->container, carry(stand.pose, body->breaks[k].at), problem->loose + stand.slack)) return true;
    return false;
}

static bool try_end(dt_lists *lists, const line *l, uint32_t index, uint32_t first) {
    const dt_problem *problem = lists->board->problem;
    dt_leg legs[2];
    size_t count = legs_of(lists, l, index, legs);
    uint32_t body_index = legs[0].end->body;
    const dt_body *body = &problem->bodies[body_index];
    dt_pose pose;
    if (dt_legs_lie(problem, legs, count, l->at, &pose) != DT_LIES) return true;
    dt_stand stand = {pose, dt_board_slack(body, dt_legs_span(body, legs, count))};
    double slack = stand.slack + lists->board->placements.items[l->placement].slack;
    if (corner_leaves(problem, body, stand) || dt_corners_clash((dt_laid){body, pose}, l->along.laid, problem->loose + slack)) return true;
    uint32_t placement;
    dt_pair pair;
    if (dt_board_bodies(lists->board, (dt_laid){body, pose}, body_index, l->along.laid, l->along.body, slack).clash) return true;
    if (!dt_board_place(lists->board, body_index, stand, &placement)) return false;
    if (placement == DT_NONE || placement == l->placement || is_listed(lists, first, lists->pool.count, placement)) return true;
    if (!dt_board_pair(lists->board, placement, l->placement, &pair)) return false;
    return pair.clash || dt_array_push(&lists->pool, ((dt_listed){.placement = placement, .berth = DT_NONE, .body = body_index, .bar = DT_NONE}));
}

typedef struct noting {
    dt_lists *lists;
    const line *line;
    dt_rail along, across;
} noting;

static bool note_end(void *context, uint32_t index) {
    noting *n = context;
    const line *l = n->line;
    double seat = n->lists->board->problem->seat;
    const dt_end *ends[2] = {dt_lookup_end(n->lists->lookup[l->way], index), dt_lookup_end(n->lists->lookup[opposite(l->way)], index)};
    bool alone = stands_alone(n->lists, l, index), could;
    if (alone && !dt_lookup_spans(ends[0], &ends[1]->curve, &l->along.curve, &l->across.curve, seat)) return true;
    const dt_rail *rails[2] = {&n->along, alone ? &n->across : NULL};
    if (!dt_rails_take(rails, ends, seat)) return true;
    dt_leg legs[2];
    size_t count = legs_of(n->lists, l, index, legs);
    if (!dt_legs_could_stand(&n->lists->grounds, legs, count, &could)) return false;
    return !could || dt_array_push(&n->lists->ends, index);
}

static bool ask_table(dt_lists *lists, const line *l, dt_list *list) {
    *list = (dt_list){.first_end = (uint32_t)lists->ends.count, .asked = true};
    list->blunt = list->made = l->along.curve.length < BLUNT_MM;
    if (list->blunt) return true;
    double seat = lists->board->problem->seat;
    noting n = {.lists = lists, .line = l, .along = dt_rail_of(&l->along, l->way, l->at, seat)};
    if (l->has_across) n.across = dt_rail_of(&l->across, opposite(l->way), l->at, seat);
    if (!dt_lookup_find(lists->lookup[l->way], &l->along.curve, lists->board->problem->seat, note_end, &n)) return false;
    list->raw = (uint32_t)lists->ends.count - list->first_end;
    return true;
}

static bool make_list(dt_lists *lists, const line *l, dt_list *list) {
    list->first = (uint32_t)lists->pool.count;
    lists->tried += list->raw;
    for (uint32_t i = 0; i < list->raw; i++)
        if (!try_end(lists, l, lists->ends.items[list->first_end + i], list->first)) return false;
    list->count = (uint32_t)lists->pool.count - list->first;
    list->made = true;
    return true;
}

/* ---- of berths ---- */

/* What the lines of the bay leave open of the pose of an end's body. */
static float slack_of(const dt_lists *lists, const line *l, uint32_t index) {
    dt_leg legs[2];
    size_t count = legs_of(lists, l, index, legs);
    const dt_body *body = &lists->board->problem->bodies[legs[0].end->body];
    return (float)dt_board_slack(body, dt_legs_span(body, legs, count));
}

static bool list_berth(dt_lists *lists, const line *l, uint32_t berth) {
    const dt_berth *b = &lists->berths.berths.items[berth];
    return dt_array_push(&lists->pool, ((dt_listed){DT_NONE, berth, b->body, DT_NONE, slack_of(lists, l, b->end)}));
}

/* Lays a corner that would fill the gap alone on both of its lines. */
static bool add_pair_of_legs(dt_lists *lists, const line *l, uint32_t index) {
    const dt_end *end = dt_lookup_end(lists->lookup[l->way], index), *other = dt_lookup_end(lists->lookup[opposite(l->way)], index);
    const dt_problem *problem = lists->board->problem;
    if (!dt_lookup_spans(end, &other->curve, &l->along.curve, &l->across.curve, problem->seat)) return true;
    dt_leg legs[2];
    size_t count = legs_of(lists, l, index, legs);
    bool could;
    dt_pose pose;
    uint32_t berth;
    if (!dt_legs_could_stand(&lists->grounds, legs, count, &could)) return false;
    if (!could || dt_legs_lie(problem, legs, count, l->at, &pose) != DT_LIES) return true;
    dt_pose beside = dt_pose_compose(dt_pose_inverse(l->along.laid.pose), pose);
    if (!dt_berths_note(&lists->berths, index, end->body, beside, &berth)) return false;
    return list_berth(lists, l, berth);
}

/* Do two poses of a body differ by less than what makes two placements? */
static bool is_same_pose(const dt_body *body, dt_pose p, dt_pose q) {
    dt_point turn = {p.c - q.c, p.s - q.s}, shift = dt_point_sub(carry(p, body->centre), carry(q, body->centre));
    return sqrt(dt_point_dot(turn, turn)) * body->radius <= DT_SAME_MM && sqrt(dt_point_dot(shift, shift)) <= DT_SAME_MM;
}

/* A corner that would fill the gap alone stands on both lines. Where it lies along either in the same pose, that is its pose on both;
 * where it strays from either, on both as well. */
static bool add_alone(dt_lists *lists, const line *l, const uint32_t quays[2], uint32_t on_along) {
    uint32_t index = lists->berths.berths.items[on_along].end, on_across = dt_berths_find(&lists->berths, quays[1], index);
    if (on_across == DT_NONE) return true;
    const dt_berth *a = dt_berths_get(&lists->berths, quays[0], on_along);
    if (a->state == DT_BERTH_STRAYS) return true;
    const dt_berth *b = dt_berths_get(&lists->berths, quays[1], on_across);
    if (b->state == DT_BERTH_STRAYS) return true;
    if (a->state == DT_BERTH_DOUBTFUL || b->state == DT_BERTH_DOUBTFUL) return add_pair_of_legs(lists, l, index);
    dt_pose from_along = dt_pose_compose(l->along.laid.pose, a->pose), from_across = dt_pose_compose(l->across.laid.pose, b->pose);
    if (!is_same_pose(&lists->board->problem->bodies[a->body], from_along, from_across)) return add_pair_of_legs(lists, l, index);
    return list_berth(lists, l, on_along);
}

static bool list_berths(dt_lists *lists, const line *l, dt_list *list) {
    uint32_t quays[2] = {DT_NONE, DT_NONE};
    *list = (dt_list){.first = (uint32_t)lists->pool.count, .along = l->placement, .asked = true, .made = true};
    list->blunt = l->along.curve.length < BLUNT_MM;
    if (list->blunt) return true;
    if (!dt_berths_quay(&lists->berths, &l->along, l->way, &quays[0])) return false;
    if (l->has_across && !dt_berths_quay(&lists->berths, &l->across, opposite(l->way), &quays[1])) return false;
    list->quay = quays[0];
    dt_quay quay = lists->berths.quays.items[list->quay];
    for (uint32_t b = quay.first; b < quay.first + quay.count; b++) {
        dt_berth berth = lists->berths.berths.items[b];
        bool added = true;
        if (stands_alone(lists, l, berth.end)) added = add_alone(lists, l, quays, b);
        else if (berth.state == DT_BERTH_UNTRIED || berth.state == DT_BERTH_LIES)
            added = list_berth(lists, l, b);
        if (!added) return false;
    }
    list->count = list->raw = (uint32_t)lists->pool.count - list->first;
    return true;
}

/* Makes a placement of a berth that lies; DT_REFUSED where it overlaps what it lies beside, leaves the outline, or is one that is listed. */
static bool place_berth(dt_lists *lists, const dt_list *list, const dt_listed *c, dt_pose pose, uint32_t *out) {
    const dt_problem *problem = lists->board->problem;
    uint32_t placement, beside = lists->board->placements.items[list->along].body;
    dt_stand stand = {pose, (double)c->slack};
    double slack = stand.slack + lists->board->placements.items[list->along].slack;
    uint64_t looked = lists->board->looked;
    *out = DT_REFUSED;
    dt_pair facts = dt_berths_pair(&lists->berths, beside == DT_NONE ? problem->body_count : beside, c->berth, slack);
    if (facts.clash) return true;
    if (!dt_board_place(lists->board, lists->berths.berths.items[c->berth].body, stand, &placement)) return false;
    lists->tried += lists->board->looked - looked;
    if (placement == DT_NONE || placement == list->along) return true;
    if (is_listed(lists, list->first, list->first + list->count, placement)) return true;
    if (lists->board->placements.items[placement].slack != stand.slack) { /* an old one, in this pose for another reason */
        if (!dt_board_pair(lists->board, placement, list->along, &facts)) return false;
        if (!facts.clash) *out = placement;
        return true;
    }
    *out = placement;
    return dt_board_note_pair(lists->board, placement, list->along, facts);
}

bool dt_lists_candidate(dt_lists *lists, const dt_list *list, uint32_t i, const uint64_t *taken, uint32_t *placement) {
    dt_listed *c = &lists->pool.items[list->first + i];
    *placement = c->placement == DT_REFUSED ? DT_NONE : c->placement;
    if (c->placement != DT_NONE) return true;
    const dt_berth *berth = dt_berths_get(&lists->berths, list->quay, c->berth);
    if (berth->state != DT_BERTH_LIES) {
        c->placement = DT_REFUSED;
        return true;
    }
    dt_stand stand = {dt_pose_compose(lists->board->placements.items[list->along].pose, berth->pose), (double)c->slack};
    uint32_t cell;
    if (dt_soundings_meet(&lists->soundings, berth->body, stand, taken, &cell)) {
        if (cell == DT_NONE || lists->board->taken[cell / 64] >> (cell % 64) & 1) c->placement = DT_REFUSED;
        else c->bar = cell | DT_BAR_CELL;
        return true;
    }
    if (!place_berth(lists, list, c, stand.pose, &c->placement)) return false;
    *placement = c->placement == DT_REFUSED ? DT_NONE : c->placement;
    return true;
}

/* ---- known lists ---- */

/* Two maps in a row: a name for the pair of placements, then one for the pair at the spot. */
static bool name_pair(dt_map *names, uint64_t key, uint32_t *name) {
    const uint32_t *known = dt_map_get(names, key + 1);
    *name = known ? *known : (uint32_t)names->count;
    return known || dt_map_put(names, key + 1, *name);
}

static bool name_bay(dt_lists *lists, dt_bay bay, uint32_t *name) {
    uint32_t pair;
    if (!name_pair(&lists->pairs, (uint64_t)bay.along << 32 | bay.across, &pair)) return false;
    if (!name_pair(&lists->index, (uint64_t)pair << 32 | (uint64_t)bay.spot << 1 | (uint64_t)bay.way, name)) return false;
    return *name < lists->lists.count || dt_array_push(&lists->lists, ((dt_list){0}));
}

const dt_list *dt_lists_known(dt_lists *lists, dt_bay bay) {
    uint32_t name;
    return name_bay(lists, bay, &name) ? &lists->lists.items[name] : NULL;
}

/* Bends tell more than length, and a straight line of the outline more than a short one. */
static double telling(const dt_curve *curve) {
    return curve->levels ? curve->bend[curve->levels - 1] + 0.1 * curve->levels : 0.0;
}

bool dt_lists_way(dt_lists *lists, dt_bay bay, dt_way *way) {
    line l;
    if (!line_at(lists, bay, &l)) return false;
    *way = telling(&l.along.curve) >= telling(&l.across.curve) ? DT_AHEAD : DT_BEHIND;
    return true;
}

bool dt_lists_is_shut(dt_lists *lists, dt_bay bay, bool *shut) {
    static const double LONG_MM = 12.0; /* so that the lines go on beyond the ground that is looked at: see MOST_LOOK_MM of state.c */
    line l;
    if (!line_at(lists, bay, &l)) return false;
    bool is_long = l.along.curve.length >= LONG_MM && l.across.curve.length >= LONG_MM;
    *shut = is_long && l.gap.width > l.gap.error && l.gap.width + l.gap.error < lists->wedges.sharpest;
    return true;
}

const dt_list *dt_lists_get(dt_lists *lists, dt_bay bay, uint32_t most) {
    uint32_t name;
    if (!name_bay(lists, bay, &name)) return NULL;
    dt_list list = lists->lists.items[name];
    if (!list.made && (!list.asked || list.raw <= most)) {
        line l;
        if (!line_at(lists, bay, &l) || !set_alone(lists, &l)) return NULL;
        if (lists->few ? !list_berths(lists, &l, &list) : !list.asked && !ask_table(lists, &l, &list)) return NULL;
        if (!list.made && list.raw <= most && !make_list(lists, &l, &list)) return NULL;
        lists->lists.items[name] = list;
    }
    return &lists->lists.items[name];
}
