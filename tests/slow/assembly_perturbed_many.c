/* The sweep behind tests/unit/assembly_perturbed.c and assembly_planted.c: every way of drawing less exactly, ten seeds and more each. */
#include "assembling.h"
#include "counts.h"
#include "perturbed.h"
#include "planted.h"

#include <check.h>
#include <stdio.h>

enum { SEEDS = 10, MOST_STEPS = 200000 };

static assembling count_perturbed(const counted_draft *known, bool two_sided, perturbing way, uint64_t seed) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    settings.count = true;
    settings.two_sided = two_sided;
    settings.steps = MOST_STEPS;
    draft *d = draft_new();
    known->draw(d);
    return assemble(perturbed(d, way, seed), settings);
}

static void sweep_counts(const char *name, bool two_sided) {
    const counted_draft *known = counted_draft_named(name);
    uint64_t fillings = two_sided ? known->fillings : known->fillings / 2;
    for (perturbing way = ROUNDED; way < PERTURBINGS; way++) {
        int exact = 0;
        for (uint64_t seed = 1; seed <= SEEDS; seed++) {
            assembling a = count_perturbed(known, two_sided, way, seed);
            bool wrong = a.assembly->exact ? a.assembly->fillings != fillings : a.assembly->fillings > fillings;
            ck_assert_msg(!wrong, "%s, %s, seed %u: %u fillings", name, perturbing_names[way], (unsigned)seed, (unsigned)a.assembly->fillings);
            ck_assert(known->distinct == 1 || a.assembly->verdict != DT_ONE);
            exact += a.assembly->exact;
            assembling_free(&a);
        }
        printf("%s, %s: %d of %d counted exactly\n", name, perturbing_names[way], exact, SEEDS);
    }
}

START_TEST(counts) {
    sweep_counts("dominoes-4x4", true);
    sweep_counts("tangram", true);
    sweep_counts("tangram", false);
    sweep_counts("squares-33x32", true);
}
END_TEST

/* Too long to be counted within the steps: but what is said of them must be true. */
START_TEST(pentominoes_and_stomachion) {
    static const char *const names[] = {"pentominoes-3x20", "stomachion"};
    for (int i = 0; i < 2; i++)
        for (perturbing way = AS_DRAWN; way < PERTURBINGS; way++) {
            const counted_draft *known = counted_draft_named(names[i]);
            assembling a = count_perturbed(known, true, way, 1);
            ck_assert_msg(a.assembly->verdict != DT_ONE, "%s, %s", names[i], perturbing_names[way]);
            ck_assert(a.assembly->fillings <= known->fillings && a.assembly->distinct <= known->distinct);
            assembling_free(&a);
        }
}
END_TEST

static void sweep_planted(planting kind, bool curved, perturbing way) {
    int found[3] = {0, 0, 0};
    for (uint64_t seed = 1; seed <= 2 * SEEDS; seed++) {
        dt_settings settings = DT_SETTINGS_DEFAULT;
        settings.two_sided = kind == TURNED_OVER;
        settings.steps = MOST_STEPS;
        draft *d = draft_new();
        draw_planted(d, kind, curved, seed);
        assembling a = assemble(perturbed(d, way, seed), settings);
        ck_assert_msg(a.assembly->verdict != DT_ONE, "%s, %s, %s, seed %u", planting_names[kind], curved ? "curved" : "straight",
                      perturbing_names[way], (unsigned)seed);
        found[a.assembly->verdict]++;
        assembling_free(&a);
    }
    printf("%s, %s, %s: %d found, %d undecided\n", planting_names[kind], curved ? "curved" : "straight", perturbing_names[way],
           found[DT_SEVERAL], found[DT_UNDECIDED]);
}

START_TEST(planted) {
    for (planting kind = HALF_TURN; kind <= EXCHANGED; kind++)
        for (perturbing way = AS_DRAWN; way < PERTURBINGS; way++)
            for (int curved = 0; curved < 2; curved++) sweep_planted(kind, curved, way);
}
END_TEST

Suite *suite_assembly_perturbed_many(void);
Suite *suite_assembly_perturbed_many(void) {
    Suite *suite = suite_create("assembly_perturbed_many");
    TCase *all = tcase_create("all");
    tcase_add_test(all, counts);
    tcase_add_test(all, pentominoes_and_stomachion);
    tcase_add_test(all, planted);
    suite_add_tcase(suite, all);
    return suite;
}
