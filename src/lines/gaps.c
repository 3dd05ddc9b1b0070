/* Closing gaps: each loose end looks for the nearest line within reach. Loose ends are few and lines many, so the ends stand in the
 * grid and every cut looks up the ends near it. Invariant: an end is joined at most once, nearest pairs first, so that
 * joins form no circles. What is joined to what depends on distances alone, not on the order of the strokes.
 *
 * Not joined are: an end to its own chain, unless the way along the chain is much longer than the way across (a circle that does
 * not quite close); and a tail to the line that it has just run past: there the target lies behind the end. */
#include "gaps.h"

#include "geom/grid_index.h"
#include <math.h>

/* The way along the own chain must be this many times the gap: a straight line has 1, a right angle at most 1.42. */
#define LOOP_RATIO 3.0
/* A short line that begins at a junction is a tail rather than a seam when it would have to grow by more than half. */
#define TAIL_SHARE 0.5
/* From the end of a tail the line that it ran past lies sideways or behind. */
#define AHEAD_COSINE 0.1
/* A target this much farther is preferred when it is better: straight on, or another loose end. */
#define NEARLY 1.25
/* A gap as wide as the join distance stays one when both its ends are rounded to the grid. */
#define ROUNDED_MM (1.5 * DT_GRID_MM)
/* A third line is joined when it is at most so many times as far as the two ends are from each other. */
#define THIRD 1.5
/* A sheet of 10,000 pieces with each seam a stroke of its own, ends rounded away from each other, has 80,000. */
#define MOST_ENDS 200000u
/* Most pairs of a cut and a loose end that are looked at. */
#define MOST_PAIRS 30000000u

typedef struct aim {
    double reach;           /* distance, or INFINITY */
    dt_point at;
    uint32_t chain;         /* DT_NO_INDEX = none */
} aim;

typedef struct loose {
    uint32_t corner, chain;
    dt_point at, ahead;     /* ahead: unit vector in which the line goes on */
    double arc;             /* length of its chain */
    dt_point root;          /* the other end of its chain */
    bool rooted;            /* the root is a junction: a short chain may be a tail */
    aim best, second;    /* on two different chains */
    double straight;        /* distance straight on to a line, or INFINITY */
    dt_point straight_at;
    bool on_ghost;          /* it ends on a stretch that was left out */
    uint32_t partner;       /* another loose end that is the target, or DT_NO_INDEX */
    bool joined;
} loose;

static const aim NO_TARGET = {INFINITY, {0, 0}, DT_NO_INDEX};

/* A line in the same place as a loose end. */
typedef struct touch {
    uint32_t end;
    aim at;
} touch;

typedef struct closer {
    const dt_chains *chains;
    const dt_gap_options *options;
    double most;            /* farthest of any join */
    DT_ARRAY(loose) ends;
    DT_ARRAY(touch) touches;
    uint32_t *end_of;       /* loose end at each corner, or DT_NO_INDEX */
    dt_grid grid;
    uint64_t pairs;
} closer;

static dt_point chain_mm(const dt_chains *chains, const dt_chain *chain, uint32_t i) {
    return dt_gp_mm(dt_chain_point(chains, chain, i));
}

/* The direction over the last join distance: the very last cut may be a scrap. */
static dt_point direction_at(const closer *c, const dt_chain *chain, bool at_start) {
    dt_point end = chain_mm(c->chains, chain, at_start ? 0 : chain->count - 1), back = end;
    for (uint32_t i = 1; i < chain->count && dt_point_distance(end, back) < c->most; i++)
        back = chain_mm(c->chains, chain, at_start ? i : chain->count - 1 - i);
    dt_point way = dt_point_sub(end, back);
    double length = hypot(way.x, way.y);
    return length > 0.0 ? dt_point_scale(way, 1.0 / length) : way;
}

