/* dovetell shelf: a whole catalogue on one page. */
#include "commands.h"
#include "drafts.h"

#include <dovetell/report.h>
#include <stdlib.h>
#include <string.h>

typedef struct shelf_options {
    draft_options draft; /* first: the shared tables address it from here */
    const char *html, *csv;
    bool fresh;
    unsigned processes;
} shelf_options;

static const option own_options[] = {
    {"html", 0, OPTION_TEXT, "FILE", offsetof(shelf_options, html), 0, 0,
     "write a page with the pictures (\"-\" = standard output)"},
    {"csv", 0, OPTION_TEXT, "FILE", offsetof(shelf_options, csv), 0, 0, "write a table (\"-\" = standard output)"},
    {"fresh", 0, OPTION_FLAG, NULL, offsetof(shelf_options, fresh), 0, 0,
     "work out every draft anew, and store nothing"},
    {"processes", 0, OPTION_COUNT, "N", offsetof(shelf_options, processes), 0, 64,
     "drafts worked out at a time (0 = one for each core)"},
};
static const option_table own_table = OPTION_TABLE("Options of shelf", own_options);
static const shelf_options defaults = {.draft = DRAFT_OPTIONS_DEFAULT};

typedef struct draft_list {
    char **files;
    size_t count;
} draft_list;

/* Adds the drafts of one operand. */
static bool add_operand(draft_list *list, const char *path) {
    char **files = NULL;
    size_t count = 0;
    dt_error error = {0};
    if (dt_draft_list(path, &files, &count, &error) != DT_OK) {
        complain("%s", error.message);
        return false;
    }
    char **grown = realloc(list->files, (list->count + count + 1) * sizeof *grown);
    if (!grown) {
        dt_draft_list_free(files, count);
        complain("no memory left");
        return false;
    }
    if (count) memcpy(grown + list->count, files, count * sizeof *grown);
    list->files = grown;
    list->count += count;
    free(files); /* the names moved over */
    return true;
}

static int write_file(const char *path, void (*report)(const dt_shelf *, dt_text *), const dt_shelf *shelf) {
    dt_text text = DT_TEXT_EMPTY;
    dt_error error = {0};
    report(shelf, &text);
    dt_status status = text.failed ? dt_fail(&error, DT_NO_MEMORY, "no memory left")
                                   : dt_file_write(path, text.bytes, text.length, &error);
    if (status != DT_OK) complain("%s", error.message);
    dt_text_free(&text);
    return status == DT_OK ? EXIT_CLEAN : EXIT_TROUBLE;
}

static bool is_stdout(const char *path) {
    return path && strcmp(path, "-") == 0;
}

static int show(const shelf_options *options, const dt_shelf *shelf) {
    int status = dt_shelf_unreadable(shelf) ? EXIT_TROUBLE : EXIT_CLEAN;
    if (options->html && write_file(options->html, dt_report_shelf_html, shelf) != EXIT_CLEAN) status = EXIT_TROUBLE;
    if (options->csv && write_file(options->csv, dt_report_shelf_csv, shelf) != EXIT_CLEAN) status = EXIT_TROUBLE;
    if (is_stdout(options->html) || is_stdout(options->csv)) return status;
    return write_file("-", dt_report_shelf, shelf) == EXIT_CLEAN ? status : EXIT_TROUBLE;
}

/* False after a complaint. */
static bool rate_shelf(shelf_options *options, const draft_list *list, const char *store, dt_shelf **out) {
    const dt_shelf_options how = {options->processes, store, dt_report_miniature};
    dt_error error = {0};
    progress state;
    dt_watch watch = progress_begin(&state, "shelf");
    dt_status status = dt_shelf_new((const char *const *)list->files, list->count, draft_settings(&options->draft),
                                    &how, &watch, out, &error);
    if (!progress_end(&state)) complain("stopped by Ctrl-C: what follows was rated by then");
    if (status != DT_OK) complain("%s", error.message);
    return status == DT_OK;
}

/* False after a complaint. */
static bool list_drafts(const shelf_options *options, const char *const *operands, size_t count, draft_list *list) {
    if (is_stdout(options->html) && is_stdout(options->csv)) {
        complain("only one of --html and --csv can go to standard output");
        return false;
    }
    for (size_t i = 0; i < count; i++)
        if (!add_operand(list, operands[i])) return false;
    if (list->count == 0) complain("no drafts there: a draft's name ends in .svg or .svgz");
    const char *const *files = (const char *const *)list->files;
    return list->count > 0 && spares_inputs("--html", options->html, files, list->count) &&
           spares_inputs("--csv", options->csv, files, list->count);
}

static int run(void *record, const char *const *operands, size_t count) {
    shelf_options *options = record;
    draft_list list = {0};
    dt_shelf *shelf = NULL;
    char *store = options->fresh ? NULL : dt_shelf_default_store();
    int status = EXIT_TROUBLE;
    if (list_drafts(options, operands, count, &list) && rate_shelf(options, &list, store, &shelf))
        status = show(options, shelf);
    dt_shelf_free(shelf);
    dt_draft_list_free(list.files, list.count);
    free(store);
    return status;
}

const command command_shelf = {
    .name = "shelf",
    .operands = "FOLDER|DRAFT...",
    .summary = "a whole catalogue: every draft rated and ranked",
    .details =
        "Rates every draft of the folders (names that end in .svg or .svgz) and the drafts named, hardest\n"
        "first. What was worked out is kept in your cache folder (dovetell/) and used again while draft,\n"
        "options and program stay the same; it may be deleted at any time.\n"
        "Exit status: 0; 2 if any draft was unreadable (the others are still listed).\n",
    .tables = {&draft_option_table, &own_table},
    .defaults = &defaults,
    .record_size = sizeof defaults,
    .least_operands = 1,
    .most_operands = SIZE_MAX,
    .run = run,
};
