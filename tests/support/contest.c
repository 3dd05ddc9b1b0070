/* Contests with a brute force over sampled directions: see contest.h. */
#include "contest.h"

#include "brute_blocking.h"
#include "puzzle.h"

#include <check.h>
#include <math.h>
#include <stdlib.h>

/* Degrees. GEOS's arcs have chords of 5.6 degrees (0.1 % of r), and coordinates are whole micrometres: directions this
 * near to a critical one are left out. */
#define CRITICAL 0.05
#define STEPS 720

/* A puzzle and the same by brute force. */
typedef struct contest {
    puzzle p;
    brute *slow;
    double kerf_mm;
} contest;

static contest contest_of(draft *d, double kerf_mm) {
    puzzle p = puzzle_of(d, kerf_mm);
    return (contest){p, brute_new(p.pieces, 0.5 * kerf_mm), kerf_mm};
}

static contest contest_of_cells(const cells *sheet, double kerf_mm) {
    draft *d = draft_new();
    draft_cells(d, sheet);
    return contest_of(d, kerf_mm);
}

static void contest_free(contest *c) {
    brute_free(c->slow);
    puzzle_free(&c->p);
}

static double sampled(int step) {
    return step * (360.0 / STEPS) + 0.123; /* off the round angles, which are critical on a sheet */
}

/* GEOS's buffer drops what is left of pieces that are hardly wider than the kerf. */
static bool is_thin(const contest *c, dt_piece_id id) {
    return dt_pieces_get(c->p.pieces, id)->inradius_mm < 1.5 * c->kerf_mm;
}

static void check_joints(contest *c, double degrees) {
    brute_turn(c->slow, degrees);
    for (size_t i = 0; i < dt_graph_pair_count(c->p.graph); i++) {
        const dt_neighbours *n = dt_graph_pair(c->p.graph, i);
        double depth = puzzle_depth(n, degrees);
        if (fabs(depth) < CRITICAL || is_thin(c, n->a) || is_thin(c, n->b)) continue;
        bool blocks = brute_blocks(c->slow, n->b.v, n->a.v);
        ck_assert_msg(blocks == (depth < 0), "%u leaves %u at %.3f: %d, depth %.3f (%.4f to %.4f)", n->b.v, n->a.v,
                      degrees, !blocks, depth, n->slide_from, n->slide_to);
    }
}

static void try_joints(int seed) {
    static const cells sheets[] = {
        {5, 5, 2, 0, 6, 1.4, false}, {4, 6, 3, 0, 8, 2.5, true}, {6, 6, 3, 0, 4, 0, false}, {8, 8, 2, 0, 3, 1, true}};
    cells sheet = sheets[seed % 4];
    sheet.seed = (unsigned)seed + 1;
    contest c = contest_of_cells(&sheet, 0.1 + 0.2 * (seed % 3));
    for (int k = 0; k < STEPS; k++) check_joints(&c, sampled(k));
    contest_free(&c);
}

static void try_curves(int seed) {
    draft *d = draft_new();
    draft_curves(d, (unsigned)seed);
    contest c = contest_of(d, 0.1 + 0.05 * (seed % 8));
    for (int k = 0; k < STEPS; k += 9) check_joints(&c, sampled(k));
    contest_free(&c);
}

static uint32_t puzzle_number(const contest *c, uint32_t u) {
    return dt_pieces_get(c->p.pieces, (dt_piece_id){u})->puzzle;
}

/* Every pair of one puzzle, neighbours or not, in one direction. */
static void fill_blocks(const contest *c, double degrees, bool *blocks) {
    brute_turn(c->slow, degrees);
    for (uint32_t u = 0; u < c->p.count; u++)
        for (uint32_t v = 0; v < c->p.count; v++)
            blocks[u * c->p.count + v] =
                u != v && puzzle_number(c, u) == puzzle_number(c, v) && brute_blocks(c->slow, u, v);
}

static uint32_t puzzle_size(const contest *c, uint32_t u) {
    uint32_t size = 0;
    for (uint32_t v = 0; v < c->p.count; v++) size += puzzle_number(c, u) == puzzle_number(c, v);
    return size;
}

static bool is_alone_free(const bool *blocks, uint32_t count, uint32_t u) {
    for (uint32_t v = 0; v < count; v++)
        if (blocks[u * count + v]) return false;
    return true;
}

