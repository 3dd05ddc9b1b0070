/* Published numbers of assemblies that are quick to find; the sources stand in tests/support/counts.c, the long ones in
 * tests/slow/assembly_counts.c. */
#include "assembling.h"
#include "counts.h"

#include <check.h>

static assembling count(const char *name, bool two_sided) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    settings.count = true;
    settings.two_sided = two_sided;
    draft *d = draft_new();
    counted_draft_named(name)->draw(d);
    return assemble(d, settings);
}

static void expect_published(const char *name) {
    const counted_draft *known = counted_draft_named(name);
    assembling a = count(name, true);
    ck_assert_msg(a.assembly->exact, "%s: %s", name, a.assembly->why);
    ck_assert_uint_eq(a.assembly->fillings, known->fillings);
    if (known->distinct) ck_assert_uint_eq(a.assembly->distinct, known->distinct);
    assembling_free(&a);
}

START_TEST(published_counts) {
    for (size_t i = 0; i < counted_draft_count; i++)
        if (counted_drafts[i].quick) expect_published(counted_drafts[i].name);
}
END_TEST

START_TEST(squared_rectangle_has_one_assembly) {
    assembling a = count("squares-33x32", true);
    ck_assert_int_eq(a.assembly->verdict, DT_ONE);
    assembling_free(&a);
}
END_TEST

START_TEST(pentominoes_3x20_have_another_assembly) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    settings.two_sided = true;
    draft *d = draft_new();
    counted_draft_named("pentominoes-3x20")->draw(d);
    assembling a = assemble(d, settings); /* checks the witness */
    ck_assert_int_eq(a.assembly->verdict, DT_SEVERAL);
    ck_assert(!a.assembly->exact && a.assembly->distinct >= 2);
    assembling_free(&a);
}
END_TEST

/* The two large and the two small triangles are alike, so either may lie in the other's place: several, though there is one filling. */
START_TEST(tangram_one_sided) {
    assembling a = count("tangram", false);
    ck_assert(a.assembly->exact);
    ck_assert_uint_eq(a.assembly->fillings, 4);
    ck_assert_uint_eq(a.assembly->distinct, 1);
    ck_assert_int_eq(a.assembly->verdict, DT_SEVERAL);
    assembling_free(&a);
}
END_TEST

Suite *suite_assembly_counts(void);
Suite *suite_assembly_counts(void) {
    Suite *suite = suite_create("assembly_counts");
    TCase *all = tcase_create("all");
    tcase_add_test(all, published_counts);
    tcase_add_test(all, squared_rectangle_has_one_assembly);
    tcase_add_test(all, pentominoes_3x20_have_another_assembly);
    tcase_add_test(all, tangram_one_sided);
    suite_add_tcase(suite, all);
    return suite;
}
