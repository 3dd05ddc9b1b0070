/* Candidate lists: see lists.h. A candidate's first pose comes from the chord over the shorter of the two lines; then the whole line
 * is settled on the other by least squares, so that errors of short chords do not add up. */
#include "lists.h"

#include "assembly/rail.h"
#include "assembly/vector.h"

static const double TURN = 2.0 * 3.14159265358979323846;
enum { LEAST_SAMPLES = 8, MOST_SAMPLES = 32 };

bool dt_lists_make(dt_board *board, dt_lists *lists) {
    *lists = (dt_lists){.board = board};
    lists->lookup[DT_AHEAD] = dt_lookup_new(board->problem, DT_AHEAD);
    lists->lookup[DT_BEHIND] = dt_lookup_new(board->problem, DT_BEHIND);
    return lists->lookup[DT_AHEAD] && lists->lookup[DT_BEHIND] && dt_grounds_make(board->problem, &lists->grounds);
}

void dt_lists_free(dt_lists *lists) {
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
    double alone;     /* a corner wider than this fills the gap alone, radians */
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

/* Beside a corner that leaves less than the narrowest corner of any piece, less a margin for the measuring of angles, nothing fits. */
static double alone_above(const dt_problem *problem, double gap) {
    static const double LEAST_MARGIN = 20.0 / 180.0 * 3.14159265358979323846;
    return gap - problem->narrowest + fmax(LEAST_MARGIN, problem->narrowest / 2.0);
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
    out->alone = alone_above(lists->board->problem, gap - TURN * floor(gap / TURN));
    return true;
}

/* Would the end's piece fill the gap alone? */
static bool stands_alone(const line *l, const dt_end *end) {
    return l->has_across && end->angle > l->alone;
}

/* The legs that a corner stands on, a straight one or else the longer one first: one, or both where its piece would fill the gap alone. */
static size_t legs_of(const dt_lists *lists, const line *l, uint32_t index, dt_leg legs[2]) {
    legs[0] = dt_leg_on(&l->along, dt_lookup_end(lists->lookup[l->way], index), l->way);
    if (!stands_alone(l, legs[0].end)) return 1;
    legs[1] = dt_leg_on(&l->across, dt_lookup_end(lists->lookup[opposite(l->way)], index), opposite(l->way));
    bool straight = dt_leg_is_straight(&legs[1]);
    if (straight != dt_leg_is_straight(&legs[0]) ? straight : legs[1].length > legs[0].length) {
        dt_leg keep = legs[0];
        legs[0] = legs[1];
        legs[1] = keep;
    }
    return 2;
}

static dt_point on_leg(const dt_body *body, const dt_leg *leg, double length) {
    return dt_body_at(body, body->breaks[leg->end->corner].ring, body->breaks[leg->end->corner].arc + leg->sign * length);
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

/* Before any settling: does the chord's pose already show that the end strays? The chord's ends are off by a seat at most, what lies
 * between by one more on either line. */
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
    size_t first[3];  /* of each leg's samples */
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

static void settle_on(const stance *s, size_t count, dt_point corner, dt_point at, dt_pose *pose) {
    dt_settling settling = {.points = s->samples, .point_count = s->first[count], .others = s->others, .other_count = count,
                            .contact_mm = s->others[0].body->field.reach, .anchored = true, .from = corner, .to = at};
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

/* Settles the corner's legs on their shores; false where one does not follow its shore. A few samples refuse most: where the best they
 * can do leaves them off by more than a seat in the root mean square, no pose keeps all within a seat. */
static bool follow(const dt_body *body, const dt_leg *legs, size_t count, dt_point at, dt_pose *pose, double seat) {
    static const double FEW_PER_MM = 0.3;
    stance s;
    dt_point corner = body->breaks[legs[0].end->corner].at;
    double largest, mean;
    take_samples(body, legs, count, FEW_PER_MM, &s);
    settle_on(&s, count, corner, at, pose);
    measure_off(&s, count, *pose, &largest, &mean);
    if (mean > seat * seat) return false;
    take_samples(body, legs, count, 1.0, &s);
    settle_on(&s, count, corner, at, pose);
    measure_off(&s, count, *pose, &largest, &mean);
    return largest <= seat * seat && dt_point_distance(carry(*pose, corner), at) <= 2.0 * seat;
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

static bool any_corner_in(const dt_body *corners, dt_pose to_other, const dt_body *other, double loose) {
    for (uint32_t k = 0; k < corners->break_count; k++)
        if (dt_body_holds(other, carry(to_other, corners->breaks[k].at), loose)) return true;
    return false;
}

/* Does a corner of the one lie deep in the other? */
static bool corners_clash(const line *l, const dt_body *body, dt_stand stand, double loose) {
    dt_pose there = dt_pose_compose(dt_pose_inverse(l->along.laid.pose), stand.pose);
    return any_corner_in(body, there, l->along.laid.body, loose) || any_corner_in(l->along.laid.body, dt_pose_inverse(there), body, loose);
}

/* Over how much of the plane the legs hold the corner. */
static double span_of(const dt_body *body, const dt_leg *legs, size_t count) {
    dt_point ends[3] = {body->breaks[legs[0].end->corner].at, on_leg(body, &legs[0], legs[0].length)};
    double span = dt_point_distance(ends[0], ends[1]);
    if (count == 1) return span;
    ends[2] = on_leg(body, &legs[1], legs[1].length);
    return fmax(span, fmax(dt_point_distance(ends[0], ends[2]), dt_point_distance(ends[1], ends[2])));
}

static bool try_end(dt_lists *lists, const line *l, uint32_t index, uint32_t first) {
    const dt_problem *problem = lists->board->problem;
    dt_leg legs[2];
    size_t count = legs_of(lists, l, index, legs);
    uint32_t body_index = legs[0].end->body;
    const dt_body *body = &problem->bodies[body_index];
    dt_pose pose = chord_pose(body, &legs[0], l->at);
    bool straight = dt_leg_is_straight(&legs[0]); /* then the chord says it all */
    if (!straight && strays(body, &legs[0], pose, problem->seat)) return true;
    if (count > 1 && strays(body, &legs[1], pose, problem->seat)) return true;
    if (!straight && !follow(body, legs, count, l->at, &pose, problem->seat)) return true;
    dt_stand stand = {pose, dt_board_slack(body, span_of(body, legs, count))};
    double slack = stand.slack + lists->board->placements.items[l->placement].slack;
    if (corner_leaves(problem, body, stand) || corners_clash(l, body, stand, problem->loose + slack)) return true;
    uint32_t placement;
    dt_pair pair;
    if (!dt_board_place(lists->board, body_index, stand, &placement)) return false;
    if (placement == DT_NONE || placement == l->placement || is_listed(lists, first, placement)) return true;
    if (!dt_board_pair(lists->board, placement, l->placement, &pair)) return false;
    return pair.clash || dt_array_push(&lists->pool, placement);
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
    bool alone = stands_alone(l, ends[0]), could;
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

const dt_list *dt_lists_get(dt_lists *lists, dt_bay bay, uint32_t most) {
    uint32_t name;
    if (!name_bay(lists, bay, &name)) return NULL;
    dt_list list = lists->lists.items[name];
    if (!list.made && (!list.asked || list.raw <= most)) {
        line l;
        if (!line_at(lists, bay, &l) || (!list.asked && !ask_table(lists, &l, &list))) return NULL;
        if (list.raw <= most && !make_list(lists, &l, &list)) return NULL;
        lists->lists.items[name] = list;
    }
    return &lists->lists.items[name];
}
