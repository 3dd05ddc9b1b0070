/* Less exact drawings of drafts whose assemblies are known: every planted assembly is found, or the answer is "undecided"; never "one",
 * never an exact count that is not the true one. More seeds and more drafts in tests/slow/assembly_perturbed_many.c; the sources of
 * the counts stand in tests/support/counts.c. */
#include "assembling.h"
#include "counts.h"
#include "perturbed.h"

#include <check.h>

static void expect_known(const char *name, bool two_sided, perturbing way, uint64_t seed) {
    const counted_draft *known = counted_draft_named(name);
    dt_settings settings = DT_SETTINGS_DEFAULT;
    settings.count = true;
    settings.two_sided = two_sided;
    draft *d = draft_new();
    known->draw(d);
    assembling a = assemble(perturbed(d, way, seed), settings);
    uint64_t fillings = two_sided ? known->fillings : known->fillings / 2;
    if (known->distinct != 1) ck_assert_int_ne(a.assembly->verdict, DT_ONE);
    ck_assert_msg(!a.assembly->exact || a.assembly->fillings == fillings, "%s, %s, seed %u: %u fillings", name, perturbing_names[way],
                  (unsigned)seed, (unsigned)a.assembly->fillings);
    ck_assert(a.assembly->fillings <= fillings);
    if (known->distinct) ck_assert_uint_le(a.assembly->distinct, known->distinct);
    assembling_free(&a);
}

START_TEST(dominoes) {
    for (perturbing way = ROUNDED; way < PERTURBINGS; way++)
        for (uint64_t seed = 1; seed <= 3; seed++) expect_known("dominoes-4x4", true, way, seed);
    expect_known("dominoes-4x4", true, TRACED, 7);  /* a corner cut off by 0.02 mm once was two corners */
    expect_known("dominoes-4x4", true, TRACED, 10); /* a slit that lines left at the rim */
}
END_TEST

START_TEST(tangram) {
    for (perturbing way = ROUNDED; way < PERTURBINGS; way++) {
        expect_known("tangram", true, way, 3);
        expect_known("tangram", false, way, 6);
    }
}
END_TEST

START_TEST(squares) {
    expect_known("squares-33x32", true, TRACED, 6);
    expect_known("squares-33x32", true, ROUNDED, 3);
}
END_TEST

Suite *suite_assembly_perturbed(void);
Suite *suite_assembly_perturbed(void) {
    Suite *suite = suite_create("assembly_perturbed");
    TCase *all = tcase_create("all");
    tcase_add_test(all, dominoes);
    tcase_add_test(all, tangram);
    tcase_add_test(all, squares);
    suite_add_tcase(suite, all);
    return suite;
}