static bool add_end(closer *c, uint32_t which, bool at_start) {
    const dt_chain *chain = &c->chains->chains.items[which];
    uint32_t corner = at_start ? chain->from : chain->to, root = at_start ? chain->to : chain->from;
    if (c->chains->corner_degree[corner] != 1) return true;
    loose end = {.corner = corner, .chain = which, .best = NO_TARGET, .second = NO_TARGET, .straight = INFINITY,
                 .partner = DT_NO_INDEX};
    end.at = dt_gp_mm(c->chains->points[c->chains->corner_point[corner]]);
    end.root = dt_gp_mm(c->chains->points[c->chains->corner_point[root]]);
    end.rooted = c->chains->corner_degree[root] > 1;
    end.arc = dt_chain_length(c->chains, chain);
    end.ahead = direction_at(c, chain, at_start);
    end.on_ghost = dt_ghosts_explain(c->options->ghosts, end.at, end.ahead);
    c->end_of[corner] = (uint32_t)c->ends.count;
    return dt_grid_add(&c->grid, end.at, end.at, (uint32_t)c->ends.count) && dt_array_push(&c->ends, end);
}

static dt_status check_ends(const dt_chains *chains, dt_error *error) {
    size_t count = 0;
    for (uint32_t i = 0; i < chains->corner_count; i++) count += chains->corner_degree[i] == 1;
    if (count <= MOST_ENDS) return DT_OK;
    return dt_fail(error, DT_TOO_LARGE, "%zu line ends meet no other line, which is no puzzle (the limit is %u): leave out what is no cut "
                   "with --skip", count, MOST_ENDS);
}

static dt_status find_ends(closer *c) {
    c->end_of = malloc(((size_t)c->chains->corner_count + 1) * sizeof *c->end_of);
    if (!c->end_of) return DT_NO_MEMORY;
    for (uint32_t i = 0; i < c->chains->corner_count; i++) c->end_of[i] = DT_NO_INDEX;
    for (uint32_t i = 0; i < c->chains->chains.count; i++)
        if (!add_end(c, i, true) || !add_end(c, i, false)) return DT_NO_MEMORY;
    return DT_OK;
}

/* Is the place p, at the arc length `along` of chain `which`, something that the end may be joined to? */
static bool may_join(const loose *end, const dt_chain *own, uint32_t which, double along, dt_point p) {
    double gap = dt_point_distance(end->at, p);
    if (which == end->chain) {
        bool at_start = own->from == end->corner;
        return (at_start ? along : end->arc - along) > LOOP_RATIO * gap && gap < end->arc / LOOP_RATIO;
    }
    if (!end->rooted || end->arc > DT_TAIL_MM) return true;
    bool behind = dt_point_dot(end->ahead, dt_point_sub(p, end->at)) < AHEAD_COSINE * gap;
    return gap <= TAIL_SHARE * end->arc && !(behind && dt_point_distance(end->root, p) <= end->arc);
}

static bool is_better(aim fresh, aim old) {
    if (fresh.reach != old.reach) return fresh.reach < old.reach;
    return fresh.at.y != old.at.y ? fresh.at.y < old.at.y : fresh.at.x < old.at.x;
}

static void note_target(loose *end, aim fresh) {
    if (fresh.chain == end->best.chain || end->best.chain == DT_NO_INDEX) {
        if (is_better(fresh, end->best)) end->best = fresh;
    } else if (is_better(fresh, end->best)) {
        end->second = end->best;
        end->best = fresh;
    } else if (is_better(fresh, end->second)) {
        end->second = fresh;
    }
}

/* Where the line, going straight on, meets the cut a - b: the distance, or INFINITY. */
static double straight_on(const loose *end, dt_point a, dt_point b) {
    dt_point along = dt_point_sub(b, a), to = dt_point_sub(a, end->at);
    double bottom = dt_point_cross(end->ahead, along);
    if (bottom == 0.0) return INFINITY;
    double distance = dt_point_cross(to, along) / bottom, on = dt_point_cross(to, end->ahead) / bottom;
    return distance > 0.0 && on >= 0.0 && on <= 1.0 ? distance : INFINITY;
}

static bool offer_cut(closer *c, uint32_t number, uint32_t which, const dt_point ab[2], double along) {
    loose *end = &c->ends.items[number];
    const dt_chain *own = &c->chains->chains.items[end->chain];
    dt_point p;
    double gap = dt_segment_distance(end->at, ab[0], ab[1], &p);
    if (gap > c->most || !may_join(end, own, which, along + dt_point_distance(ab[0], p), p)) return true;
    aim found = {gap, p, which};
    note_target(end, found);
    if (dt_is_same_place(gap) && !dt_array_push(&c->touches, ((touch){number, found}))) return false;
    double straight = straight_on(end, ab[0], ab[1]);
    if (which == end->chain || straight >= end->straight) return true;
    end->straight = straight;
    end->straight_at = dt_point_add(end->at, dt_point_scale(end->ahead, straight));
    return true;
}

