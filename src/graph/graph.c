/* The neighbour graph of a draft: neighbours from seams (neighbours.h), figures from igraph (network.h), joints from
 * reduced pieces (solids.h, blocking.h), single pieces and groups that come off (held.h, interlock.h). */
#include "graph/held.h"
#include "graph/interlock.h"
#include "graph/network.h"

#include "base/workers.h"

#include <math.h>
#include <stdlib.h>

/* Degrees in all: a joint with no more freedom than this slides, one with more is free. */
#define SLIDES_AT_MOST 60.0

struct dt_graph {
    neighbours near;
    size_t piece_count;
    network_figures figures;
    bool *held;
    loose_group group;
    dt_interlock interlock;
};

/* ---- figures ---- */

static link *links_of(const neighbours *n) {
    link *links = malloc((n->pair_count + 1) * sizeof *links);
    for (size_t i = 0; links && i < n->pair_count; i++) links[i] = (link){n->pairs[i].a.v, n->pairs[i].b.v};
    return links;
}

static bool *edge_pieces(const dt_pieces *pieces, size_t count) {
    bool *edge = malloc(count * sizeof *edge);
    for (uint32_t i = 0; edge && i < count; i++) edge[i] = dt_pieces_get(pieces, (dt_piece_id){i})->edge;
    return edge;
}

static dt_status measure(dt_graph *g, const dt_pieces *pieces) {
    link *links = links_of(&g->near);
    bool *edge = edge_pieces(pieces, g->piece_count);
    g->figures.cut = malloc(g->piece_count * sizeof *g->figures.cut);
    g->figures.depth = malloc(g->piece_count * sizeof *g->figures.depth);
    dt_status status = DT_NO_MEMORY;
    if (links && edge && g->figures.cut && g->figures.depth)
        status = network_measure(g->piece_count, links, g->near.pair_count, edge, &g->figures);
    free(links);
    free(edge);
    return status;
}

/* ---- joints ---- */

static void note_joint(dt_neighbours *pair, const freedom *f) {
    pair->joint = !f->any ? DT_LOCKED : f->degrees <= SLIDES_AT_MOST ? DT_SLIDES : DT_FREE;
    pair->free_degrees = f->degrees;
    pair->slide_from = f->any ? turn_to_degrees(f->widest.from) : NAN;
    pair->slide_to = f->any ? turn_to_degrees(f->widest.to) : NAN;
}

static void count_joint(dt_interlock *interlock, dt_joint joint) {
    if (joint == DT_LOCKED) interlock->locked_joints++;
    if (joint == DT_SLIDES) interlock->sliding_joints++;
    if (joint == DT_FREE) interlock->free_joints++;
}

typedef struct joining {
    dt_graph *graph;
    const solids *solids;
    solids_scratch *scratch; /* one for each worker */
    freedom *freedoms;
    size_t first; /* pair of this batch */
} joining;

static dt_status find_joint(void *context, size_t worker, size_t item) {
    const joining *all = context;
    size_t i = all->first + item;
    dt_neighbours *pair = &all->graph->near.pairs[i];
    dt_status status = solids_freedom(all->solids, &all->scratch[worker], pair->a.v, pair->b.v, &all->freedoms[i]);
    freedom exact = all->freedoms[i];
    if (status == DT_OK) status = solids_sharpen(all->solids, &all->scratch[worker], &exact);
    if (status == DT_OK) note_joint(pair, &exact);
    return status;
}

/* Pairs from one report of progress to the next, and pairs that repay a thread. */
enum { BATCH = 1024, LEAST_A_THREAD = 64 };

static dt_status find_joints(joining *all, unsigned threads, const dt_watch *watch) {
    const neighbours *near = &all->graph->near;
    dt_status status = DT_OK;
    for (all->first = 0; status == DT_OK && all->first < near->pair_count; all->first += BATCH) {
        size_t rest = near->pair_count - all->first, count = rest < BATCH ? rest : BATCH;
        dt_watch_report(watch, "checking the joints", (double)all->first / (double)near->pair_count);
        if (dt_watch_stopped(watch)) return DT_STOPPED;
        status = dt_workers_run(dt_workers_count(threads, count / LEAST_A_THREAD), count, find_joint, all);
    }
    for (size_t i = 0; status == DT_OK && i < near->pair_count; i++) count_joint(&all->graph->interlock, near->pairs[i].joint);
    return status;
}

/* ---- what comes off ---- */

