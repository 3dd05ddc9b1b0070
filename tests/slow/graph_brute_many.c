/* Joints, held pieces and interlock against a sampled brute force: many seeds. */
#include "contest.h"

#include <check.h>

START_TEST(joints_agree_with_a_sampled_brute_force) {
    contest_joints(_i);
}
END_TEST

START_TEST(joints_of_curves_agree_with_a_sampled_brute_force) {
    contest_curves(_i);
}
END_TEST

START_TEST(interlock_of_wrapped_pieces_agrees_with_a_sampled_brute_force) {
    contest_cells(_i);
}
END_TEST

START_TEST(interlock_of_tabs_agrees_with_a_sampled_brute_force) {
    contest_tabs(_i);
}
END_TEST

Suite *suite_graph_brute_many(void);
Suite *suite_graph_brute_many(void) {
    Suite *suite = suite_create("graph_brute_many");
    TCase *cases = tcase_create("graph_brute_many");
    tcase_add_loop_test(cases, joints_agree_with_a_sampled_brute_force, 0, 400);
    tcase_add_loop_test(cases, joints_of_curves_agree_with_a_sampled_brute_force, 0, 300);
    tcase_add_loop_test(cases, interlock_of_wrapped_pieces_agrees_with_a_sampled_brute_force, 0, 200);
    tcase_add_loop_test(cases, interlock_of_tabs_agrees_with_a_sampled_brute_force, 0, 400);
    suite_add_tcase(suite, cases);
    return suite;
}
