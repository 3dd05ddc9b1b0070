/* dovetell tag: the card for a listing, in the form that the file's ending asks for. */
#include "commands.h"
#include "drafts.h"

#include <dovetell/report.h>
#include <dovetell/tag.h>
#include <string.h>

typedef struct tag_options {
    draft_options drafts;
    const char *output, *name;
} tag_options;

static const option tag_option_list[] = {
    {"output", 'o', OPTION_TEXT, "FILE", offsetof(tag_options, output), 0, 0,
     "the tag's file: .svg, .png, .pdf, .html or .txt by its ending; - prints the text"},
    {"name", 0, OPTION_TEXT, "TEXT", offsetof(tag_options, name), 0, 0,
     "what the puzzle is called (else the drawing's title or file name)"},
};
static const option_table tag_table = OPTION_TABLE("The tag:", tag_option_list);

static bool choose_form(const tag_options *options, const char *draft, dt_tag_form *form) {
    *form = DT_TAG_TEXT;
    if (!options->output) {
        complain("tag needs a file to write: dovetell tag %s -o tag.png", draft);
        return false;
    }
    if (strcmp(options->output, "-") == 0) return true;
    if (!dt_tag_form_of(options->output, form)) {
        complain("\"%s\" has no ending that says what to write; use .svg, .png, .pdf, .html or .txt", options->output);
        return false;
    }
    return spares_inputs("--output", options->output, &draft, 1);
}

/* A tag may be wanted before the draft is ready, but not unawares. That a puzzle can be pulled apart may well be meant.
 */
static void warn_of_faults(const dt_analysis *analysis, const char *draft) {
    dt_text text = DT_TEXT_EMPTY;
    bool several = dt_analysis_twin_count(analysis) || dt_analysis_assembly(analysis)->verdict == DT_SEVERAL;
    if (dt_analysis_verdict(analysis).clean_lines && !several) return;
    dt_report_verdict(analysis, &text);
    if (!text.failed) complain("%s: %s The tag tells of the draft as it is now", draft, text.bytes);
    dt_text_free(&text);
}

static int run(void *record, const char *const *operands, size_t count) {
    tag_options *options = record;
    dt_tag_form form;
    dt_text text = DT_TEXT_EMPTY;
    dt_error error = {0};
    (void)count;
    if (!choose_form(options, operands[0], &form)) return EXIT_TROUBLE;
    dt_analysis *analysis = analyse_draft(&options->drafts, operands[0]);
    if (!analysis) return EXIT_TROUBLE;
    dt_status status = dt_report_tag(analysis, options->name, form, &text);
    if (status != DT_OK) dt_fail(&error, status, "the tag could not be drawn: %s", dt_status_text(status));
    if (status == DT_OK) status = dt_file_write(options->output, text.bytes, text.length, &error);
    if (status != DT_OK)
        complain("%s", error.message);
    else
        warn_of_faults(analysis, operands[0]);
    dt_text_free(&text);
    dt_analysis_free(analysis);
    return status == DT_OK ? EXIT_CLEAN : EXIT_TROUBLE;
}

static const tag_options defaults = {.drafts = DRAFT_OPTIONS_DEFAULT};

const command command_tag = {
    .name = "tag",
    .operands = "DRAFT -o FILE",
    .summary = "the card for a listing: what it is, how hard, how long",
    .details =
        "The small-parts caution points to the law and is no promise that the puzzle complies with it;\n"
        "the hours are an estimate. \"One place only\" stands on the tag only where it was proved.\n"
        "Exit status: 0 written, 2 unreadable or bad usage.\n",
    .tables = {&tag_table, &draft_option_table},
    .defaults = &defaults,
    .record_size = sizeof defaults,
    .least_operands = 1,
    .most_operands = 1,
    .run = run,
};