static dt_status find_loose(joining *all, const dt_watch *watch) {
    dt_graph *g = all->graph;
    loosest_piece loosest;
    dt_status status = held_find(all->solids, all->scratch, &g->near, all->freedoms, g->held, &loosest);
    if (status != DT_OK) return status;
    loose_group *group = &g->group;
    status = loosest.any ? loose_group_single(&loosest, group)
                         : interlock_find(all->solids, all->scratch, &g->near, all->freedoms, watch, group);
    if (status != DT_OK) return status;
    g->interlock.holds_together = group->count == 0;
    g->interlock.loose = group->pieces;
    g->interlock.loose_count = group->count;
    g->interlock.loose_direction = group->direction;
    loose_group_mend(group, &g->near, &g->interlock.mend_a, &g->interlock.mend_b);
    return DT_OK;
}

static dt_status find_interlock(dt_graph *g, const dt_pieces *pieces, const dt_settings *settings, const dt_watch *watch) {
    solids s = {0};
    solids_scratch scratch[DT_MOST_WORKERS] = {0};
    joining all = {g, &s, scratch, malloc((g->near.pair_count + 1) * sizeof(freedom)), 0};
    dt_status status = all.freedoms ? solids_new(pieces, settings, &s) : DT_NO_MEMORY;
    if (status == DT_OK) status = find_joints(&all, settings->threads, watch);
    if (status == DT_OK) status = find_loose(&all, watch);
    for (size_t i = 0; i < DT_MOST_WORKERS; i++) solids_scratch_free(&scratch[i]);
    solids_free(&s);
    free(all.freedoms);
    return status;
}

/* ---- the whole ---- */

static dt_status explain(dt_error *error, dt_status status) {
    if (status == DT_LIBRARY) return dt_fail(error, status, "igraph could not measure the neighbour graph");
    return dt_fail(error, status, "the joints could not be worked out: %s", dt_status_text(status));
}

dt_status dt_graph_new(const dt_pieces *pieces, const dt_settings *settings, const dt_watch *watch, dt_graph **out,
                       dt_error *error) {
    dt_graph *g = calloc(1, sizeof *g);
    dt_status status = DT_NO_MEMORY;
    if (!g) goto done;
    g->piece_count = dt_pieces_count(pieces);
    g->held = calloc(g->piece_count, sizeof *g->held);
    if (!g->held) goto done;
    status = neighbours_new(pieces, &g->near);
    if (status == DT_OK) status = measure(g, pieces);
    if (status == DT_OK) status = find_interlock(g, pieces, settings, watch);
done:
    if (status != DT_OK) {
        dt_graph_free(g);
        return explain(error, status);
    }
    *out = g;
    return DT_OK;
}

void dt_graph_free(dt_graph *g) {
    if (!g) return;
    neighbours_free(&g->near);
    free(g->figures.cut);
    free(g->figures.depth);
    free(g->held);
    free(g->group.pieces);
    free(g);
}

size_t dt_graph_pair_count(const dt_graph *g) {
    return g->near.pair_count;
}

const dt_neighbours *dt_graph_pair(const dt_graph *g, size_t index) {
    return &g->near.pairs[index];
}

const dt_piece_id *dt_graph_around(const dt_graph *g, dt_piece_id id, size_t *count) {
    *count = g->near.start[id.v + 1] - g->near.start[id.v];
    return g->near.around + g->near.start[id.v];
}

size_t dt_graph_find(const dt_graph *g, dt_piece_id a, dt_piece_id b) {
    return neighbours_find(&g->near, a, b);
}

size_t dt_graph_components(const dt_graph *g) {
    return g->figures.components;
}

bool dt_graph_is_cut_piece(const dt_graph *g, dt_piece_id id) {
    return g->figures.cut[id.v];
}

uint32_t dt_graph_distance_from_edge(const dt_graph *g, dt_piece_id id) {
    return g->figures.depth[id.v];
}

dt_status dt_graph_diameter(const dt_graph *g, uint32_t *out) {
    link *links = links_of(&g->near);
    dt_status status = links ? network_diameter(g->piece_count, links, g->near.pair_count, out) : DT_NO_MEMORY;
    free(links);
    return status;
}

bool dt_graph_is_held(const dt_graph *g, dt_piece_id id) {
    return g->held[id.v];
}

const dt_interlock *dt_graph_interlock(const dt_graph *g) {
    return &g->interlock;
}
