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
/* A target this much farther is preferred when it is better: straight on, or another loose end. */
#define NEARLY 1.25
/* Most pairs of a cut and a loose end that are looked at. */
#define MOST_PAIRS 60000000u

typedef struct loose {
    uint32_t corner, chain;
    dt_point at, ahead;     /* ahead: unit vector in which the line goes on */
    double arc;             /* length of its chain */
    dt_point root;          /* the other end of its chain */
    bool rooted;            /* the root is a junction: a short chain may be a tail */
    double reach;           /* distance to the best target so far */
    dt_point target;
    uint32_t target_chain;  /* DT_NO_INDEX = none */
    double straight;        /* distance straight on to a line, or INFINITY */
    dt_point straight_at;
    bool on_ghost;          /* it ends on a stretch that was left out */
    uint32_t partner;       /* another loose end that is the target, or DT_NO_INDEX */
    bool joined;
} loose;

typedef struct closer {
    const dt_chains *chains;
    const dt_gap_options *options;
    double most;            /* farthest of any join */
    DT_ARRAY(loose) ends;
    uint32_t *end_of;       /* loose end at each corner, or DT_NO_INDEX */
    dt_grid grid;
    uint64_t pairs;
} closer;

static dt_point chain_mm(const dt_chains *chains, const dt_chain *chain, uint32_t i) {
    return dt_gp_mm(dt_chain_point(chains, chain, i));
}

/* The direction over the last join distance: the very last cut may be a stub. */
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
    loose end = {.corner = corner, .chain = which, .reach = INFINITY, .target_chain = DT_NO_INDEX, .straight = INFINITY,
                 .partner = DT_NO_INDEX};
    end.at = dt_gp_mm(c->chains->points[c->chains->corner_point[corner]]);
    end.root = dt_gp_mm(c->chains->points[c->chains->corner_point[root]]);
    end.rooted = c->chains->corner_degree[root] > 1;
    end.arc = dt_chain_length(c->chains, chain);
    end.ahead = direction_at(c, chain, at_start);
    end.on_ghost = dt_ghosts_near(c->options->ghosts, end.at, DT_SAME_MM);
    c->end_of[corner] = (uint32_t)c->ends.count;
    return dt_grid_add(&c->grid, end.at, end.at, (uint32_t)c->ends.count) && dt_array_push(&c->ends, end);
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
    return !(end->rooted && end->arc <= DT_TAIL_MM && dt_point_distance(end->root, p) <= end->arc);
}

static bool is_better(double gap, dt_point p, const loose *end) {
    if (gap != end->reach) return gap < end->reach;
    return p.y != end->target.y ? p.y < end->target.y : p.x < end->target.x;
}

/* Where the line, going straight on, meets the cut a - b: the distance, or INFINITY. */
static double straight_on(const loose *end, dt_point a, dt_point b) {
    dt_point along = dt_point_sub(b, a), to = dt_point_sub(a, end->at);
    double bottom = dt_point_cross(end->ahead, along);
    if (bottom == 0.0) return INFINITY;
    double distance = dt_point_cross(to, along) / bottom, on = dt_point_cross(to, end->ahead) / bottom;
    return distance > 0.0 && on >= 0.0 && on <= 1.0 ? distance : INFINITY;
}

static void offer_cut(closer *c, loose *end, uint32_t which, const dt_point ab[2], double along) {
    const dt_chain *own = &c->chains->chains.items[end->chain];
    dt_point p;
    double gap = dt_segment_distance(end->at, ab[0], ab[1], &p);
    if (gap > c->most || !may_join(end, own, which, along + dt_point_distance(ab[0], p), p)) return;
    if (is_better(gap, p, end)) {
        end->reach = gap;
        end->target = p;
        end->target_chain = which;
    }
    double straight = straight_on(end, ab[0], ab[1]);
    if (which == end->chain || straight >= end->straight) return;
    end->straight = straight;
    end->straight_at = dt_point_add(end->at, dt_point_scale(end->ahead, straight));
}

