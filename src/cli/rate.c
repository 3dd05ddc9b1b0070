/* dovetell rate: the main job, a one-screen summary for each draft. */
#include "commands.h"
#include "drafts.h"

#include <dovetell/report.h>

typedef struct rate_run {
    outputs files;
    size_t shown;
} rate_run;

/* Shared by `rate` and `check`: the files, then the words unless a file has standard output. */
static int show(void *context, const dt_analysis *analysis) {
    rate_run *run = context;
    int status = outputs_write(&run->files, analysis);
    if (run->files.takes_stdout) return status;
    dt_text text = DT_TEXT_EMPTY;
    if (run->shown++ > 0) dt_text_add(&text, "\n");
    dt_report_summary(analysis, &text);
    if (text.failed) {
        complain("no memory left");
        status = EXIT_TROUBLE;
    } else {
        fwrite(text.bytes, 1, text.length, stdout);
    }
    dt_text_free(&text);
    return status;
}

static int run(void *record, const char *const *operands, size_t count) {
    draft_options *options = record;
    rate_run state = {0};
    if (!outputs_begin(&state.files, options, operands, count)) return EXIT_TROUBLE;
    int status = each_draft(options, operands, count, show, &state);
    int ending = outputs_end(&state.files);
    return ending > status ? ending : status;
}

static const draft_options defaults = DRAFT_OPTIONS_DEFAULT;

const command command_rate = {
    .name = "rate",
    .operands = "DRAFT...",
    .summary = "finds the pieces, checks lines, places and joints, rates the difficulty",
    .details = "Prints a one-screen summary for each draft, the verdict first. A draft that cannot be read does\n"
               "not stop the others. Exit status: 0 analysed, 2 unreadable or bad usage.\n",
    .tables = {&draft_option_table, &file_option_table},
    .defaults = &defaults,
    .record_size = sizeof defaults,
    .least_operands = 1,
    .most_operands = SIZE_MAX,
    .run = run,
};
