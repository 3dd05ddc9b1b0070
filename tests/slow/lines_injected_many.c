/* As tests/unit/lines_injected.c, with 5,500 other seeds. */
#include "injection.h"

#include <check.h>

enum { SEEDS = 550 };

START_TEST(every_injected_fault_is_found_and_nothing_else) {
    for (uint64_t seed = 50; seed < SEEDS; seed++) {
        const char *wrong = injection_try((injected)_i, seed);
        ck_assert_msg(wrong == NULL, "kind %d, seed %d: %s", _i, (int)seed, wrong);
    }
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
