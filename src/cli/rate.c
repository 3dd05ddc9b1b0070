/* dovetell rate: the main job, a one-screen summary for each draft. */
#include "commands.h"
#include "drafts.h"

#include <dovetell/report.h>

static int run(void *record, const char *const *operands, size_t count) {
    return print_drafts(record, operands, count, &(draft_words){.words = dt_report_summary, .apart = true});
}

static const draft_options defaults = DRAFT_OPTIONS_DEFAULT;

const command command_rate = {
    .name = "rate",
    .operands = "DRAFT...",
    .summary = "finds the pieces, checks lines, places and joints, rates the difficulty",
    .details =
        "Prints a one-screen summary for each draft, the verdict first. A draft that cannot be read does\n"
        "not stop the others.\n"
        "Exit status: 0 analysed, 2 unreadable or bad usage.\n",
    .tables = {&draft_option_table, &file_option_table},
    .defaults = &defaults,
    .record_size = sizeof defaults,
    .least_operands = 1,
    .most_operands = SIZE_MAX,
    .run = run,
};
