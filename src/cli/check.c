/* dovetell check: the gate before cutting. Prints only what is wrong; one line for a draft that is clean. */
#include "commands.h"
#include "drafts.h"

#include <dovetell/report.h>

static int status_of(const dt_analysis *analysis) {
    return dt_analysis_finds_wrong(analysis) ? EXIT_WRONG : EXIT_CLEAN;
}

static int run(void *record, const char *const *operands, size_t count) {
    return print_drafts(record, operands, count, &(draft_words){.words = dt_report_check, .status = status_of});
}

static const draft_options defaults = DRAFT_OPTIONS_DEFAULT;

const command command_check = {
    .name = "check",
    .operands = "DRAFT...",
    .summary = "the gate before cutting: prints only what is wrong, worst first",
    .details =
        "Exit status: 0 nothing wrong in any draft (where a single way to put it together could not be\n"
        "proved, it says so), 1 something is wrong, 2 unreadable or bad usage.\n",
    .tables = {&draft_option_table, &file_option_table},
    .defaults = &defaults,
    .record_size = sizeof defaults,
    .least_operands = 1,
    .most_operands = SIZE_MAX,
    .run = run,
};
