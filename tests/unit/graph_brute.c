/* Joints, held pieces and interlock against a sampled brute force: a few seeds; the slow suite runs many. */
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

Suite *suite_graph_brute(void);
Suite *suite_graph_brute(void) {
    Suite *suite = suite_create("graph_brute");
    TCase *cases = tcase_create("graph_brute");
    tcase_add_loop_test(cases, joints_agree_with_a_sampled_brute_force, 0, 16);
    tcase_add_loop_test(cases, joints_of_curves_agree_with_a_sampled_brute_force, 0, 8);
    tcase_add_loop_test(cases, interlock_of_wrapped_pieces_agrees_with_a_sampled_brute_force, 0, 8);
    tcase_add_loop_test(cases, interlock_of_tabs_agrees_with_a_sampled_brute_force, 0, 24);
    suite_add_tcase(suite, cases);
    return suite;
}
