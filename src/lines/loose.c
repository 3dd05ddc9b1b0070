/* Groups of chains that bound nothing. Two such chains belong together when they meet at a corner that holds no kept chain; a
 * corner that does is where the group hangs on the net. */
#include "loose.h"

#include <math.h>

typedef struct group {
    double length;
    uint32_t hung;          /* ends at kept corners */
    uint32_t kept_corner;   /* one of those */
    uint32_t loose_corner;  /* a corner of degree 1, or DT_NO_INDEX */
    uint32_t longest;       /* chain */
    double longest_mm;
    bool bridge;            /* holds a chain between two kept lines */
    uint32_t fault;         /* or DT_NO_INDEX */
    bool tail;
} group;

typedef struct reporter {
    const dt_chains *chains;
    const dt_chain_fate *fate;
    const dt_gap_options *options;
    uint32_t *kept_degree;  /* of each corner */
    uint32_t *above;        /* union-find over chains */
    uint32_t *first_at;     /* of each corner: a loose chain there */
    group *groups;          /* of each leading chain */
} reporter;

static uint32_t leader(uint32_t *above, uint32_t c) {
    while (above[c] != c) c = above[c] = above[above[c]];
    return c;
}

static void meet(reporter *r, uint32_t chain, uint32_t corner) {
    if (r->kept_degree[corner]) return;
    if (r->first_at[corner] == DT_NO_INDEX) {
        r->first_at[corner] = chain;
        return;
    }
    uint32_t a = leader(r->above, chain), b = leader(r->above, r->first_at[corner]);
    r->above[a > b ? a : b] = a > b ? b : a;
}

static void group_chains(reporter *r) {
    uint32_t count = (uint32_t)r->chains->chains.count;
    for (uint32_t c = 0; c < count; c++) {
        r->above[c] = c;
        if (r->fate[c] != DT_CHAIN_KEPT) continue;
        r->kept_degree[r->chains->chains.items[c].from]++;
        r->kept_degree[r->chains->chains.items[c].to]++;
    }
    for (uint32_t i = 0; i < r->chains->corner_count; i++) r->first_at[i] = DT_NO_INDEX;
    for (uint32_t c = 0; c < count; c++) {
        if (r->fate[c] == DT_CHAIN_KEPT) continue;
        meet(r, c, r->chains->chains.items[c].from);
        meet(r, c, r->chains->chains.items[c].to);
    }
}

static void measure_chain(reporter *r, uint32_t c) {
    const dt_chain *chain = &r->chains->chains.items[c];
    group *g = &r->groups[leader(r->above, c)];
    double length = dt_chain_length(r->chains, chain);
    if (g->length == 0.0) g->loose_corner = DT_NO_INDEX;
    g->length += length;
    g->bridge = g->bridge || r->fate[c] == DT_CHAIN_BRIDGE;
    if (length > g->longest_mm) {
        g->longest_mm = length;
        g->longest = c;
    }
    const uint32_t corners[2] = {chain->from, chain->to};
    for (int k = 0; k < 2; k++) {
        if (r->kept_degree[corners[k]]) g->kept_corner = corners[k];
        g->hung += r->kept_degree[corners[k]] > 0;
        if (r->chains->corner_degree[corners[k]] == 1) g->loose_corner = corners[k];
    }
}

static dt_point corner_mm(const reporter *r, uint32_t corner) {
    return dt_gp_mm(r->chains->points[r->chains->corner_point[corner]]);
}

/* The first stroke that was drawn: what closes a gap comes last. */
static uint32_t stroke_of(const reporter *r, uint32_t c) {
    const dt_chain *chain = &r->chains->chains.items[c];
    uint32_t stroke = chain->stroke_count ? r->chains->strokes.items[chain->stroke_first] : DT_NO_INDEX;
    return stroke < r->options->first_stroke ? stroke : DT_NO_INDEX;
}

static dt_fault tail_of(const reporter *r, const group *g) {
    return (dt_fault){.kind = DT_FAULT_TAIL, .at = corner_mm(r, g->kept_corner), .other = corner_mm(r, g->loose_corner),
                      .size_mm = g->length, .mended = true, .stroke = stroke_of(r, g->longest), .other_stroke = DT_NO_INDEX,
                      .pieces = {DT_NO_INDEX, DT_NO_INDEX}, .times = 1};
}

static dt_fault stray_of(const reporter *r, const group *g) {
    const dt_chain *chain = &r->chains->chains.items[g->longest];
    dt_gp a = dt_chain_point(r->chains, chain, (chain->count - 1) / 2), b = dt_chain_point(r->chains, chain, chain->count / 2);
    dt_point middle = dt_point_scale(dt_point_add(dt_gp_mm(a), dt_gp_mm(b)), 0.5);
    return (dt_fault){.kind = DT_FAULT_STRAY, .at = middle, .other = middle, .size_mm = g->length, .mended = true,
                      .stroke = stroke_of(r, g->longest), .other_stroke = DT_NO_INDEX, .pieces = {DT_NO_INDEX, DT_NO_INDEX},
                      .times = 1};
}

