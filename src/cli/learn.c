/* dovetell learn: fits the time estimate to the maker's own play-test times and keeps what was learnt in a file. */
#include "commands.h"
#include "drafts.h"

#include <dovetell/learn.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

typedef struct learn_options {
    draft_options drafts;
    const char *output; /* NULL: beside the table */
} learn_options;

static const option learn_option_list[] = {
    {"output", 'o', OPTION_TEXT, "FILE", offsetof(learn_options, output), 0, 0,
     "where to keep what was learnt (else beside the table, ending in .times)"},
};
static const option_table learn_table = OPTION_TABLE("What is learnt:", learn_option_list);

/* `ending` != NULL: the path of the table with that ending; else the path of a draft as the table names it, from the
 * table's folder. */
static void add_path(const char *table, const char *draft, const char *ending, dt_text *out) {
    const char *slash = strrchr(table, '/'), *dot = strrchr(table, '.');
    size_t folder = slash ? (size_t)(slash - table) + 1 : 0;
    if (ending) {
        dt_text_add_bytes(out, table,
                          dot && (!slash || dot > slash + 1) && dot != table ? (size_t)(dot - table) : strlen(table));
        dt_text_add(out, ending);
    } else {
        if (draft[0] != '/') dt_text_add_bytes(out, table, folder);
        dt_text_add(out, draft);
    }
}

static bool spares_table_and_drafts(const learn_options *options, const char *table, const dt_times *times,
                                    const char *file) {
    const char *what = options->output ? "--output" : "learn";
    bool spared = spares_inputs(what, file, &table, 1);
    for (size_t i = 0; spared && i < dt_times_draft_count(times); i++) {
        dt_text path = DT_TEXT_EMPTY;
        add_path(table, dt_times_draft(times, i), NULL, &path);
        spared = !path.failed && spares_inputs(what, file, (const char *const[]){path.bytes}, 1);
        dt_text_free(&path);
    }
    return spared;
}

/* The work of each draft; 0 where it cannot be read. Returns how many those are. */
static size_t rate_drafts(learn_options *options, const char *table, const dt_times *times, dt_work *works) {
    size_t unreadable = 0;
    options->drafts.settings.times = NULL;
    options->drafts.settings.steps = 0; /* the time does not depend on other assemblies */
    for (size_t i = 0; i < dt_times_draft_count(times); i++) {
        dt_text path = DT_TEXT_EMPTY;
        add_path(table, dt_times_draft(times, i), NULL, &path);
        dt_analysis *analysis = path.failed ? NULL : analyse_draft(&options->drafts, path.bytes);
        if (analysis) {
            works[i] = dt_analysis_rating(analysis)->work;
        } else {
            unreadable++;
        }
        dt_analysis_free(analysis);
        dt_text_free(&path);
    }
    return unreadable;
}

static const char *plural(size_t count) {
    return count == 1 ? "" : "s";
}

static void say_repeats(const dt_times *times) {
    for (size_t i = 0; i < dt_times_repeat_count(times); i++) {
        const dt_solve *s = dt_times_repeat(times, i);
        complain("line %u is left out: %s has solved %s before, and only a first solve tells how hard it is", s->line,
                 dt_times_solver(times, s->solver), dt_times_draft(times, s->draft));
    }
}

static void say_constant(const char *what, double seconds, double published, dt_learnt_value v) {
    printf("%s takes them %.2f s a piece (published: %.2f s; 19 times in 20 between %.2f and %.2f s).\n", what, seconds,
           published, published * v.low, published * v.high);
}

static void say_learnt(const dt_learnt *l) {
    dt_effort published = dt_effort_default();
    const char *how = l->person.value >= 1.0 ? "as long as" : "the time of";
    printf("Your solvers take %.2f times %s the median adult (19 times in 20 between %.2f and %.2f).\n",
           l->person.value, how, l->person.low, l->person.high);
    if (l->more) {
        say_constant("Looking over loose pieces", l->effort.scan_s, published.scan_s, l->scan);
        say_constant("Trying a piece that looks alike", l->effort.alike_s, published.alike_s, l->attempt);
        printf("The middle half of people: times or divided by %.2f (published: %.2f).\n",
               exp(0.6745 * l->effort.log_sd), exp(0.6745 * published.log_sd));
    } else {
        printf("From %d finished first solves on, the seconds for looking over and trying are learnt too.\n",
               DT_LEARN_MORE_FROM);
    }
    printf("Learnt from %zu first solve%s (%zu finished) of %zu draft%s by %zu solver%s. An unfinished solve counts as "
           "\"longer\n"
           "than that\". Times become yours; points stay the same for every listing. All of it is an estimate.\n",
           l->solves, plural(l->solves), l->finished, l->drafts, plural(l->drafts), l->solvers, plural(l->solvers));
}

