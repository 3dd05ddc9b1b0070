/* Sheets with an answer that is known from how they are made. Every witness is checked by dt_assembly_verify (in assemble). */
#include "assembling.h"

#include <check.h>
#include <math.h>

static assembling assemble_sheet(unsigned rows, unsigned columns, unsigned seed, bool alike, double turn) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    draft *d = draft_new();
    draft_knobbed_sheet(d, rows, columns, 20.0, seed, alike);
    draft_transform(d, dt_pose_about(turn, false, (dt_point){0, 0}, (dt_point){300, 200}), 1.0);
    return assemble(d, settings);
}

START_TEST(distinct_seams_have_one_assembly) {
    static const double turns[] = {0.0, 33.0};
    for (int i = 0; i < 2; i++) { /* a square, and a rectangle that is turned */
        assembling a = assemble_sheet(5, i ? 4 : 5, 1, false, turns[i]);
        ck_assert_msg(a.assembly->verdict == DT_ONE, "%s", a.assembly->why);
        ck_assert(a.assembly->exact);
        ck_assert_uint_eq(a.assembly->distinct, 1);
        assembling_free(&a);
    }
}
END_TEST

START_TEST(a_hundred_pieces) {
    assembling a = assemble_sheet(10, 10, 1, false, 0.0);
    ck_assert_msg(a.assembly->verdict == DT_ONE, "%s", a.assembly->why);
    assembling_free(&a);
}
END_TEST

START_TEST(alike_knobs_are_several_at_once) {
    assembling a = assemble_sheet(6, 6, 1, true, 0.0);
    ck_assert_int_eq(a.assembly->verdict, DT_SEVERAL);
    ck_assert_uint_eq(a.assembly->steps, 0);
    assembling_free(&a);
}
END_TEST

/* A block of two pieces is a square of 30 mm: it may be turned in its place though neither piece fits the other's, and the other block
 * is no square. */
START_TEST(a_block_of_two_that_turns) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    draft *d = draft_new();
    draft_rectangle(d, 0, 0, 70, 30);
    draft_segment(d, 30, 0, 30, 30);
    draft_segment(d, 30, 12, 70, 16);
    draft_segment(d, 0, 9, 30, 13);
    assembling a = assemble(d, settings);
    ck_assert_int_eq(a.assembly->verdict, DT_SEVERAL);
    ck_assert_uint_eq(a.assembly->other_count, 2);
    assembling_free(&a);
}
END_TEST

Suite *suite_assembly_sheets(void);
Suite *suite_assembly_sheets(void) {
    Suite *suite = suite_create("assembly_sheets");
    TCase *all = tcase_create("all");
    tcase_add_test(all, distinct_seams_have_one_assembly);
    tcase_add_test(all, a_hundred_pieces);
    tcase_add_test(all, alike_knobs_are_several_at_once);
    tcase_add_test(all, a_block_of_two_that_turns);
    suite_add_tcase(suite, all);
    return suite;
}
