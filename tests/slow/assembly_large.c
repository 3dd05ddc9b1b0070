/* A large sheet with distinct seams, drawn by draft_knobbed_sheet: one assembly, proved within the steps that are allowed unasked. */
#include "assembling.h"

#include <check.h>

static void expect_one(unsigned rows, unsigned columns, uint64_t most_steps) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    draft *d = draft_new();
    draft_knobbed_sheet(d, rows, columns, 20.0, 1, false);
    assembling a = assemble(d, settings);
    ck_assert_msg(a.assembly->verdict == DT_ONE, "%u x %u: %s", rows, columns, a.assembly->why);
    ck_assert_uint_eq(a.assembly->distinct, 1);
    ck_assert_uint_le(a.assembly->steps, most_steps);
    assembling_free(&a);
}

START_TEST(five_hundred_pieces) {
    expect_one(20, 25, 5000);
}
END_TEST

START_TEST(five_thousand_pieces) {
    expect_one(50, 100, 1000000);
}
END_TEST

Suite *suite_assembly_large(void);
Suite *suite_assembly_large(void) {
    Suite *suite = suite_create("assembly_large");
    TCase *all = tcase_create("all");
    tcase_add_test(all, five_hundred_pieces);
    tcase_add_test(all, five_thousand_pieces);
    suite_add_tcase(suite, all);
    return suite;
}