/* Every loose end near a - b gets to know of it. */
static void offer(closer *c, uint32_t which, dt_point a, dt_point b, double along) {
    for (dt_cells cells = dt_grid_cells(&c->grid, a, b, 0.0); dt_cells_next(&cells);)
        for (uint32_t e = dt_grid_head(&c->grid, &cells); e != DT_NO_KEY; e = c->grid.entries.items[e].next) {
            offer_cut(c, &c->ends.items[c->grid.entries.items[e].item], which, (const dt_point[2]){a, b}, along);
            c->pairs++;
        }
}

static dt_status offer_all(closer *c, dt_error *error) {
    for (uint32_t which = 0; which < c->chains->chains.count; which++) {
        const dt_chain *chain = &c->chains->chains.items[which];
        double along = 0.0;
        dt_point a = chain_mm(c->chains, chain, 0);
        for (uint32_t i = 1; i < chain->count; i++) {
            dt_point b = chain_mm(c->chains, chain, i);
            offer(c, which, a, b, along);
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
    const dt_chain *target = &c->chains->chains.items[end->target_chain];
    const uint32_t corners[2] = {target->from, target->to};
    uint32_t best = DT_NO_INDEX;
    double best_gap = NEARLY * end->reach + DT_GRID_MM;
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
        end->target = c->ends.items[end->partner].at;
    } else if (end->straight <= NEARLY * end->reach && end->straight <= c->most) {
        end->target = end->straight_at;
    }
    end->reach = dt_point_distance(end->at, end->target);
}

/* How far this end may be joined: a ghost nearby explains the gap and widens it. */
static bool in_reach(const closer *c, const loose *end) {
    double most = fmax(c->options->join_mm, DT_SAME_MM);
    if (end->on_ghost) most = fmax(most, c->options->ghosts->reach_mm + 2 * DT_SAME_MM);
    return end->target_chain != DT_NO_INDEX && end->reach <= most;
}

static uint32_t first_stroke(const dt_chains *chains, uint32_t which) {
    const dt_chain *chain = &chains->chains.items[which];
    return chain->stroke_count ? chains->strokes.items[chain->stroke_first] : DT_NO_INDEX;
}

static bool join_end(closer *c, loose *end, dt_cuts *cuts, dt_faults *gaps) {
    uint32_t number = (uint32_t)gaps->count;
    bool silent = end->reach < DT_SAME_MM || end->on_ghost;
    dt_fault fault = {.kind = DT_FAULT_GAP, .at = end->at, .other = end->target, .size_mm = silent ? 0.0 : end->reach, .mended = true,
                      .stroke = first_stroke(c->chains, end->chain), .other_stroke = first_stroke(c->chains, end->target_chain),
                      .pieces = {DT_NO_INDEX, DT_NO_INDEX}, .times = 1};
    end->joined = true;
    if (end->partner != DT_NO_INDEX) c->ends.items[end->partner].joined = true;
    dt_cut cut = {dt_gp_of(end->at), dt_gp_of(end->target), c->options->first_stroke + number};
    return dt_array_push(cuts, cut) && dt_array_push(gaps, fault);
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
    bool done = true;
    for (uint32_t i = 0; done && i < c->ends.count; i++) {
        loose *end = &c->ends.items[i];
        if (end->target_chain != DT_NO_INDEX) choose_target(c, end);
        if (in_reach(c, end)) done = dt_array_push(&turns, ((turn){end->reach, end->at, i}));
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
    c.most = fmax(fmax(options->join_mm, options->ghosts->reach_mm + 2 * DT_SAME_MM), DT_SAME_MM);
    dt_grid_init(&c.grid, 2 * c.most, c.most);
    dt_status status = find_ends(&c);
    if (status == DT_OK && c.ends.count) status = offer_all(&c, error);
    if (status == DT_OK && !join_all(&c, cuts, gaps)) status = DT_NO_MEMORY;
    free(c.end_of);
    dt_array_free(&c.ends);
    dt_grid_free(&c.grid);
    return status;
}