/* The group that is said to come off does, in the direction given. */
static void check_loose(const contest *c, bool *blocks) {
    const dt_interlock *whole = dt_graph_interlock(c->p.graph);
    uint32_t count = c->p.count;
    fill_blocks(c, whole->loose_direction, blocks);
    bool in_group[64] = {false};
    for (size_t i = 0; i < whole->loose_count; i++) in_group[whole->loose[i].v] = true;
    for (uint32_t u = 0; u < count; u++)
        for (uint32_t v = 0; v < count; v++) ck_assert(!in_group[u] || in_group[v] || !blocks[u * count + v]);
    ck_assert_int_ne(in_group[whole->mend_a.v], in_group[whole->mend_b.v]);
    ck_assert_uint_ne(dt_graph_find(c->p.graph, whole->mend_a, whole->mend_b), SIZE_MAX);
}

/* The brute force sees a sample of the directions only, so it may miss a way out, but never finds one that is not
 * there. Round directions are where tabs slide. */
static void check_interlock(const contest *c) {
    const dt_interlock *whole = dt_graph_interlock(c->p.graph);
    uint32_t smallest = 0, count = c->p.count, sizes[64];
    ck_assert_uint_le(count, 64);
    for (uint32_t u = 0; u < count; u++) sizes[u] = puzzle_size(c, u);
    bool *blocks = malloc(count * count);
    for (int k = 0; k < 60; k++) {
        fill_blocks(c, k % 3 ? sampled(12 * k) : 6.0 * k, blocks);
        uint32_t size = brute_smallest_group(blocks, sizes, count);
        if (size && (smallest == 0 || size < smallest)) smallest = size;
        for (uint32_t u = 0; u < count; u++)
            if (sizes[u] > 1 && is_alone_free(blocks, count, u))
                ck_assert(!dt_graph_is_held(c->p.graph, (dt_piece_id){u}));
    }
    if (!whole->holds_together) check_loose(c, blocks);
    ck_assert(smallest == 0 || (whole->loose_count > 0 && whole->loose_count <= smallest));
    free(blocks);
}

static void try_cells(int seed) {
    static const cells sheets[] = {
        {4, 4, 4, 0, 6, 1, false}, {5, 5, 2, 0, 4, 0, false}, {6, 6, 3, 0, 5, 1.2, true}, {7, 8, 2, 0, 4, 0.8, true}};
    cells sheet = sheets[seed % 4];
    sheet.seed = (unsigned)seed + 500;
    contest c = contest_of_cells(&sheet, 0.2);
    check_interlock(&c);
    contest_free(&c);
}

static void try_tabs(int seed) {
    tabs t = {3 + (unsigned)seed % 2, 4, (unsigned)seed, 0.05 * (seed % 3), 0.5 + 0.1 * (seed % 4)};
    draft *d = draft_new();
    draft_tabs(d, &t);
    contest c = contest_of(d, 0.2);
    check_interlock(&c);
    contest_free(&c);
}

START_TEST(joints_agree_with_a_sampled_brute_force) {
    try_joints(_i);
}
END_TEST

START_TEST(joints_of_curves_agree_with_a_sampled_brute_force) {
    try_curves(_i);
}
END_TEST

START_TEST(interlock_of_wrapped_pieces_agrees_with_a_sampled_brute_force) {
    try_cells(_i);
}
END_TEST

START_TEST(interlock_of_tabs_agrees_with_a_sampled_brute_force) {
    try_tabs(_i);
}
END_TEST

Suite *contest_suite(const char *name, contest_seeds seeds) {
    Suite *suite = suite_create(name);
    TCase *cases = tcase_create(name);
    tcase_add_loop_test(cases, joints_agree_with_a_sampled_brute_force, 0, seeds.joints);
    tcase_add_loop_test(cases, joints_of_curves_agree_with_a_sampled_brute_force, 0, seeds.curves);
    tcase_add_loop_test(cases, interlock_of_wrapped_pieces_agrees_with_a_sampled_brute_force, 0, seeds.cells);
    tcase_add_loop_test(cases, interlock_of_tabs_agrees_with_a_sampled_brute_force, 0, seeds.tabs);
    suite_add_tcase(suite, cases);
    return suite;
}
