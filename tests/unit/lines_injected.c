/* Faults injected into clean drafts at seeded random: all are found within 0.5 mm of their place, nothing else is reported, and the
 * intended faces come out. 550 cases here, 22,000 in tests/slow/lines_injected_many.c. */
#include "injection.h"

#include <check.h>

enum { SEEDS = 50 };

START_TEST(every_injected_fault_is_found_and_nothing_else) {
    for (uint64_t seed = 0; seed < SEEDS; seed++) {
        const char *wrong = injection_try((injected)_i, seed);
        ck_assert_msg(wrong == NULL, "kind %d, seed %d: %s", _i, (int)seed, wrong);
    }
}
END_TEST

Suite *suite_lines_injected(void);
Suite *suite_lines_injected(void) {
    Suite *suite = suite_create("lines_injected");
    TCase *tests = tcase_create("all");
    tcase_add_loop_test(tests, every_injected_fault_is_found_and_nothing_else, 0, INJECTED_KINDS);
    suite_add_tcase(suite, tests);
    return suite;
}
