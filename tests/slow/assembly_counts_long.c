/* Published numbers of assemblies that take longer; the sources stand in tests/support/counts.c. */
#include "assembling.h"
#include "counts.h"

#include <check.h>

static void expect_published(const char *name) {
    const counted_draft *known = counted_draft_named(name);
    dt_settings settings = DT_SETTINGS_DEFAULT;
    settings.count = settings.two_sided = true;
    settings.steps = UINT64_MAX;
    draft *d = draft_new();
    known->draw(d);
    assembling a = assemble(d, settings);
    ck_assert_msg(a.assembly->exact, "%s: %s", name, a.assembly->why);
    ck_assert_uint_eq(a.assembly->fillings, known->fillings);
    if (known->distinct) ck_assert_uint_eq(a.assembly->distinct, known->distinct);
    assembling_free(&a);
}

START_TEST(dominoes_6x6) {
    expect_published("dominoes-6x6");
}
END_TEST

START_TEST(pentominoes_8x8) {
    expect_published("pentominoes-8x8-hole");
}
END_TEST

START_TEST(pentominoes_4x15) {
    expect_published("pentominoes-4x15");
}
END_TEST

START_TEST(squares_69x61) {
    expect_published("squares-69x61");
}
END_TEST

START_TEST(squares_112x112) {
    expect_published("squares-112x112");
}
END_TEST

START_TEST(stomachion) {
    expect_published("stomachion");
}
END_TEST

START_TEST(pentominoes_5x12) {
    expect_published("pentominoes-5x12");
}
END_TEST

START_TEST(pentominoes_6x10) {
    expect_published("pentominoes-6x10");
}
END_TEST

Suite *suite_assembly_counts_long(void);
Suite *suite_assembly_counts_long(void) {
    Suite *suite = suite_create("assembly_counts_long");
    TCase *all = tcase_create("all");
    tcase_add_test(all, dominoes_6x6);
    tcase_add_test(all, pentominoes_8x8);
    tcase_add_test(all, pentominoes_4x15);
    tcase_add_test(all, squares_69x61);
    tcase_add_test(all, squares_112x112);
    tcase_add_test(all, stomachion);
    tcase_add_test(all, pentominoes_5x12);
    tcase_add_test(all, pentominoes_6x10);
    suite_add_tcase(suite, all);
    return suite;
}
