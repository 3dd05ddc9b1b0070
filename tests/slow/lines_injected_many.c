/* As tests/unit/lines_injected.c, with 22,000 other seeds. */
#include "injection.h"

#include <check.h>

enum { FIRST = 50, SEEDS = 2050 };

START_TEST(every_injected_fault_is_found_and_nothing_else) {
    int wrong = 0;
    for (uint64_t seed = FIRST; seed < SEEDS; seed++) wrong += injection_try((injected)_i, seed) != NULL;
    ck_assert_msg(wrong == 0, "kind %d: %d of %d seeds, told above", _i, wrong, SEEDS - FIRST);
}
END_TEST

Suite *suite_lines_injected_many(void);
Suite *suite_lines_injected_many(void) {
    Suite *suite = suite_create("lines_injected_many");
    TCase *tests = tcase_create("all");
    tcase_add_loop_test(tests, every_injected_fault_is_found_and_nothing_else, 0, INJECTED_KINDS);
    suite_add_tcase(suite, tests);
    return suite;
}
