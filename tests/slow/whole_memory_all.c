/* Memory that runs out: every single allocation of our own fails once alone, and once with all after it. */
#include "memory_draft.h"

#include <check.h>

#ifdef WRAPPED_ALLOCATIONS

enum { SHARES = 16 };

START_TEST(every_failed_allocation_is_no_memory_or_does_no_harm) {
    memory_needs needs = memory_draft_needs();
    for (size_t nth = 1 + (size_t)_i; nth <= needs.analysis; nth += SHARES)
        for (int lasting = 0; lasting < 2; lasting++) memory_draft_analyse(nth, lasting);
    for (size_t nth = 1 + (size_t)_i; nth <= needs.reports; nth += SHARES)
        for (int lasting = 0; lasting < 2; lasting++) memory_draft_report(nth, lasting);
}
END_TEST

#endif

Suite *suite_whole_memory_all(void);
Suite *suite_whole_memory_all(void) {
    Suite *suite = suite_create("whole_memory_all");
    TCase *cases = tcase_create("whole_memory_all");
#ifdef WRAPPED_ALLOCATIONS
    tcase_add_loop_test(cases, every_failed_allocation_is_no_memory_or_does_no_harm, 0, SHARES);
#endif
    suite_add_tcase(suite, cases);
    return suite;
}
