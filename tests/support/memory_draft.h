/* memory_draft.h - one small draft through the facade and all reports while allocations fail. */
#ifndef DOVETELL_TESTS_MEMORY_DRAFT_H
#define DOVETELL_TESTS_MEMORY_DRAFT_H

#include <stdbool.h>
#include <stddef.h>

/* The numbers of allocations that the analysis, and the reports of a finished analysis, ask for. */
typedef struct memory_needs {
    size_t analysis, reports;
} memory_needs;
memory_needs memory_draft_needs(void);

/* Analyses while allocation nth fails (`lasting`: and all after it). The test fails unless the answer is DT_NO_MEMORY
 * with a sentence, or the right record; nothing may be left over. */
void memory_draft_analyse(size_t nth, bool lasting);
/* Likewise for each report: it says that memory ran out, or has the right bytes. */
void memory_draft_report(size_t nth, bool lasting);

#endif
