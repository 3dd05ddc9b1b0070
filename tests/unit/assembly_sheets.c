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

static double noise(uint64_t *state) {
    return 0.02 * (draft_random(state) - 0.5);
}

/* The same block with every line end off by up to 0.01 mm each way: found, or not decided, but never called the only one. */
START_TEST(noise_hides_no_other_assembly) {
    for (uint64_t seed = 1; seed <= 12; seed++) {
        uint64_t state = seed;
        double n[9];
        for (int i = 0; i < 9; i++) n[i] = noise(&state);
        dt_settings settings = DT_SETTINGS_DEFAULT;
        draft *d = draft_new();
        draft_rectangle(d, n[0], n[1], 70 + n[2], 30 + n[3]);
        draft_segment(d, 30 + n[4], n[5], 30 + n[6], 30 + n[7]);
        draft_segment(d, 30 + n[8], 12 + n[1], 70 + n[2], 16 + n[3]);
        draft_segment(d, n[0], 9 + n[4], 30 + n[5], 13 + n[6]);
        assembling a = assemble(d, settings);
        ck_assert_int_ne(a.assembly->verdict, DT_ONE);
        assembling_free(&a);
    }
}
END_TEST

START_TEST(a_sheet_too_large_for_the_steps_is_undecided) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    settings.steps = 20;
    draft *d = draft_new();
    draft_knobbed_sheet(d, 3, 3, 20.0, 1, false);
    assembling a = assemble(d, settings);
    ck_assert_int_eq(a.assembly->verdict, DT_UNDECIDED);
    ck_assert(!a.assembly->counted);
    assembling_free(&a);
}
END_TEST

static void draw_disc(draft *d, const double *turns, int count) {
    draft_circle(d, 50, 50, 40);
    for (int i = 0; i < count; i++) draft_segment(d, 50, 50, 50 + 40 * cos(turns[i]), 50 + 40 * sin(turns[i]));
}

/* Sectors of different widths may lie in any order: (n - 1)! assemblies, since turning the disc makes no other one; half as many where
 * it may be turned over. Three lie in one order only, seen from above, but two-sided they have one assembly. */
START_TEST(sectors_of_a_disc) {
    static const double turns[] = {0.1, 0.9, 2.0, 3.4, 4.4};
    dt_settings settings = DT_SETTINGS_DEFAULT;
    settings.count = true;
    draft *d = draft_new();
    draw_disc(d, turns, 5);
    assembling a = assemble(d, settings);
    ck_assert_int_eq(a.assembly->verdict, DT_SEVERAL);
    ck_assert_uint_eq(a.assembly->distinct, 24);
    assembling_free(&a);
    settings.two_sided = true;
    d = draft_new();
    draw_disc(d, turns, 3);
    a = assemble(d, settings);
    ck_assert_msg(a.assembly->verdict == DT_ONE, "%s", a.assembly->why);
    ck_assert_uint_eq(a.assembly->distinct, 1);
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
    tcase_add_test(all, noise_hides_no_other_assembly);
    tcase_add_test(all, a_sheet_too_large_for_the_steps_is_undecided);
    tcase_add_test(all, sectors_of_a_disc);
    suite_add_tcase(suite, all);
    return suite;
}
