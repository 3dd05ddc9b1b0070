/* Joints, held pieces and interlock against a brute force over sampled directions (brute_blocking.h), on seeded random sheets whose
 * pieces wrap round each other, enclose each other, slide and lock. */
#include "brute_blocking.h"
#include "draft.h"

#include <check.h>
#include <math.h>
#include <stdlib.h>

/* Degrees. GEOS's arcs have chords of 5.6 degrees (0.1 % of r), and coordinates are whole micrometres: directions this near to a
 * critical one are left out. */
#define CRITICAL 0.05
#define STEPS 720

typedef struct puzzle {
    draft *d;
    dt_net *net;
    dt_pieces *pieces;
    dt_graph *graph;
    brute *slow;
    uint32_t count;
} puzzle;

static puzzle puzzle_of(const cells *c, double kerf_mm) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    settings.kerf_mm = kerf_mm;
    puzzle p = {.d = draft_new()};
    draft_cells(p.d, c);
    p.pieces = draft_pieces(p.d, &settings, &p.net);
    ck_assert_ptr_null(dt_net_check(p.net));
    ck_assert_ptr_null(dt_pieces_check(p.pieces));
    p.count = (uint32_t)dt_pieces_count(p.pieces);
    dt_error error = {0};
    ck_assert_msg(dt_graph_new(p.pieces, &settings, NULL, &p.graph, &error) == DT_OK, "%s", error.message);
    p.slow = brute_new(p.pieces, 0.5 * kerf_mm);
    return p;
}

static void puzzle_free(puzzle *p) {
    brute_free(p->slow);
    dt_graph_free(p->graph);
    dt_pieces_free(p->pieces);
    dt_net_free(p->net);
    draft_free(p->d);
}

/* How far the direction lies inside (positive) or outside the free interval, degrees. */
static double depth_in(const dt_neighbours *n, double degrees) {
    if (n->joint == DT_LOCKED) return -360;
    double half = 0.5 * (n->slide_to - n->slide_from);
    return half - fabs(remainder(degrees - n->slide_from - half, 360));
}

static double sampled(int step) {
    return step * (360.0 / STEPS) + 0.123; /* off the round angles, which are critical on a sheet */
}

START_TEST(joints_agree_with_a_sampled_brute_force) {
    static const cells sheets[] = {{5, 5, 2, 0, 6, 1.4}, {4, 6, 3, 0, 8, 2.5}, {6, 6, 3, 0, 4, 0}, {8, 8, 2, 0, 3, 1}};
    cells c = sheets[_i % 4];
    c.seed = (unsigned)_i + 1;
    puzzle p = puzzle_of(&c, 0.1 + 0.2 * (_i % 3));
    for (size_t i = 0; i < dt_graph_pair_count(p.graph); i++) {
        const dt_neighbours *n = dt_graph_pair(p.graph, i);
        for (int k = 0; k < STEPS; k += 3) {
            double depth = depth_in(n, sampled(k));
            if (fabs(depth) < CRITICAL) continue;
            bool blocks = brute_blocks(p.slow, n->b.v, n->a.v, sampled(k));
            ck_assert_msg(blocks == (depth < 0), "sheet %d: %u leaves %u at %.3f: %d, depth %.3f (%.4f to %.4f)", _i, n->b.v, n->a.v,
                          sampled(k), !blocks, depth, n->slide_from, n->slide_to);
        }
    }
    puzzle_free(&p);
}
END_TEST

Suite *suite_graph_brute(void);
Suite *suite_graph_brute(void) {
    Suite *suite = suite_create("graph_brute");
    TCase *cases = tcase_create("graph_brute");
    tcase_add_loop_test(cases, joints_agree_with_a_sampled_brute_force, 0, 40);
    suite_add_tcase(suite, cases);
    return suite;
}