/* A scrap that a ghost left over. */
static bool is_explained(const reporter *r, const group *g) {
    dt_point end = corner_mm(r, g->loose_corner), way = dt_point_sub(end, corner_mm(r, g->kept_corner));
    double length = hypot(way.x, way.y);
    if (g->length > r->options->ghosts->reach_mm + 2 * DT_SAME_MM || length == 0.0) return false;
    return dt_ghosts_explain(r->options->ghosts, end, dt_point_scale(way, 1.0 / length));
}

static bool report_group(const reporter *r, group *g, dt_faults *faults) {
    g->fault = DT_NO_INDEX;
    if (g->length < DT_SAME_MM) return true;
    bool tail = g->hung > 0 && !g->bridge && g->loose_corner != DT_NO_INDEX && g->length <= DT_TAIL_MM;
    if (tail && is_explained(r, g)) return true;
    g->fault = (uint32_t)faults->count;
    g->tail = tail;
    return dt_array_push(faults, tail ? tail_of(r, g) : stray_of(r, g));
}

static bool open_end(const reporter *r, uint32_t c, bool at_start, dt_open_ends *ends) {
    const dt_chain *chain = &r->chains->chains.items[c];
    const group *g = &r->groups[leader(r->above, c)];
    if (g->fault == DT_NO_INDEX || r->chains->corner_degree[at_start ? chain->from : chain->to] != 1) return true;
    dt_point end = dt_gp_mm(dt_chain_point(r->chains, chain, at_start ? 0 : chain->count - 1));
    dt_point back = dt_gp_mm(dt_chain_point(r->chains, chain, at_start ? 1 : chain->count - 2));
    dt_point way = dt_point_sub(end, back);
    dt_open_end open = {.at = end, .ahead = dt_point_scale(way, 1.0 / hypot(way.x, way.y)), .chain = c,
                        .length = dt_chain_length(r->chains, chain), .fault = g->fault, .tail = g->tail, .hung = g->hung > 0,
                        .root = g->hung ? corner_mm(r, g->kept_corner) : end, .stroke = stroke_of(r, c)};
    return dt_array_push(ends, open);
}

static void forget_vain_gap(const reporter *r, uint32_t c, dt_faults *gaps) {
    const dt_chain *chain = &r->chains->chains.items[c];
    for (uint32_t s = 0; s < chain->stroke_count; s++) {
        uint32_t stroke = r->chains->strokes.items[chain->stroke_first + s];
        if (stroke >= r->options->first_stroke && stroke != DT_NO_INDEX)
            gaps->items[stroke - r->options->first_stroke].size_mm = 0.0;
    }
}

static bool take_room(reporter *r) {
    size_t chains = r->chains->chains.count + 1, corners = (size_t)r->chains->corner_count + 1;
    r->kept_degree = calloc(corners, sizeof *r->kept_degree);
    r->first_at = malloc(corners * sizeof *r->first_at);
    r->above = malloc(chains * sizeof *r->above);
    r->groups = calloc(chains, sizeof *r->groups);
    return r->kept_degree && r->first_at && r->above && r->groups;
}

static bool report_all(reporter *r, dt_faults *gaps, dt_faults *faults, dt_open_ends *ends) {
    uint32_t count = (uint32_t)r->chains->chains.count;
    group_chains(r);
    for (uint32_t c = 0; c < count; c++)
        if (r->fate[c] != DT_CHAIN_KEPT) measure_chain(r, c);
    for (uint32_t c = 0; c < count; c++)
        if (r->fate[c] != DT_CHAIN_KEPT && leader(r->above, c) == c && !report_group(r, &r->groups[c], faults)) return false;
    for (uint32_t c = 0; c < count; c++) {
        if (r->fate[c] == DT_CHAIN_KEPT) continue;
        forget_vain_gap(r, c, gaps);
        if (!open_end(r, c, true, ends) || !open_end(r, c, false, ends)) return false;
    }
    return true;
}

dt_status dt_loose_report(const dt_chains *chains, const dt_chain_fate *fate, const dt_gap_options *options, dt_faults *gaps,
                          dt_faults *faults, dt_open_ends *ends) {
    reporter r = {.chains = chains, .fate = fate, .options = options};
    bool done = take_room(&r) && report_all(&r, gaps, faults, ends);
    free(r.kept_degree);
    free(r.first_at);
    free(r.above);
    free(r.groups);
    return done ? DT_OK : DT_NO_MEMORY;
}
