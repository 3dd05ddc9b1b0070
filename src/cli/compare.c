/* dovetell compare: drafts of one puzzle side by side, and what each did against the one before. */
#include "commands.h"
#include "drafts.h"

#include <dovetell/report.h>
#include <stdlib.h>
#include <string.h>

typedef struct compare_options {
    draft_options drafts;
} compare_options;

static const option compare_option_list[] = {
    {"json", 0, OPTION_TEXT, "FILE", offsetof(compare_options, drafts.json), 0, 0,
     "write a record too, one line for each draft and the one before (- is standard output, and then nothing else goes "
     "there)"},
};
static const option_table compare_table = OPTION_TABLE("Files to write too:", compare_option_list);

typedef struct compare_run {
    compare_options *options;
    dt_figures *figures;
    const char **files;
    size_t count;        /* drafts that could be read */
    dt_analysis *before; /* the last of them */
    dt_text verdicts, changes, json;
} compare_run;

/* Against the draft before. False after a complaint. */
static bool compare_pair(compare_run *run, const dt_analysis *now, size_t number) {
    dt_comparison *comparison = NULL;
    dt_error error = {0};
    dt_status status = dt_compare_new(run->before, now, &comparison, &error);
    if (status != DT_OK) {
        complain("%s", error.message);
        return false;
    }
    dt_report_compare_verdict(comparison, number, &run->verdicts);
    dt_text_add(&run->changes, "\n");
    dt_text_add_plain(&run->changes, dt_analysis_file(run->before), 60);
    dt_text_add(&run->changes, " -> ");
    dt_text_add_plain(&run->changes, dt_analysis_file(now), 60);
    dt_text_add(&run->changes, ":\n");
    dt_report_compare_changes(comparison, &run->changes);
    if (run->options->drafts.json) status = dt_report_compare_json(comparison, number, &run->json);
    dt_compare_free(comparison);
    if (status != DT_OK || run->verdicts.failed || run->changes.failed || run->json.failed) {
        complain("%s", dt_status_text(status == DT_OK ? DT_NO_MEMORY : status));
        return false;
    }
    return true;
}

/* Takes the analysis over. */
static int add_draft(compare_run *run, const char *path, size_t number) {
    dt_analysis *now = analyse_draft(&run->options->drafts, path);
    if (!now) return EXIT_TROUBLE;
    run->figures[run->count] = dt_figures_of(now);
    run->files[run->count] = path;
    bool good = run->count == 0 || compare_pair(run, now, number);
    run->count++;
    dt_analysis_free(run->before);
    run->before = now;
    return good ? EXIT_CLEAN : EXIT_TROUBLE;
}

static int print(compare_run *run) {
    const char *json = run->options->drafts.json;
    dt_text text = DT_TEXT_EMPTY;
    dt_error error = {0};
    int status = EXIT_CLEAN;
    if (!json || strcmp(json, "-") != 0) {
        dt_text_add_bytes(&text, run->verdicts.bytes, run->verdicts.length);
        dt_text_add(&text, "\n");
        dt_report_compare_table(run->figures, run->files, run->count, &text);
        dt_text_add_bytes(&text, run->changes.bytes, run->changes.length);
        if (!text.failed) fwrite(text.bytes, 1, text.length, stdout);
    }
    if (text.failed) {
        complain("no memory left");
        status = EXIT_TROUBLE;
    } else if (json && dt_file_write(json, run->json.bytes, run->json.length, &error) != DT_OK) {
        complain("%s", error.message);
        status = EXIT_TROUBLE;
    }
    dt_text_free(&text);
    return status;
}

static int run(void *record, const char *const *operands, size_t count) {
    compare_run state = {.options = record};
    int worst = EXIT_CLEAN;
    if (!spares_inputs("--json", state.options->drafts.json, operands, count)) return EXIT_TROUBLE;
    state.figures = calloc(count, sizeof *state.figures);
    state.files = calloc(count, sizeof *state.files);
    if (!state.figures || !state.files) {
        complain("no memory left");
        worst = EXIT_TROUBLE;
        goto done;
    }
    for (size_t i = 0; i < count; i++) {
        int status = add_draft(&state, operands[i], i + 1);
        if (status > worst) worst = status;
    }
    if (state.count < 2) {
        complain("fewer than two drafts could be read, so there is nothing to compare");
        goto done;
    }
    int status = print(&state);
    if (status > worst) worst = status;
done:
    dt_analysis_free(state.before);
    dt_text_free(&state.verdicts);
    dt_text_free(&state.changes);
    dt_text_free(&state.json);
    free(state.figures);
    free(state.files);
    return worst;
}

static const compare_options defaults = {.drafts = DRAFT_OPTIONS_DEFAULT};

const command command_compare = {
    .name = "compare",
    .operands = "OLD NEW...",
    .summary = "drafts side by side: what each change did",
    .details =
        "Says first whether each draft is harder or easier than the one before and why, then shows the\n"
        "figures side by side, then what went and what came: pieces, faults, twins, look-alikes. Pieces\n"
        "are matched by their place, also when the whole was moved. Numbers are those of the draft that a\n"
        "line speaks of.\n"
        "Exit status: 0 compared, 2 unreadable or bad usage.\n",
    .tables = {&draft_option_table, &compare_table},
    .defaults = &defaults,
    .record_size = sizeof defaults,
    .least_operands = 2,
    .most_operands = 100,
    .run = run,
};
