/* Neighbours, joints and figures of whole drafts with known answers. */
#include "brute_blocking.h"
#include "puzzle.h"

#include <check.h>
#include <math.h>

static uint32_t diameter_of(const puzzle *p) {
    uint32_t diameter = UINT32_MAX;
    ck_assert_int_eq(dt_graph_diameter(p->graph, &diameter), DT_OK);
    return diameter;
}

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
    ck_assert_uint_eq(diameter_of(&p), 5);
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
    ck_assert_uint_eq(diameter_of(&p), 11);
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
    ck_assert_uint_eq(diameter_of(&p), 0);
    ck_assert(dt_graph_interlock(p.graph)->holds_together);
    ck_assert(!dt_graph_is_held(p.graph, (dt_piece_id){0}));
    puzzle_free(&p);
}
END_TEST

/* ---- laws ---- */

static draft *law_sheet(int which) {
    draft *d = draft_new();
    tabs t = {3, 4, 11 + (unsigned)which, 0.05, 0.6};
    if (which == 0)
        draft_knobbed_sheet(d, 4, 5, 24, 3, false);
    else
        draft_tabs(d, &t);
    return d;
}

/* Free degrees of all joints, ascending: numbering may change when a sheet is turned. */
static void sorted_freedom(const puzzle *p, double *out) {
    size_t count = dt_graph_pair_count(p->graph);
    for (size_t i = 0; i < count; i++) {
        double degrees = dt_graph_pair(p->graph, i)->free_degrees;
        size_t k = i;
        for (; k > 0 && out[k - 1] > degrees; k--) out[k] = out[k - 1];
        out[k] = degrees;
    }
}

/* Turning, mirroring and moving the sheet change no count and no width of a slide. Coordinates are whole micrometres,
 * which on a tab of 4 mm and a kerf of 0.2 mm is up to 0.03 degrees on each side. */
START_TEST(moving_a_sheet_changes_nothing) {
    for (int which = 0; which < 4; which++) {
        puzzle p = puzzle_of(law_sheet(which), 0.2);
        double before[64], after[64];
        sorted_freedom(&p, before);
        for (int k = 0; k < 4; k++) {
            draft *d = law_sheet(which);
            draft_transform(d, dt_pose_about(90 * k + 33 * (k > 1), k % 2, (dt_point){0, 0}, (dt_point){200, 300}), 1);
            puzzle q = puzzle_of(d, 0.2);
            const dt_interlock *a = dt_graph_interlock(p.graph), *b = dt_graph_interlock(q.graph);
            ck_assert(a->locked_joints == b->locked_joints && a->sliding_joints == b->sliding_joints);
            ck_assert(a->holds_together == b->holds_together && a->loose_count == b->loose_count);
            ck_assert_uint_eq(diameter_of(&p), diameter_of(&q));
            sorted_freedom(&q, after);
            for (size_t i = 0; i < dt_graph_pair_count(p.graph); i++)
                ck_assert_double_eq_tol(before[i], after[i], 0.06);
            puzzle_free(&q);
        }
        puzzle_free(&p);
    }
}
END_TEST

/* The same sheet and kerf at three times the size. */
START_TEST(scaling_changes_nothing) {
    puzzle p = puzzle_of(law_sheet(2), 0.2);
    draft *d = law_sheet(2);
    draft_transform(d, DT_POSE_IDENTITY, 3);
    puzzle q = puzzle_of(d, 0.6);
    for (size_t i = 0; i < dt_graph_pair_count(p.graph); i++) {
        const dt_neighbours *a = dt_graph_pair(p.graph, i), *b = dt_graph_pair(q.graph, i);
        ck_assert(a->a.v == b->a.v && a->b.v == b->b.v && a->joint == b->joint);
        ck_assert_double_eq_tol(a->free_degrees, b->free_degrees, 1e-6);
        ck_assert_double_eq_tol(3 * a->border_mm, b->border_mm, 1e-6);
    }
    puzzle_free(&q);
    puzzle_free(&p);
}
END_TEST

/* More kerf never takes away a direction. */
START_TEST(more_kerf_never_locks) {
    puzzle last = puzzle_of(law_sheet(3), 0);
    for (int k = 1; k < 6; k++) {
        puzzle p = puzzle_of(law_sheet(3), 0.25 * k);
        for (size_t i = 0; i < dt_graph_pair_count(p.graph); i++)
            ck_assert_double_ge(dt_graph_pair(p.graph, i)->free_degrees,
                                dt_graph_pair(last.graph, i)->free_degrees - 1e-6);
        puzzle_free(&last);
        last = p;
    }
    puzzle_free(&last);
}
END_TEST

/* 180 joints of 100 pieces repay several threads. */
START_TEST(threads_change_nothing) {
    draft *d = draft_new();
    draft_knobbed_sheet(d, 10, 10, 22, 3, false);
    puzzle p = puzzle_of(d, 0);
    dt_settings settings = DT_SETTINGS_DEFAULT;
    settings.kerf_mm = 0;
    settings.threads = 3;
    dt_graph *three = NULL;
    ck_assert_int_eq(dt_graph_new(p.pieces, &settings, NULL, &three, NULL), DT_OK);
    for (size_t i = 0; i < dt_graph_pair_count(p.graph); i++) {
        const dt_neighbours *a = dt_graph_pair(p.graph, i), *b = dt_graph_pair(three, i);
        ck_assert(a->joint == b->joint && a->free_degrees == b->free_degrees);
        ck_assert(a->joint == DT_LOCKED || (a->slide_from == b->slide_from && a->slide_to == b->slide_to));
    }
    ck_assert_uint_eq(dt_graph_interlock(p.graph)->locked_joints, dt_graph_interlock(three)->locked_joints);
    dt_graph_free(three);
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
    tcase_add_test(cases, moving_a_sheet_changes_nothing);
    tcase_add_test(cases, scaling_changes_nothing);
    tcase_add_test(cases, more_kerf_never_locks);
    tcase_add_test(cases, threads_change_nothing);
    suite_add_tcase(suite, cases);
    return suite;
}
