/* Random dissections in which another assembly is planted, as drawn and drawn less exactly: it is found, or the answer is "undecided";
 * never "one". Hundreds more in tests/slow/assembly_perturbed_many.c. */
#include "assembling.h"
#include "perturbed.h"
#include "planted.h"

#include <check.h>

static dt_assembly_verdict verdict_within(uint64_t steps, planting kind, bool curved, perturbing way, uint64_t seed) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    settings.two_sided = kind == TURNED_OVER;
    settings.steps = steps;
    draft *d = draft_new();
    draw_planted(d, kind, curved, seed);
    assembling a = assemble(perturbed(d, way, seed), settings); /* checks the witness */
    dt_assembly_verdict verdict = a.assembly->verdict;
    assembling_free(&a);
    return verdict;
}

static dt_assembly_verdict verdict_of(planting kind, bool curved, perturbing way, uint64_t seed) {
    return verdict_within(20000, kind, curved, way, seed);
}

START_TEST(planted_as_drawn) {
    int found = 0;
    for (planting kind = HALF_TURN; kind <= EXCHANGED; kind++)
        for (int curved = 0; curved < 2; curved++)
            for (uint64_t seed = 1; seed <= 2; seed++) {
                dt_assembly_verdict verdict = verdict_of(kind, curved, AS_DRAWN, seed);
                ck_assert_msg(verdict != DT_ONE, "%s, seed %u", planting_names[kind], (unsigned)seed);
                found += verdict == DT_SEVERAL;
            }
    ck_assert_int_ge(found, 7); /* of 12 within so few steps */
}
END_TEST

START_TEST(planted_perturbed) {
    for (planting kind = HALF_TURN; kind <= TURNED_OVER; kind++)
        for (perturbing way = ROUNDED; way < PERTURBINGS; way++)
            ck_assert_msg(verdict_of(kind, true, way, 1) != DT_ONE, "%s, %s", planting_names[kind], perturbing_names[way]);
}
END_TEST

/* Drafts that were called "one" while pairs of pieces were judged by the crannies and pockets between them. */
START_TEST(crannies_are_not_judged) {
    ck_assert_int_ne(verdict_of(HALF_TURN, true, AS_DRAWN, 9), DT_ONE);
    ck_assert_int_ne(verdict_of(TURNED_OVER, true, NOISY, 9), DT_ONE);
    ck_assert_int_ne(verdict_of(EXCHANGED, true, ROUNDED, 3), DT_ONE);
    ck_assert_int_ne(verdict_of(EXCHANGED, true, ROUNDED, 4), DT_ONE);
}
END_TEST

/* A piece held by one short line, with its far end turned 0.4 mm off by noise, was refused before it was settled among its neighbours. */
START_TEST(short_lines_leave_the_turn_open) {
    ck_assert_int_ne(verdict_within(40000, EXCHANGED, true, NOISY, 6), DT_ONE);
}
END_TEST

/* The drawn assembly must not be lost either: then nothing could be proved of any puzzle. */
START_TEST(nothing_planted_is_one) {
    for (uint64_t seed = 1; seed <= 3; seed++) ck_assert_int_eq(verdict_of(NOT_PLANTED, true, AS_DRAWN, seed), DT_ONE);
}
END_TEST

Suite *suite_assembly_planted(void);
Suite *suite_assembly_planted(void) {
    Suite *suite = suite_create("assembly_planted");
    TCase *all = tcase_create("all");
    tcase_add_test(all, planted_as_drawn);
    tcase_add_test(all, planted_perturbed);
    tcase_add_test(all, crannies_are_not_judged);
    tcase_add_test(all, short_lines_leave_the_turn_open);
    tcase_add_test(all, nothing_planted_is_one);
    suite_add_tcase(suite, all);
    return suite;
}
