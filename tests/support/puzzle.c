/* Whole drafts for tests: see puzzle.h. */
#include "puzzle.h"

#include <check.h>
#include <math.h>

static void check_pairs(const puzzle *p) {
    for (size_t i = 0; i < dt_graph_pair_count(p->graph); i++) {
        const dt_neighbours *n = dt_graph_pair(p->graph, i), *last = i ? dt_graph_pair(p->graph, i - 1) : NULL;
        ck_assert(n->a.v < n->b.v && n->b.v < p->count && n->border_mm > 0 && n->seams > 0);
        ck_assert(!last || last->a.v < n->a.v || (last->a.v == n->a.v && last->b.v < n->b.v));
        ck_assert_uint_eq(dt_graph_find(p->graph, n->b, n->a), i);
        ck_assert((n->joint == DT_LOCKED) == isnan(n->slide_from) && (n->joint != DT_LOCKED || n->free_degrees == 0));
        ck_assert(n->joint == DT_LOCKED || n->slide_from <= n->slide_to);
    }
}

static void check_lists(const puzzle *p) {
    size_t ends = 0;
    for (uint32_t i = 0; i < p->count; i++) {
        size_t count;
        const dt_piece_id *around = dt_graph_around(p->graph, (dt_piece_id){i}, &count);
        for (size_t k = 0; k < count; k++) {
            ck_assert(k == 0 || around[k - 1].v < around[k].v);
            ck_assert_uint_ne(dt_graph_find(p->graph, (dt_piece_id){i}, around[k]), SIZE_MAX);
        }
        ends += count;
    }
    ck_assert_uint_eq(ends, 2 * dt_graph_pair_count(p->graph));
}

static void check_interlock(const puzzle *p) {
    const dt_interlock *whole = dt_graph_interlock(p->graph);
    ck_assert_uint_eq(whole->locked_joints + whole->sliding_joints + whole->free_joints, dt_graph_pair_count(p->graph));
    ck_assert_uint_eq(whole->holds_together, whole->loose_count == 0);
    ck_assert_int_eq(whole->holds_together, isnan(whole->loose_direction));
    for (size_t i = 1; i < whole->loose_count; i++) ck_assert(whole->loose[i - 1].v < whole->loose[i].v);
}

puzzle puzzle_of(draft *d, double kerf_mm) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    settings.kerf_mm = kerf_mm;
    puzzle p = {.d = d};
    p.pieces = draft_pieces(d, &settings, &p.net);
    p.count = (uint32_t)dt_pieces_count(p.pieces);
    ck_assert_ptr_null(dt_net_check(p.net));
    ck_assert_ptr_null(dt_pieces_check(p.pieces));
    dt_error error = {0};
    ck_assert_msg(dt_graph_new(p.pieces, &settings, NULL, &p.graph, &error) == DT_OK, "%s", error.message);
    check_pairs(&p);
    check_lists(&p);
    check_interlock(&p);
    if (p.count > 2) ck_assert_uint_le(dt_graph_pair_count(p.graph), 3 * p.count - 6); /* planar: Euler */
    return p;
}

void puzzle_free(puzzle *p) {
    dt_graph_free(p->graph);
    dt_pieces_free(p->pieces);
    dt_net_free(p->net);
    draft_free(p->d);
}

double puzzle_depth(const dt_neighbours *n, double degrees) {
    if (n->joint == DT_LOCKED) return -360;
    double half = 0.5 * (n->slide_to - n->slide_from);
    return half - fabs(remainder(degrees - n->slide_from - half, 360));
}