static int keep(const dt_learnt *learnt, const char *file) {
    dt_text text = DT_TEXT_EMPTY;
    dt_error error = {0};
    dt_effort_write(learnt, &text);
    dt_status status = text.failed ? dt_fail(&error, DT_NO_MEMORY, "no memory left")
                                   : dt_file_write(file, text.bytes, text.length, &error);
    dt_text_free(&text);
    if (status != DT_OK) {
        complain("%s", error.message);
        return EXIT_TROUBLE;
    }
    if (strcmp(file, "-") != 0) {
        dt_text name = DT_TEXT_EMPTY;
        dt_text_add_plain(&name, file, 0);
        if (!name.failed) printf("Kept in %s; use it so: dovetell rate --times %s DRAFT\n", name.bytes, name.bytes);
        dt_text_free(&name);
    }
    return EXIT_CLEAN;
}

static int learn(learn_options *options, const char *table, const dt_times *times, const char *file) {
    dt_learnt learnt;
    dt_error error = {0};
    dt_work *works = calloc(dt_times_draft_count(times), sizeof *works);
    if (!works) {
        complain("no memory left");
        return EXIT_TROUBLE;
    }
    size_t unreadable = rate_drafts(options, table, times, works);
    if (unreadable)
        complain("the solves of %zu draft%s that could not be read are left out", unreadable, plural(unreadable));
    say_repeats(times);
    dt_status status = dt_learn(times, works, &learnt, &error);
    free(works);
    if (status != DT_OK) {
        complain("%s", error.message);
        return EXIT_TROUBLE;
    }
    if (strcmp(file, "-") != 0) say_learnt(&learnt);
    int kept = keep(&learnt, file);
    return unreadable ? EXIT_TROUBLE : kept;
}

static int run(void *record, const char *const *operands, size_t count) {
    learn_options *options = record;
    dt_times *times = NULL;
    dt_text file = DT_TEXT_EMPTY;
    dt_error error = {0};
    int status = EXIT_TROUBLE;
    (void)count;
    if (!options->output && strcmp(operands[0], "-") == 0) {
        complain("a table from standard input has no place of its own; say where to keep what is learnt: -o FILE");
        return status;
    }
    if (options->output) {
        dt_text_add(&file, options->output);
    } else {
        add_path(operands[0], NULL, ".times", &file);
    }
    if (file.failed) {
        complain("no memory left");
    } else if (dt_times_read(operands[0], &times, &error) != DT_OK) {
        complain("%s", error.message);
    } else if (spares_table_and_drafts(options, operands[0], times, file.bytes)) {
        status = learn(options, operands[0], times, file.bytes);
    }
    dt_times_free(times);
    dt_text_free(&file);
    return status;
}

static const learn_options defaults = {.drafts = DRAFT_OPTIONS_DEFAULT};

const command command_learn = {
    .name = "learn",
    .operands = "TIMES.csv",
    .summary = "fits the time estimate to your own play-test times",
    .details =
        "TIMES.csv has a row for each timed solve under the header draft,solver,minutes,finished: the\n"
        "draft's file (from the table's folder), who solved it, minutes with a decimal point, yes or no.\n"
        "A row with \"no\" says how long the solver kept at it. A second solve of the same draft by the\n"
        "same person is left out. Give the options that the drafts were made with (--two-sided,\n"
        "--colours, --picture ...).\n"
        "Exit status: 0 learnt, 2 a table or draft that cannot be read.\n",
    .tables = {&learn_table, &draft_option_table},
    .defaults = &defaults,
    .record_size = sizeof defaults,
    .least_operands = 1,
    .most_operands = 1,
    .run = run,
};
