/* dovetell check: the gate before cutting. Prints only what is wrong; one line for a draft that is clean. */
#include "commands.h"
#include "drafts.h"

#include <dovetell/report.h>

static int show(void *context, const dt_analysis *analysis) {
    outputs *files = context;
    int status = outputs_write(files, analysis);
    if (!files->takes_stdout) {
        dt_text text = DT_TEXT_EMPTY;
        dt_report_check(analysis, &text);
        if (text.failed) {
            complain("no memory left");
            status = EXIT_TROUBLE;
        } else {
            fwrite(text.bytes, 1, text.length, stdout);
        }
        dt_text_free(&text);
    }
    if (status != EXIT_CLEAN) return status;
    return dt_analysis_finds_wrong(analysis) ? EXIT_WRONG : EXIT_CLEAN;
}

static int run(void *record, const char *const *operands, size_t count) {
    draft_options *options = record;
    outputs files;
    if (!outputs_begin(&files, options, operands, count)) return EXIT_TROUBLE;
    int status = each_draft(options, operands, count, show, &files);
    int ending = outputs_end(&files);
    return ending > status ? ending : status;
}

static const draft_options defaults = DRAFT_OPTIONS_DEFAULT;

const command command_check = {
    .name = "check",
    .operands = "DRAFT...",
    .summary = "the gate before cutting: prints only what is wrong, worst first",
    .details = "Exit status: 0 nothing wrong in any draft (where a single way to put it together could not be proved, it says\n"
               "so), 1 something is wrong, 2 unreadable or bad usage.\n",
    .tables = {&draft_option_table, &file_option_table},
    .defaults = &defaults,
    .record_size = sizeof defaults,
    .least_operands = 1,
    .most_operands = SIZE_MAX,
    .run = run,
};
