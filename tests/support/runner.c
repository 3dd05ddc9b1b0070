/* Runs every suite of tests/unit or tests/slow (the list is made by the Makefile from the file names). */
#include <check.h>
#include <stdlib.h>

#define SUITE(name) Suite *suite_##name(void);
#include SUITES
#undef SUITE

int main(void) {
    SRunner *runner = srunner_create(NULL);
#define SUITE(name) srunner_add_suite(runner, suite_##name());
#include SUITES
#undef SUITE
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
