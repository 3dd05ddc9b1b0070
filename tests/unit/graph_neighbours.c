/* Neighbours, joints and figures of whole drafts with known answers. */
#include "puzzle.h"

#include <check.h>
#include <math.h>

START_TEST(a_straight_grid_is_free_in_four_directions) {
    draft *d = draft_new();
    draft_straight_sheet(d, 3, 4, 20, 15);
    puzzle p = puzzle_of(d, 0.2);
    ck_assert_uint_eq(dt_graph_pair_count(p.graph), 3 * 3 + 2 * 4);
    bool seen[4] = {false};
    for (size_t i = 0; i < dt_graph_pair_count(p.graph); i++) {
        const dt_neighbours *n = dt_graph_pair(p.graph, i);
        ck_assert_int_eq(n->joint, DT_FREE);
        double middle = fmod(0.5 * (n->slide_from + n->slide_to), 360);
        double expected = n->b.v == n->a.v + 1 ? 0 : 270; /* to the right of a, or below it */
        ck_assert_double_lt(fabs(remainder(middle - expected, 360)), 1e-6);
        seen[expected > 0 ? 3 : 0] = true;
        ck_assert_double_eq_tol(n->border_mm, expected > 0 ? 20 : 15, 1e-9);
    }
    ck_assert(seen[0] && seen[3]);
    ck_assert_uint_eq(dt_graph_components(p.graph), 1);
    ck_assert_uint_eq(dt_graph_diameter(p.graph), 5);
    ck_assert_uint_eq(dt_graph_distance_from_edge(p.graph, (dt_piece_id){5}), 1);
    ck_assert_uint_eq(dt_graph_distance_from_edge(p.graph, (dt_piece_id){4}), 0);
    ck_assert(!dt_graph_is_held(p.graph, (dt_piece_id){0}) && dt_graph_is_held(p.graph, (dt_piece_id){5}));
    ck_assert(!dt_graph_interlock(p.graph)->holds_together);
    ck_assert_uint_eq(dt_graph_interlock(p.graph)->loose_count, 1);
    puzzle_free(&p);
}
END_TEST

START_TEST(a_knobbed_sheet_locks_and_holds_together) {
    draft *d = draft_new();
    draft_knobbed_sheet(d, 6, 7, 24, 5, false);
    puzzle p = puzzle_of(d, 0.2);
    const dt_interlock *whole = dt_graph_interlock(p.graph);
    ck_assert_uint_eq(whole->locked_joints, 6 * 6 + 5 * 7);
    ck_assert_uint_eq(whole->sliding_joints + whole->free_joints, 0);
    ck_assert(whole->holds_together && isnan(whole->loose_direction) && whole->loose_count == 0);
    for (uint32_t i = 0; i < 42; i++) ck_assert(dt_graph_is_held(p.graph, (dt_piece_id){i}));
    ck_assert_uint_eq(dt_graph_diameter(p.graph), 11);
    puzzle_free(&p);
}
END_TEST

START_TEST(a_closed_ring_locks_a_whimsy) {
    draft *d = draft_new();
    draft_circle(d, 50, 50, 40);
    draft_circle(d, 50, 50, 15);
    puzzle p = puzzle_of(d, 0.2);
    ck_assert_uint_eq(dt_graph_pair_count(p.graph), 1);
    ck_assert_int_eq(dt_graph_pair(p.graph, 0)->joint, DT_LOCKED);
    ck_assert(dt_graph_interlock(p.graph)->holds_together);
    puzzle_free(&p);
}
END_TEST

START_TEST(one_single_piece) {
    draft *d = draft_new();
    draft_rectangle(d, 0, 0, 30, 20);
    puzzle p = puzzle_of(d, 0.2);
    ck_assert_uint_eq(dt_graph_pair_count(p.graph), 0);
    ck_assert_uint_eq(dt_graph_components(p.graph), 1);
    ck_assert_uint_eq(dt_graph_diameter(p.graph), 0);
    ck_assert(dt_graph_interlock(p.graph)->holds_together);
    ck_assert(!dt_graph_is_held(p.graph, (dt_piece_id){0}));
    puzzle_free(&p);
}
END_TEST

Suite *suite_graph_neighbours(void);
Suite *suite_graph_neighbours(void) {
    Suite *suite = suite_create("graph_neighbours");
    TCase *cases = tcase_create("graph_neighbours");
    tcase_add_test(cases, a_straight_grid_is_free_in_four_directions);
    tcase_add_test(cases, a_knobbed_sheet_locks_and_holds_together);
    tcase_add_test(cases, a_closed_ring_locks_a_whimsy);
    tcase_add_test(cases, one_single_piece);
    suite_add_tcase(suite, cases);
    return suite;
}