/* Every loose end near a - b gets to know of it. */
static bool offer(closer *c, uint32_t which, dt_point a, dt_point b, double along) {
    for (dt_nearby n = dt_grid_nearby(&c->grid, a, b, 0.0); dt_nearby_next(&n);) {
        if (c->pairs++ > MOST_PAIRS) return true;
        if (!offer_cut(c, n.item, which, (const dt_point[2]){a, b}, along)) return false;
    }
    return true;
}

static dt_status offer_all(closer *c, dt_error *error) {
    for (uint32_t which = 0; which < c->chains->chains.count; which++) {
        const dt_chain *chain = &c->chains->chains.items[which];
        double along = 0.0;
        dt_point a = chain_mm(c->chains, chain, 0);
        for (uint32_t i = 1; i < chain->count; i++) {
            dt_point b = chain_mm(c->chains, chain, i);
            if (!offer(c, which, a, b, along)) return DT_NO_MEMORY;
            along += dt_point_distance(a, b);
            a = b;
        }
        if (c->pairs > MOST_PAIRS)
            return dt_fail(error, DT_TOO_LARGE, "millions of lines end next to each other: leave out what is no cut with --skip");
    }
    return DT_OK;
}

/* A loose end of the target chain that is nearly as near. */
static uint32_t partner_of(const closer *c, const loose *end) {
    const dt_chain *target = &c->chains->chains.items[end->best.chain];
    const uint32_t corners[2] = {target->from, target->to};
    uint32_t best = DT_NO_INDEX;
    double best_gap = NEARLY * end->best.reach + DT_GRID_MM;
    for (int k = 0; k < 2; k++) {
        uint32_t other = c->end_of[corners[k]];
        if (other == DT_NO_INDEX || corners[k] == end->corner) continue;
        double gap = dt_point_distance(end->at, c->ends.items[other].at);
        if (gap > best_gap || gap > c->most) continue;
        best_gap = gap;
        best = other;
    }
    return best;
}

static void choose_target(const closer *c, loose *end) {
    end->partner = partner_of(c, end);
    if (end->partner != DT_NO_INDEX) {
        end->best.at = c->ends.items[end->partner].at;
    } else if (end->straight <= NEARLY * end->best.reach && end->straight <= c->most) {
        end->best.at = end->straight_at;
    }
    end->best.reach = dt_point_distance(end->at, end->best.at);
}

/* How far this end may be joined: a ghost nearby explains the gap and widens it. */
static bool in_reach(const closer *c, const loose *end) {
    double most = fmax(c->options->join_mm + ROUNDED_MM, DT_SAME_MM);
    if (end->on_ghost) most = fmax(most, c->options->ghosts->reach_mm + 2 * DT_SAME_MM);
    return end->best.chain != DT_NO_INDEX && end->best.reach <= most;
}

static uint32_t first_stroke(const dt_chains *chains, uint32_t which) {
    const dt_chain *chain = &chains->chains.items[which];
    return chain->stroke_count ? chains->strokes.items[chain->stroke_first] : DT_NO_INDEX;
}

static bool add_join(const closer *c, const loose *end, aim to, dt_cuts *cuts, dt_faults *gaps, bool silent) {
    uint32_t number = (uint32_t)gaps->count;
    dt_fault fault = {.kind = DT_FAULT_GAP, .at = end->at, .other = to.at, .size_mm = silent ? 0.0 : to.reach, .mended = true,
                      .stroke = first_stroke(c->chains, end->chain), .other_stroke = first_stroke(c->chains, to.chain),
                      .pieces = {DT_NO_INDEX, DT_NO_INDEX}, .times = 1};
    dt_cut cut = {dt_gp_of(end->at), dt_gp_of(to.at), c->options->first_stroke + number};
    return dt_array_push(cuts, cut) && dt_array_push(gaps, fault);
}

/* Two ends that meet next to a third line are meant to meet on it. Only the nearer of the two goes there, or the three joins would
 * enclose a sliver. */
