/* Memory that runs out: each allocation of our own in turn fails (a sample here, all of them in the slow suite). */
#include "memory_draft.h"

#include <check.h>

#ifdef WRAPPED_ALLOCATIONS

enum { SAMPLES = 40 };

START_TEST(a_failed_allocation_is_no_memory_or_does_no_harm) {
    memory_needs needs = memory_draft_needs();
    ck_assert_uint_gt(needs.analysis, 500); /* the linker did wrap them */
    for (size_t i = 0; i < SAMPLES; i++) memory_draft_analyse(1 + i * needs.analysis / SAMPLES, i % 2);
    for (size_t i = 0; i < SAMPLES / 4; i++) memory_draft_report(1 + 4 * i * needs.reports / SAMPLES, i % 2);
}
END_TEST

#endif

Suite *suite_whole_memory(void);
Suite *suite_whole_memory(void) {
    Suite *suite = suite_create("whole_memory");
    TCase *cases = tcase_create("whole_memory");
#ifdef WRAPPED_ALLOCATIONS
    tcase_add_test(cases, a_failed_allocation_is_no_memory_or_does_no_harm);
#endif
    suite_add_tcase(suite, cases);
    return suite;
}