static bool join_third(const closer *c, const loose *end, dt_cuts *cuts, dt_faults *gaps) {
    const loose *partner = &c->ends.items[end->partner];
    const loose *nearer = end->second.reach <= partner->second.reach ? end : partner;
    bool there = nearer->second.chain != end->chain && nearer->second.chain != partner->chain;
    if (!there || nearer->second.reach > fmax(THIRD * end->best.reach, DT_SAME_MM)) return true;
    return add_join(c, nearer, nearer->second, cuts, gaps, true);
}

static bool join_end(closer *c, loose *end, dt_cuts *cuts, dt_faults *gaps) {
    bool silent = dt_is_same_place(end->best.reach) || end->on_ghost;
    end->joined = true;
    if (!add_join(c, end, end->best, cuts, gaps, silent)) return false;
    if (end->partner == DT_NO_INDEX) return true;
    c->ends.items[end->partner].joined = true;
    return join_third(c, end, cuts, gaps);
}

static int compare_touches(const void *left, const void *right) {
    const touch *a = left, *b = right;
    if (a->end != b->end) return a->end < b->end ? -1 : 1;
    if (a->at.chain != b->at.chain) return a->at.chain < b->at.chain ? -1 : 1;
    return (a->at.reach > b->at.reach) - (a->at.reach < b->at.reach);
}

/* What lies in the same place is joined with all that lies there; the joins are so short that they vanish when near corners are
 * drawn together. */
static bool join_touching(closer *c, dt_cuts *cuts, dt_faults *gaps) {
    if (c->touches.count) qsort(c->touches.items, c->touches.count, sizeof *c->touches.items, compare_touches);
    for (size_t i = 0; i < c->touches.count; i++) {
        const touch *t = &c->touches.items[i];
        if (i && t[-1].end == t->end && t[-1].at.chain == t->at.chain) continue;
        c->ends.items[t->end].joined = true;
        if (!add_join(c, &c->ends.items[t->end], t->at, cuts, gaps, true)) return false;
    }
    return true;
}

typedef struct turn {
    double reach;
    dt_point at;
    uint32_t end;
} turn;

static int compare_turns(const void *left, const void *right) {
    const turn *a = left, *b = right;
    if (a->reach != b->reach) return a->reach < b->reach ? -1 : 1;
    if (a->at.y != b->at.y) return a->at.y < b->at.y ? -1 : 1;
    if (a->at.x != b->at.x) return a->at.x < b->at.x ? -1 : 1;
    return (a->end > b->end) - (a->end < b->end);
}

static bool join_all(closer *c, dt_cuts *cuts, dt_faults *gaps) {
    DT_ARRAY(turn) turns = {0};
    bool done = join_touching(c, cuts, gaps);
    for (uint32_t i = 0; done && i < c->ends.count; i++) {
        loose *end = &c->ends.items[i];
        if (end->best.chain != DT_NO_INDEX) choose_target(c, end);
        if (in_reach(c, end)) done = dt_array_push(&turns, ((turn){end->best.reach, end->at, i}));
    }
    if (turns.count) qsort(turns.items, turns.count, sizeof *turns.items, compare_turns);
    for (size_t i = 0; done && i < turns.count; i++) {
        loose *end = &c->ends.items[turns.items[i].end];
        if (!end->joined) done = join_end(c, end, cuts, gaps);
    }
    dt_array_free(&turns);
    return done;
}

dt_status dt_gaps_close(const dt_chains *chains, const dt_gap_options *options, dt_cuts *cuts, dt_faults *gaps,
                        dt_error *error) {
    closer c = {.chains = chains, .options = options};
    c.most = fmax(fmax(options->join_mm + ROUNDED_MM, options->ghosts->reach_mm + 2 * DT_SAME_MM), DT_SAME_MM);
    dt_grid_init(&c.grid, 2 * c.most, c.most);
    dt_status status = check_ends(chains, error);
    if (status == DT_OK) status = find_ends(&c);
    if (status == DT_OK && c.ends.count) status = offer_all(&c, error);
    if (status == DT_OK && !join_all(&c, cuts, gaps)) status = DT_NO_MEMORY;
    free(c.end_of);
    dt_array_free(&c.ends);
    dt_array_free(&c.touches);
    dt_grid_free(&c.grid);
    return status;
}
